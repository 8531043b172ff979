//! The published schemas: they accept what the program writes with every kind of option, and refuse what it never does.

#[allow(dead_code, reason = "other tests use the rest")]
mod reports;

use std::path::Path;
use std::process::{Command, Output};

use serde_json::{Value, json};

const MESH: &str = "refs/tamsel.obj";
const SHEET: &str = "refs/tamsel-sheet.png";

fn drawntrue(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_drawntrue"))
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .expect("the program starts")
}

fn schema(of: &[&str]) -> Value {
    let out = drawntrue(&[&["schema"], of].concat());
    assert_eq!(out.status.code(), Some(0));
    serde_json::from_slice(&out.stdout).expect("JSON")
}

fn checked(out: &Path, options: &[&str]) -> Value {
    let to = out.to_string_lossy();
    let done = drawntrue(
        &[
            &[
                "check",
                MESH,
                "--sheet",
                SHEET,
                "--quiet",
                "--no-page",
                "--out",
                &to,
            ],
            options,
        ]
        .concat(),
    );
    let said = String::from_utf8_lossy(&done.stderr);
    assert!(matches!(done.status.code(), Some(0 | 1)), "{options:?}: {said}");
    reports::accepted(&std::fs::read(out.join("report.json")).expect("a report"))
}

#[test]
fn the_command_prints_the_schema_of_the_types() {
    assert_eq!(schema(&[]), drawntrue::report::schema::report());
    assert_eq!(schema(&["report"]), drawntrue::report::schema::report());
    assert_eq!(schema(&["history"]), drawntrue::report::schema::history());
}

/// Every option that adds something to a report or changes the type of something in it.
#[test]
fn every_kind_of_report_is_accepted() {
    let folder = tempfile::tempdir().expect("a folder");
    let other = folder.path().join("plain/landmarks.csv");
    let other = other.to_string_lossy();
    let setup = folder.path().join("setup.toml");
    std::fs::write(&setup, drawntrue(&["setup", SHEET]).stdout).expect("written");
    let setup = setup.to_string_lossy();
    let kinds: [(&str, &[&str]); 12] = [
        ("plain", &[]),
        ("canon", &["--canon", "segments", "--landmarks"]),
        ("other", &["--canon", &other]),
        ("drop", &["--arms", "drop"]),
        ("degrees", &["--arms", "-12.5"]),
        ("ignore", &["--arms", "ignore", "--unfinished"]),
        ("smooth", &["--smooth", "2"]),
        ("limit", &["--smooth", "limit", "--line-edge", "outer"]),
        ("held", &["--hold-placement", "--lead", "side"]),
        (
            "stage",
            &[
                "--stage",
                "final",
                "--up",
                "y",
                "--facing",
                "z",
                "--figure-height",
                "178",
            ],
        ),
        ("setup", &["--setup", &setup]),
        ("advise", &["--advise", "--arms", "drop"]),
    ];
    for (name, options) in kinds {
        let report = checked(&folder.path().join(name), options);
        assert_eq!(report["schema"], "drawntrue.report/1", "{name}");
    }
    // A fit's report says what moved.
    let (fit, mesh) = (folder.path().join("fit"), folder.path().join("fitted.obj"));
    let (to, mesh) = (fit.to_string_lossy(), mesh.to_string_lossy());
    let done = drawntrue(&[
        "fit",
        MESH,
        "--sheet",
        SHEET,
        "--quiet",
        "--out",
        &to,
        "--mesh-out",
        &mesh,
    ]);
    let said = String::from_utf8_lossy(&done.stderr);
    assert!(matches!(done.status.code(), Some(0 | 1)), "{said}");
    let report = reports::accepted(&std::fs::read(fit.join("report.json")).expect("a report"));
    assert!(report["fit"]["moved"].as_u64().is_some_and(|n| n > 0));
    // A second time what is held is used.
    let held = checked(
        &folder.path().join("held"),
        &["--hold-placement", "--lead", "side"],
    );
    assert_eq!(held["placement"]["held"]["used"], true);
    let log = std::fs::read_to_string(folder.path().join("held/history.jsonl")).expect("a log");
    let validator = reports::validator(&schema(&["history"]));
    assert_eq!(log.lines().count(), 2);
    for line in log.lines() {
        let entry = serde_json::from_str(line).expect("JSON");
        let wrong = reports::against(&validator, &entry);
        assert!(wrong.is_empty(), "{wrong:?}");
    }
}

/// A schema that accepts anything would accept every report.
#[test]
fn what_no_report_says_is_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let report = checked(folder.path(), &["--arms", "drop", "--canon", "segments"]);
    let validator = reports::validator(&schema(&[]));
    let wrong: [(&str, Value); 12] = [
        ("/schema", json!("drawntrue.report/2")),
        ("/verdict", json!("fine")),
        ("/figure_height", json!("178")),
        ("/views/0/rows/3/y", Value::Null),
        ("/views/0/rows/3/drawing", json!([[1.0]])),
        ("/views/0/rows/3/edge_sure_pct", json!(-1)),
        ("/views/0/findings/0/kind", json!("wide")),
        ("/views/0/summary/rows_outside", json!(2.5)),
        ("/settings/arms", json!("up")),
        ("/settings/smooth", json!(9)),
        ("/placement/axes/up", json!("x")),
        ("/arms/0/side", json!("upper")),
    ];
    for (at, value) in wrong {
        let mut bad = report.clone();
        *bad.pointer_mut(at).unwrap_or_else(|| panic!("{at} is there")) = value;
        assert!(!validator.is_valid(&bad), "{at}");
    }
    // Every field is wanted, but for those that say nothing where they are left out.
    let optional = [
        "arms",
        "proportions",
        "mesh_audit",
        "setup",
        "other_surface",
        "held",
    ];
    for part in [
        "",
        "/inputs",
        "/inputs/mesh",
        "/settings",
        "/placement",
        "/views/0",
        "/views/0/rows/0",
        "/views/0/summary",
    ] {
        let fields: Vec<String> = report
            .pointer(part)
            .and_then(Value::as_object)
            .expect("an object")
            .keys()
            .cloned()
            .collect();
        for field in fields.iter().filter(|f| !optional.contains(&f.as_str())) {
            let mut bad = report.clone();
            bad.pointer_mut(part)
                .and_then(Value::as_object_mut)
                .expect("an object")
                .remove(field);
            assert!(!validator.is_valid(&bad), "{part}/{field} is not wanted");
        }
    }
    // Fields may be added.
    let mut more = report;
    more["views"][0]["rows"][0]["new"] = json!(1);
    assert!(validator.is_valid(&more));
}
