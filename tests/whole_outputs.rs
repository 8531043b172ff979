//! Results appear whole or not at all: killed at any moment, on a full disk, in a folder that is none; and the same
//! input gives the same bytes, run after run, with any number of threads.

#[path = "hostile/mutate.rs"]
#[allow(dead_code, reason = "only the numbers are used here")]
mod mutate;
#[path = "hostile/png.rs"]
#[allow(dead_code, reason = "used by the mutations")]
mod png;

#[allow(dead_code, reason = "other tests use the rest")]
mod reports;

use std::collections::BTreeMap;
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

const MESH: &str = "tests/data/meshes/head.obj";
const IMAGE: &str = "tests/data/pictures/side-grey.png";
/// Kills, at moments spread over the time that a run takes.
const KILLS: usize = 200;
/// Start of the names of files that are not complete yet, as `report::files` documents.
const TEMPORARY: &str = ".drawntrue-";
/// The log of checks, the one result that grows and carries the time.
const HISTORY: &str = "history.jsonl";

fn check(out: &Path, unit: &str) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_drawntrue"));
    command
        .args([
            "check",
            MESH,
            "--side",
            IMAGE,
            "--quiet",
            "--picture-height",
            "700",
            "--unit",
            unit,
        ])
        .arg("--out")
        .arg(out)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    command
}

fn contents(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    std::fs::read_dir(folder)
        .expect("a folder")
        .flatten()
        .map(|e| {
            let mut bytes = std::fs::read(e.path()).expect("a file");
            if e.file_name() == HISTORY {
                bytes = reports::without_times(&bytes);
            }
            (e.file_name().to_string_lossy().into_owned(), bytes)
        })
        .collect()
}

/// A run that is not disturbed.
#[track_caller]
fn measured(mut command: Command) {
    let out = command.output().expect("the program starts");
    let said = String::from_utf8_lossy(&out.stderr);
    assert!(matches!(out.status.code(), Some(0 | 1)), "{said}");
}

/// Kills the run after a time; how long it took if it ended before.
fn killed_after(mut run: Child, moment: Duration) -> Option<Duration> {
    let since = Instant::now();
    while since.elapsed() < moment {
        if run.try_wait().expect("it is ours").is_some() {
            return Some(since.elapsed());
        }
        std::thread::sleep(Duration::from_millis(1).min(moment.saturating_sub(since.elapsed())));
    }
    let _ = run.kill();
    let status = run.wait().expect("it ends");
    status.code().map(|_| since.elapsed())
}

#[test]
fn killed_at_any_moment_the_folder_has_complete_files() {
    let (old, new) = (
        tempfile::tempdir().expect("a folder"),
        tempfile::tempdir().expect("a folder"),
    );
    measured(check(old.path(), "old"));
    // The page shows the course over earlier checks: a new one begins where the old one ended.
    for file in std::fs::read_dir(old.path()).expect("a folder").flatten() {
        std::fs::copy(file.path(), new.path().join(file.file_name())).expect("copied");
    }
    let since = Instant::now();
    measured(check(new.path(), "new"));
    let mut lasts = since.elapsed();
    let log = std::fs::read(old.path().join(HISTORY)).expect("a log");
    let (old, new) = (contents(old.path()), contents(new.path()));
    assert!(old.len() > 3 && old.keys().eq(new.keys()));
    assert!(old["report.json"] != new["report.json"]);
    reports::accepted(&new["report.json"]);
    assert!(new[HISTORY].starts_with(&old[HISTORY]), "the log grows by a line");

    let folder = tempfile::tempdir().expect("a folder");
    let mut rng = mutate::Rng::new(1);
    let (mut killed, mut replaced, mut started) = (0, 0, 0);
    // A share of the runs ends before its moment; other programs may make the machine faster or slower meanwhile.
    while killed < KILLS && started < 3 * KILLS {
        started += 1;
        for (name, bytes) in &old {
            let bytes = if name == HISTORY { &log } else { bytes };
            std::fs::write(folder.path().join(name), bytes).expect("written");
        }
        // A quarter of the kills fall into the last tenth, where files are written and renamed.
        let share = if started % 4 == 0 {
            0.9 + 0.15 * rng.unit()
        } else {
            rng.unit()
        };
        let run = check(folder.path(), "new").spawn().expect("the program starts");
        let ended = killed_after(run, lasts.mul_f64(share));
        killed += usize::from(ended.is_none());
        let found = contents(folder.path());
        for (name, bytes) in &found {
            if !name.starts_with(TEMPORARY) {
                let complete = [&old, &new].iter().any(|r| r.get(name) == Some(bytes));
                assert!(
                    complete,
                    "run {started}: {name} is neither the old nor the new file"
                );
            }
        }
        assert!(
            old.keys().all(|name| found.contains_key(name)),
            "run {started}: a file is missing"
        );
        let had_replaced = found["report.json"] == new["report.json"];
        replaced += usize::from(had_replaced);
        // How long a run lasts is followed, so that the moments stay spread over a run.
        match ended {
            Some(took) => lasts = took,
            None if share > 0.9 && !had_replaced => lasts = lasts.mul_f64(1.1),
            None => {}
        }
        for name in found.keys().filter(|n| n.starts_with(TEMPORARY)) {
            std::fs::remove_file(folder.path().join(name)).expect("removed");
        }
    }
    // Otherwise the moments were not where anything happens.
    assert_eq!(killed, KILLS, "of {started} runs only so many were killed");
    assert!(replaced < KILLS, "no run was killed before its results");
    eprintln!("{killed} of {started} killed, {replaced} had replaced their results, a run lasts {lasts:?}");
}

#[test]
fn what_a_killed_run_left_goes_with_a_later_run() {
    let folder = tempfile::tempdir().expect("a folder");
    let (left, fresh) = (
        folder.path().join(".drawntrue-left"),
        folder.path().join(".drawntrue-fresh"),
    );
    for path in [&left, &fresh] {
        std::fs::write(path, b"half").expect("written");
    }
    let day = Duration::from_secs(24 * 3600);
    let file = std::fs::File::options().write(true).open(&left).expect("open");
    file.set_modified(std::time::SystemTime::now() - day)
        .expect("set");
    measured(check(folder.path(), "cm"));
    assert!(!left.exists(), "a day old: nobody is writing it");
    assert!(fresh.exists(), "it may belong to a run that is going on");
}

#[test]
fn the_same_input_gives_the_same_bytes_in_twenty_runs() {
    let mut first: Option<BTreeMap<String, Vec<u8>>> = None;
    for run in 0..20 {
        let folder = tempfile::tempdir().expect("a folder");
        let mut command = check(folder.path(), "cm");
        command.env("RAYON_NUM_THREADS", if run % 2 == 0 { "1" } else { "2" });
        measured(command);
        let found = contents(folder.path());
        match &first {
            None => first = Some(found),
            Some(first) => {
                assert!(first.keys().eq(found.keys()));
                for (name, bytes) in &found {
                    assert!(first[name] == *bytes, "{name} differs in run {run}");
                }
            }
        }
    }
}

/// Status 2, one line that names what is expected.
#[track_caller]
fn refused(out: &Output, expected: &str) {
    let said = String::from_utf8_lossy(&out.stderr);
    assert_eq!(out.status.code(), Some(2), "{said}");
    assert_eq!(said.trim_end().lines().count(), 1, "{said}");
    assert!(
        said.contains(expected) && said.starts_with("drawntrue: "),
        "{said}"
    );
    assert!(!said.contains("fault of the program"), "{said}");
}

/// A program's output cannot grow beyond 4 KiB, which the system reports as a full disk is reported: while writing.
#[cfg(target_os = "linux")]
#[test]
fn a_disk_without_room_leaves_the_old_files() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("report.json"), b"old").expect("written");
    let out = Command::new("bash")
        // The signal that comes with the limit is ignored, so that writing fails, as on a full disk.
        .args(["-c", "trap '' XFSZ; ulimit -f 4; exec \"$0\" \"$@\""])
        .arg(env!("CARGO_BIN_EXE_drawntrue"))
        .args(["check", MESH, "--side", IMAGE, "--quiet", "--out"])
        .arg(folder.path())
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .expect("the program starts");
    refused(&out, "results cannot be written here");
    let found = contents(folder.path());
    assert_eq!(found.keys().collect::<Vec<_>>(), ["report.json"]);
    assert_eq!(found["report.json"], b"old");
}

#[cfg(target_os = "linux")]
#[test]
fn standard_output_that_takes_nothing_is_one_line() {
    let full = || {
        Stdio::from(
            std::fs::File::options()
                .write(true)
                .open("/dev/full")
                .expect("open"),
        )
    };
    for arguments in [
        &["audit", MESH, "--json", "-"][..],
        &["sheet", IMAGE, "--json", "-"],
        &["setup", IMAGE],
        &["sheet", IMAGE],
        &["audit", MESH],
    ] {
        let out = Command::new(env!("CARGO_BIN_EXE_drawntrue"))
            .args(arguments)
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .stdout(full())
            .stderr(Stdio::piped())
            .output()
            .expect("the program starts");
        refused(&out, "cannot write");
    }
}

/// Permissions do not bind the superuser, as whom tests may run; a folder in which nobody can make files is `/proc`.
#[cfg(target_os = "linux")]
#[test]
fn folders_that_take_no_files_are_one_line() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("file");
    std::fs::write(&file, b"mine").expect("written");
    for (out, expected) in [
        (Path::new("/proc"), "results cannot be written here"),
        (Path::new("/proc/deeper"), "results cannot be written here"),
        (file.as_path(), "this is a file"),
        (&file.join("deeper"), "results cannot be written here"),
    ] {
        refused(&check(out, "cm").output().expect("the program starts"), expected);
    }
    assert_eq!(std::fs::read(&file).expect("there"), b"mine");
}

#[test]
fn limits_are_options_of_every_command() {
    let run = |arguments: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_drawntrue"));
        command.args(arguments).current_dir(env!("CARGO_MANIFEST_DIR"));
        command.output().expect("the program starts")
    };
    let folder = tempfile::tempdir().expect("a folder");
    let to = folder.path().join("out").to_string_lossy().into_owned();
    // The picture has 62 × 215 pixels, the mesh 468 faces.
    let pixels = "has 62 × 215 = 13330 pixels, more than the limit of 13329; scale it down, or raise the limit with --max-pixels";
    let faces = "the mesh has 468 faces, more than the limit of 467; reduce the mesh, or raise the limit with --max-faces";
    let small = ["--max-pixels", "13329"];
    let few = ["--max-faces", "467"];
    refused(
        &run(&[&["check", MESH, "--side", IMAGE, "--out", &to][..], &small].concat()),
        pixels,
    );
    refused(
        &run(&[&["check", MESH, "--side", IMAGE, "--out", &to][..], &few].concat()),
        faces,
    );
    refused(&run(&[&["sheet", IMAGE][..], &small].concat()), pixels);
    refused(&run(&[&["setup", IMAGE][..], &small].concat()), pixels);
    refused(&run(&[&["audit", MESH][..], &few].concat()), faces);
    refused(
        &run(&[&["repair", MESH, "--mesh-out", &to][..], &few].concat()),
        faces,
    );
    assert_eq!(
        run(&["sheet", IMAGE, "--max-pixels", "13330"]).status.code(),
        Some(0)
    );
    assert_ne!(run(&["audit", MESH, "--max-faces", "468"]).status.code(), Some(2));
}
