//! `drawntrue fit` and `check --advise` as a user calls them, on a pillar and its drawing.

#[path = "watch/program.rs"]
mod program;

use std::path::Path;
use std::process::{Command, Output};

use serde_json::Value;

/// Height of the drawing, pixels.
const HIGH: usize = 600;

/// Runs a command on the files of a folder, results to its `out`.
fn run(arguments: &[&str], folder: &Path) -> Output {
    let path = |name: &str| folder.join(name).to_string_lossy().into_owned();
    let (front, side) = (path("front.png"), path("side.png"));
    for image in [&front, &side] {
        std::fs::write(image, program::drawing(HIGH)).expect("written");
    }
    Command::new(env!("CARGO_BIN_EXE_drawntrue"))
        .args(arguments)
        .args(["--front", &front, "--side", &side, "--no-page", "--no-history"])
        .args(["--out", &path("out")])
        .output()
        .expect("the program starts")
}

fn report(folder: &Path) -> Value {
    let text = std::fs::read(folder.join("out/report.json")).expect("a report");
    serde_json::from_slice(&text).expect("JSON")
}

/// The pillar with its back pushed out in the middle, a name and texture coordinates: what the side view shows.
fn bulged(folder: &Path) -> String {
    let mut text = String::from("# a pillar\no pillar\nvt 0.5 0.25\n");
    for line in program::pillar(program::drawn).lines() {
        match place(line) {
            Some([x, y, z]) if z < 0.0 => {
                let far = (y - 50.0) / 18.0;
                text += &format!("v {x} {y} {:.6}\n", z - 5.0 * (-far * far).exp());
            }
            _ => text += &format!("{line}\n"),
        }
    }
    let path = folder.join("bulged.obj");
    std::fs::write(&path, text).expect("written");
    path.to_string_lossy().into_owned()
}

fn place(line: &str) -> Option<[f64; 3]> {
    let mut words = line
        .strip_prefix("v ")?
        .split_whitespace()
        .map(|w| w.parse().ok());
    Some([words.next()??, words.next()??, words.next()??])
}

fn others(text: &str) -> Vec<&str> {
    text.lines().filter(|l| place(l).is_none()).collect()
}

#[test]
fn a_bulge_goes_and_the_file_stays_the_same_but_for_its_positions() {
    let folder = tempfile::tempdir().expect("a folder");
    let mesh = bulged(folder.path());
    let fitted = folder.path().join("fitted.obj");
    let to = fitted.to_string_lossy();
    let done = run(&["fit", &mesh, "--mesh-out", &to], folder.path());
    let said = String::from_utf8_lossy(&done.stderr);
    assert!(matches!(done.status.code(), Some(0 | 1)), "{said}");
    let report = report(folder.path());
    let fit = &report["fit"];
    let p95 = |when: &str| fit[when]["side"]["contour_p95"].as_f64().expect("a number");
    let height = report["figure_height"].as_f64().expect("a number");
    assert!(p95("before") > 0.015 * height, "{fit}");
    assert!(p95("after") < (p95("before") / 5.0).max(0.003 * height), "{fit}");
    assert!(fit["moved"].as_u64() > Some(10) && fit["worse"].as_array().expect("a list").is_empty());
    let (before, after) = (
        std::fs::read_to_string(&mesh).expect("text"),
        std::fs::read_to_string(&fitted).expect("text"),
    );
    assert_eq!(others(&before), others(&after));
    let moved = before.lines().zip(after.lines()).filter(|(a, b)| a != b).count();
    assert_eq!(
        fit["moved"].as_u64(),
        Some(moved as u64),
        "what does not move keeps its digits"
    );
    // The report is that of the file that was written.
    assert_eq!(report["inputs"]["mesh"]["path"].as_str(), Some(&*to));
}

#[test]
fn nothing_of_the_way_writes_the_same_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let mesh = bulged(folder.path());
    let fitted = folder.path().join("fitted.obj");
    let arguments = [
        "fit",
        &mesh,
        "--amount",
        "0",
        "--mesh-out",
        &fitted.to_string_lossy(),
    ];
    run(&arguments, folder.path());
    assert_eq!(
        std::fs::read(&mesh).expect("bytes"),
        std::fs::read(&fitted).expect("bytes")
    );
}

#[test]
fn what_cannot_be_is_one_line() {
    let folder = tempfile::tempdir().expect("a folder");
    let mesh = bulged(folder.path());
    let fitted = folder.path().join("fitted.obj");
    let to = fitted.to_string_lossy();
    for (more, to, expected) in [
        (
            &["--only", "99"][..],
            &*to,
            "there is no finding 99; give a number from 1 to ",
        ),
        (
            &["--only", "tail"],
            &to,
            "nothing is called tail; give the number of a finding; views: front, side",
        ),
        (&["--amount", "2"], &to, "a number from 0 to 1 is needed"),
        (&[], &mesh, "input"),
    ] {
        let arguments = [&["fit", &mesh, "--mesh-out", to][..], more].concat();
        let done = run(&arguments, folder.path());
        let said = String::from_utf8_lossy(&done.stderr);
        assert_eq!(done.status.code(), Some(2), "{more:?}: {said}");
        assert!(said.contains(expected), "{more:?}: {said}");
        assert!(!fitted.exists());
    }
}

#[test]
fn advice_names_moves_and_lists_every_vertex() {
    let folder = tempfile::tempdir().expect("a folder");
    let mesh = bulged(folder.path());
    let done = run(&["check", &mesh, "--advise"], folder.path());
    let said = String::from_utf8_lossy(&done.stdout);
    assert!(
        said.contains("move ") && said.contains("fading out over"),
        "{said}"
    );
    let report = report(folder.path());
    let advice = report["advice"].as_array().expect("moves");
    // The back was pushed back, so the first move goes forward.
    let first = &advice[0];
    assert_eq!(first["axis"].as_str(), Some("z"), "{first}");
    assert!(first["amount"].as_f64() > Some(0.0), "{first}");
    assert!(
        !report["views"][1]["arrows"]
            .as_array()
            .expect("arrows")
            .is_empty()
    );
    let table = std::fs::read_to_string(folder.path().join("out/moves.csv")).expect("a table");
    let mut lines = table.lines();
    assert_eq!(lines.next(), Some("vertex,dx,dy,dz"));
    assert!(lines.count() > 10);
}
