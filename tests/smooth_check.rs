//! A check of the smoothed surface: which surface decides, and what the other one says.

use std::path::Path;
use std::process::Command;

use drawntrue::mesh::obj::{Limits, read_file};
use drawntrue::smooth::{Smoothing, smooth};

fn refs(name: &str) -> String {
    format!("{}/refs/{name}", env!("CARGO_MANIFEST_DIR"))
}

fn run(arguments: &[&str]) -> std::process::Output {
    Command::new(env!("CARGO_BIN_EXE_drawntrue"))
        .args(arguments)
        .output()
        .expect("the program starts")
}

fn report(folder: &Path, arguments: &[&str]) -> serde_json::Value {
    let out = folder.to_string_lossy().into_owned();
    let (mesh, sheet) = (refs("tamsel.obj"), refs("tamsel-sheet.png"));
    let mut all = vec![
        "check",
        mesh.as_str(),
        "--sheet",
        sheet.as_str(),
        "--quiet",
        "--out",
        out.as_str(),
    ];
    all.extend(arguments);
    let done = run(&all);
    assert!(
        done.status.code() < Some(2),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    let text = std::fs::read(folder.join("report.json")).expect("the report");
    serde_json::from_slice(&text).expect("JSON")
}

/// Without the option the cage decides and the limit surface lies inside it; with it they change places, and the rows are
/// those of the mesh that the smooth command writes.
#[test]
fn the_option_says_which_surface_decides() {
    let folder = tempfile::tempdir().expect("a folder");
    let cage = report(&folder.path().join("cage"), &[]);
    let fine = report(&folder.path().join("fine"), &["--smooth", "2"]);
    assert_eq!(cage["settings"]["smooth"], serde_json::Value::Null);
    assert_eq!(fine["settings"]["smooth"], 2);
    for (c, f) in cage["views"]
        .as_array()
        .unwrap()
        .iter()
        .zip(fine["views"].as_array().unwrap())
    {
        assert_eq!(c["other_surface"]["surface"], "limit");
        assert_eq!(f["other_surface"]["surface"], "cage");
        // What the one says of the cage the other says too, but for the placement.
        let (a, b) = (
            &c["summary"]["outer_diff_p95_abs"],
            &f["other_surface"]["outer_diff_p95_abs"],
        );
        assert!((a.as_f64().unwrap() - b.as_f64().unwrap()).abs() < 1.0, "{a} {b}");
    }
    let out = folder.path().join("fine.obj");
    let done = run(&[
        "smooth",
        &refs("tamsel.obj"),
        "--steps",
        "2",
        "--mesh-out",
        &out.to_string_lossy(),
    ]);
    assert_eq!(
        done.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    let mesh = read_file(Path::new(&refs("tamsel.obj")), Limits::default()).expect("the demo");
    let written = read_file(&out, Limits::default()).expect("the smoothed mesh");
    assert_eq!(written, smooth(&mesh, Smoothing::Steps(2)).expect("smoothed"));
}

#[test]
fn bad_steps_and_overwriting_are_refused() {
    let mesh = refs("tamsel.obj");
    let done = run(&["smooth", &mesh, "--steps", "9", "--mesh-out", "x.obj"]);
    assert_eq!(done.status.code(), Some(2));
    let done = run(&["smooth", &mesh, "--steps", "1", "--mesh-out", &mesh]);
    assert_eq!(done.status.code(), Some(2));
    assert_eq!(String::from_utf8_lossy(&done.stderr).lines().count(), 1);
}
