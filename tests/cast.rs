//! A cast of two hundred: one is broken, the run is killed half-way and started again. Nothing is lost, nothing is done
//! twice, memory does not grow with the number of characters; and two programs may write one log at once.

#[allow(dead_code, reason = "other tests use the rest")]
mod reports;

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::SystemTime;

use serde_json::Value;

const MESH: &str = "tests/data/meshes/head.obj";
const IMAGE: &str = "tests/data/pictures/side-grey.png";
const COUNT: usize = 200;
/// The number of the broken one.
const BROKEN: usize = 137;
/// Lines after which the first run is killed.
const KILLED_AFTER: usize = 83;

fn name(i: usize) -> String {
    format!("Character {i:03}")
}

/// A cast file for so many characters. Each has a unit of its own, so that no result can pass for another's.
fn cast(folder: &Path, count: usize) -> PathBuf {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let broken = folder.join("broken.obj");
    std::fs::write(&broken, "v 0 0\nf 1 2 9\n").expect("written");
    let mut text = String::from("no-page = true\npicture-height = 700\n");
    for i in 0..count {
        let mesh = if i == BROKEN {
            broken.clone()
        } else {
            root.join(MESH)
        };
        let _ = writeln!(
            text,
            "[[character]]\nname = \"{}\"\nmesh = {mesh:?}\nside = {:?}\nunit = \"u{i}\"",
            name(i),
            root.join(IMAGE)
        );
    }
    let path = folder.join("cast.toml");
    std::fs::write(&path, text).expect("written");
    path
}

fn command(cast: &Path, out: &Path, more: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_drawntrue"));
    command.arg("check").arg("--cast").arg(cast).arg("--out").arg(out);
    command.args(more).stdout(Stdio::piped()).stderr(Stdio::piped());
    command
}

/// Lines of a finished run by the characters' names, and its exit status.
#[track_caller]
fn lines(mut command: Command) -> (BTreeMap<String, Value>, Option<i32>) {
    let done = command.arg("--json-lines").output().expect("the program starts");
    let text = String::from_utf8(done.stdout).expect("UTF-8");
    let validator = reports::validator(&drawntrue::report::schema::cast());
    let mut out = BTreeMap::new();
    for line in text.lines() {
        let value: Value = serde_json::from_str(line).expect("a line of JSON");
        let wrong = reports::against(&validator, &value);
        assert!(wrong.is_empty(), "{wrong:?}");
        let name = value["character"].as_str().expect("a name").to_string();
        assert!(out.insert(name, value).is_none(), "a character is told twice");
    }
    (out, done.status.code())
}

/// Most memory that a process had while `until` ran, KiB.
fn watched<T>(child: &mut Child, until: impl FnOnce(&mut Child) -> T) -> (T, u64) {
    let status = PathBuf::from(format!("/proc/{}/status", child.id()));
    let (stop, stopped) = std::sync::mpsc::channel::<()>();
    let poll = std::thread::spawn(move || {
        let mut most = 0;
        loop {
            let text = std::fs::read_to_string(&status).unwrap_or_default();
            let found = text.lines().find_map(|l| l.strip_prefix("VmHWM:"));
            let kib = found.and_then(|t| t.trim().trim_end_matches(" kB").parse().ok());
            most = most.max(kib.unwrap_or(0));
            if stopped.recv_timeout(std::time::Duration::from_millis(10))
                != Err(std::sync::mpsc::RecvTimeoutError::Timeout)
            {
                return most;
            }
        }
    });
    let done = until(child);
    drop(stop);
    (done, poll.join().expect("the watch ends"))
}

fn reported(out: &Path) -> BTreeMap<String, SystemTime> {
    (0..COUNT)
        .filter_map(|i| {
            let file = std::fs::metadata(out.join(name(i)).join("report.json")).ok()?;
            Some((name(i), file.modified().expect("a time")))
        })
        .collect()
}

#[test]
fn two_hundred_killed_half_way_and_started_again() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = cast(folder.path(), COUNT);
    let out = folder.path().join("out");

    // Killed while it is at work.
    let mut first = command(&path, &out, &["--json-lines"])
        .spawn()
        .expect("the program starts");
    let told = BufReader::new(first.stdout.take().expect("its output"))
        .lines()
        .take(KILLED_AFTER)
        .map(|l| serde_json::from_str::<Value>(&l.expect("a line")).expect("JSON"))
        .collect::<Vec<_>>();
    first.kill().expect("killed");
    assert!(first.wait().expect("it ends").code().is_none());
    assert_eq!(told.len(), KILLED_AFTER);
    let before = reported(&out);
    assert!(
        before.len() >= KILLED_AFTER - 1 && before.len() < COUNT - 10,
        "{}",
        before.len()
    );
    // What was told was there.
    for line in told.iter().filter(|l| l["error"].is_null()) {
        assert!(
            before.contains_key(line["character"].as_str().expect("a name")),
            "{line}"
        );
    }

    // Started again.
    let mut second = command(&path, &out, &["--json-lines"])
        .spawn()
        .expect("the program starts");
    let (lines_two, most) = watched(&mut second, |child| {
        let text = BufReader::new(child.stdout.take().expect("its output"));
        let lines = text
            .lines()
            .map(|l| serde_json::from_str::<Value>(&l.expect("a line")).expect("JSON"));
        lines.collect::<Vec<_>>()
    });
    assert_eq!(
        second.wait().expect("it ends").code(),
        Some(2),
        "the worst of all"
    );
    assert_eq!(lines_two.len(), COUNT);
    let after = reported(&out);
    assert_eq!(after.len(), COUNT - 1, "nothing is lost");
    for line in &lines_two {
        let name = line["character"].as_str().expect("a name");
        if name == crate::name(BROKEN) {
            assert_eq!(line["status"], 2);
            assert!(
                line["error"].as_str().is_some_and(|e| e.contains("broken.obj")),
                "{line}"
            );
            continue;
        }
        // Nothing is done twice: what was there stays as it was.
        assert_eq!(line["computed"], !before.contains_key(name), "{line}");
        if let Some(time) = before.get(name) {
            assert_eq!(after[name], *time, "{name}");
        }
    }
    for i in (0..COUNT).filter(|i| *i != BROKEN) {
        let of = out.join(name(i));
        let report = reports::accepted(&std::fs::read(of.join("report.json")).expect("a report"));
        assert_eq!(report["unit"], format!("u{i}"), "each its own");
        let log = std::fs::read_to_string(of.join("history.jsonl")).expect("a log");
        assert_eq!(log.lines().count(), 1, "{}: one check, one line", name(i));
        let entry: Value = serde_json::from_str(&log).expect("JSON");
        assert_eq!(entry["program"], report["program"]);
    }
    let page = std::fs::read_to_string(out.join("cast.html")).expect("a page");
    assert_eq!(page.matches("<tr class=").count(), COUNT);
    assert!(out.join("lineup.png").is_file());
    let left = std::fs::read_dir(&out)
        .expect("a folder")
        .flatten()
        .filter(|e| e.path().is_dir());
    assert_eq!(left.count(), COUNT - 1, "what could not be read has no folder");

    // A third time nothing is left to do, and the page stays the same to the byte.
    let (third, status) = lines(command(&path, &out, &[]));
    assert_eq!((third.len(), status), (COUNT, Some(2)));
    assert!(third.values().all(|l| l["computed"] == !l["error"].is_null()));
    assert_eq!(reported(&out), after);
    assert!(std::fs::read_to_string(out.join("cast.html")).expect("a page") == page);

    // A tenth of the characters takes as much memory.
    let small = folder.path().join("small");
    std::fs::create_dir(&small).expect("made");
    let mut few = command(&cast(&small, COUNT / 10), &small.join("out"), &[])
        .spawn()
        .expect("the program starts");
    let (status, least) = watched(&mut few, |child| child.wait().expect("it ends"));
    assert!(matches!(status.code(), Some(0 | 1)));
    eprintln!(
        "{} characters take {least} KiB, {COUNT} take {most} KiB",
        COUNT / 10
    );
    if cfg!(target_os = "linux") {
        assert!(
            least > 0 && most < least + least / 4 + 4096,
            "{least} KiB and {most} KiB"
        );
    }
}

/// Only what changed is checked again, unless asked; options of the command line count for all.
#[test]
fn what_is_up_to_date_is_kept() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = cast(folder.path(), 3);
    let own = folder.path().join("own.obj");
    std::fs::copy(Path::new(env!("CARGO_MANIFEST_DIR")).join(MESH), &own).expect("copied");
    let text = std::fs::read_to_string(&path).expect("there");
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let text = text.replacen(&format!("{:?}", root.join(MESH)), "\"own.obj\"", 1);
    std::fs::write(&path, text).expect("written");
    let out = folder.path().join("out");
    let computed = |more: &[&str]| -> Vec<String> {
        let (lines, status) = lines(command(&path, &out, more));
        assert!(matches!(status, Some(0 | 1)));
        let now = lines.into_iter().filter(|(_, l)| l["computed"] == true);
        now.map(|(name, _)| name).collect()
    };
    let all = [name(0), name(1), name(2)];
    assert_eq!(computed(&[]), all);
    assert!(computed(&["--as", "the name alone changes nothing"]).is_empty());
    let mut mesh = std::fs::read_to_string(&own).expect("there");
    mesh.push_str("# another hand was here\n");
    std::fs::write(&own, mesh).expect("written");
    assert_eq!(computed(&[]), all[..1]);
    assert_eq!(computed(&["--tolerance", "2"]), all);
    assert_eq!(computed(&["--tolerance", "2", "--again", "--at-once", "1"]), all);
    std::fs::remove_file(out.join(name(1)).join("rows.csv")).expect("there");
    assert_eq!(computed(&["--tolerance", "2"]), all[1..2]);
    // A run that was killed before it came to write its line leaves that to the next one.
    let log = out.join(name(2)).join("history.jsonl");
    let before = std::fs::read_to_string(&log).expect("a log");
    let last = before.trim_end().rfind('\n').map_or(0, |k| k + 1);
    std::fs::write(&log, &before[..last + 40]).expect("torn");
    assert!(computed(&["--tolerance", "2"]).is_empty());
    let after = std::fs::read_to_string(&log).expect("a log");
    assert_eq!(after.lines().count(), before.lines().count());
    assert_eq!(
        reports::without_times(after.as_bytes()),
        reports::without_times(before.as_bytes())
    );
}

#[test]
fn any_number_at_once_gives_the_same_bytes() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = cast(folder.path(), 5);
    let made = |n: &str| {
        let out = folder.path().join(format!("out-{n}")).join("results");
        let (_, status) = lines(command(&path, &out, &["--at-once", n]));
        assert!(matches!(status, Some(0 | 1)));
        ["cast.html", "lineup.png"].map(|f| std::fs::read(out.join(f)).expect("a result"))
    };
    assert!(made("1") == made("3"));
}

#[test]
fn mistakes_in_the_cast_are_one_line_and_write_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("cast.toml");
    let out = folder.path().join("out");
    let refused = |text: &str, more: &[&str], expected: &[&str]| {
        std::fs::write(&path, text).expect("written");
        let done = command(&path, &out, more).output().expect("the program starts");
        let said = String::from_utf8_lossy(&done.stderr).into_owned();
        assert_eq!(done.status.code(), Some(2), "{said}");
        assert!(expected.iter().all(|e| said.contains(e)), "{said}");
        assert!(!out.exists());
        said
    };
    let one = "[[character]]\nname = \"A\"\nmesh = \"a.obj\"\nsheet = \"a.png\"\n";
    let said = refused(
        &format!("{one}tolerence = 2\n"),
        &[],
        &["cast.toml: line 5", "did you mean tolerance?"],
    );
    assert_eq!(said.trim_end().lines().count(), 1);
    refused(one, &["--sheet", "b.png"], &["cannot be used with"]);
    refused(one, &["--at-once", "0"], &["--at-once"]);
}

/// Two programs that check into one folder at the same time: every line is whole, none is lost.
#[test]
fn the_log_survives_two_programs_at_once() {
    const EACH: usize = 6;
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("out");
    let run = |who: &str| {
        for k in 0..EACH {
            let done = Command::new(env!("CARGO_BIN_EXE_drawntrue"))
                .args([
                    "check",
                    MESH,
                    "--side",
                    IMAGE,
                    "--quiet",
                    "--no-page",
                    "--picture-height",
                    "700",
                ])
                .args(["--as", &format!("{who} {k}"), "--out"])
                .arg(&out)
                .current_dir(env!("CARGO_MANIFEST_DIR"))
                .output()
                .expect("the program starts");
            assert!(
                matches!(done.status.code(), Some(0 | 1)),
                "{}",
                String::from_utf8_lossy(&done.stderr)
            );
        }
    };
    std::thread::scope(|s| {
        s.spawn(|| run("one"));
        s.spawn(|| run("two"));
    });
    let log = drawntrue::report::history::read(&out.join("history.jsonl")).expect("a log");
    assert!(log.unread.is_empty());
    for who in ["one", "two"] {
        let own = log
            .entries
            .iter()
            .filter_map(|e| e.name.as_deref())
            .filter(|n| n.starts_with(who));
        assert_eq!(
            own.collect::<Vec<_>>(),
            (0..EACH).map(|k| format!("{who} {k}")).collect::<Vec<_>>()
        );
    }
}
