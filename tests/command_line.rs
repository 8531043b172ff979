//! The program as its users run it: the demo, bad input of every kind, results that appear whole or not at all.

#[allow(dead_code, reason = "other tests use the rest")]
mod reports;

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

const MESH: &str = "refs/tamsel.obj";
const SHEET: &str = "refs/tamsel-sheet.png";

fn drawntrue(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_drawntrue"))
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .expect("the program starts")
}

fn text(path: &Path) -> String {
    path.to_str().expect("a plain path").to_string()
}

/// Status 2, one line that names what is expected, nothing on standard output, no panic.
#[track_caller]
fn refused(arguments: &[&str], expected: &str) {
    let out = drawntrue(arguments);
    let message = String::from_utf8_lossy(&out.stderr);
    assert_eq!(out.status.code(), Some(2), "{arguments:?}: {message}");
    assert_eq!(message.trim_end().lines().count(), 1, "{message}");
    assert!(message.contains(expected), "{message:?} should name {expected:?}");
    assert!(!message.contains("panicked"), "{message}");
    assert!(out.stdout.is_empty());
}

fn files(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .map(|d| {
            d.flatten()
                .map(|e| e.file_name().to_string_lossy().into_owned())
                .collect()
        })
        .unwrap_or_default();
    names.sort();
    names
}

#[test]
fn the_demo_has_just_its_three_faults_and_the_same_bytes_each_time() {
    let (a, b) = (
        tempfile::tempdir().expect("a folder"),
        tempfile::tempdir().expect("a folder"),
    );
    for (folder, threads) in [(&a, "1"), (&b, "2")] {
        let out = Command::new(env!("CARGO_BIN_EXE_drawntrue"))
            .args([
                "check",
                MESH,
                "--sheet",
                SHEET,
                "--unit",
                "cm",
                "--out",
                &text(folder.path()),
            ])
            .env("RAYON_NUM_THREADS", threads)
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .output()
            .expect("the program starts");
        assert_eq!(
            out.status.code(),
            Some(1),
            "{}",
            String::from_utf8_lossy(&out.stderr)
        );
        assert!(!out.stdout.contains(&0x1b), "colour belongs on a terminal only");
    }
    let names = files(a.path());
    assert_eq!(
        names,
        [
            "history.jsonl",
            "landmarks.csv",
            "overlay-all.png",
            "overlay-back.png",
            "overlay-front.png",
            "overlay-side.png",
            "report.html",
            "report.json",
            "rows.csv"
        ],
        "nothing else, nothing temporary"
    );
    for name in &names {
        let read = |d: &tempfile::TempDir| {
            let bytes = std::fs::read(d.path().join(name)).expect("a result");
            if name == "history.jsonl" {
                reports::without_times(&bytes)
            } else {
                bytes
            }
        };
        assert!(read(&a) == read(&b), "{name} differs from one run to the next");
    }
    let report = reports::accepted(&std::fs::read(a.path().join("report.json")).expect("a report"));
    let mut found: Vec<(String, String)> = report["views"]
        .as_array()
        .expect("views")
        .iter()
        .flat_map(|v| {
            let name = v["name"].as_str().unwrap_or_default().to_string();
            let kinds = v["findings"].as_array().cloned().unwrap_or_default();
            kinds
                .into_iter()
                .map(move |f| (name.clone(), f["kind"].as_str().unwrap_or_default().to_string()))
        })
        .collect();
    found.sort();
    let expected = [
        ("back", "thin"),
        ("front", "thin"),
        ("side", "shifted"),
        ("side", "thick"),
    ];
    assert_eq!(found, expected.map(|(v, k)| (v.to_string(), k.to_string())));
    let csv = std::fs::read_to_string(a.path().join("rows.csv")).expect("rows");
    let rows: usize = report["views"]
        .as_array()
        .expect("views")
        .iter()
        .map(|v| v["rows"].as_array().map_or(0, Vec::len))
        .sum();
    assert_eq!(csv.lines().count(), rows + 1);
}

#[test]
fn bad_files_are_refused_in_one_line_and_leave_nothing_behind() {
    let folder = tempfile::tempdir().expect("a folder");
    let put = |name: &str, bytes: &[u8]| -> String {
        let path = folder.path().join(name);
        std::fs::write(&path, bytes).expect("a file");
        text(&path)
    };
    let out: PathBuf = folder.path().join("out");
    let to = text(&out);
    let check = |mesh: &str, sheet: &str, expected: &str| {
        refused(&["check", mesh, "--sheet", sheet, "--out", &to], expected);
        assert!(!out.exists(), "{:?}", files(&out));
    };
    let sheet = std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join(SHEET)).expect("the demo sheet");

    check("nowhere.obj", SHEET, "nowhere.obj: there is no such file");
    check(MESH, "nowhere.png", "nowhere.png: there is no such file");
    check(&put("empty.obj", b""), SHEET, "empty.obj");
    check(
        &put("nan.obj", b"v 0 0 nan\nv 1 0 0\nv 0 1 0\nf 1 2 3\n"),
        SHEET,
        "line 1",
    );
    check(
        &put("range.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 9\n"),
        SHEET,
        "line 4",
    );
    check(
        &put("points.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\n"),
        SHEET,
        "no face",
    );
    check(
        &put("flat.obj", b"v 0 0 0\nv 1 0 0\nv 1 0 1\nv 0 0 1\nf 1 2 3 4\n"),
        SHEET,
        "flat",
    );
    check(SHEET, SHEET, "tamsel-sheet.png");
    check(MESH, &put("empty.png", b""), "empty.png: the file is empty");
    check(MESH, MESH, "not a PNG, JPEG, TIFF or WebP");
    check(MESH, &put("short.png", &sheet[..sheet.len() / 2]), "short.png");
    let mut huge = sheet[..64].to_vec();
    // Width and height of a PNG stand at bytes 16 to 24 of the file (PNG specification, 11.2.1).
    huge[16..24].copy_from_slice(&[0, 1, 0x86, 0xA0, 0, 1, 0x86, 0xA0]);
    // The header's checksum no longer fits; either way it is refused before any pixel is made.
    check(MESH, &put("huge.png", &huge), "huge.png");
}

/// A grey picture with filled discs (centre x, centre y, radius) as PNG.
fn discs(width: u32, height: u32, discs: &[(f64, f64, f64)]) -> Vec<u8> {
    let picture = image::GrayImage::from_fn(width, height, |x, y| {
        let (x, y) = (f64::from(x) + 0.5, f64::from(y) + 0.5);
        image::Luma([if discs.iter().any(|d| (x - d.0).hypot(y - d.1) < d.2) {
            60
        } else {
            250
        }])
    });
    let mut out = std::io::Cursor::new(Vec::new());
    picture
        .write_to(&mut out, image::ImageFormat::Png)
        .expect("a PNG in memory");
    out.into_inner()
}

#[test]
fn sheets_that_are_no_turnaround_are_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let to = text(&folder.path().join("out"));
    let check = |name: &str, bytes: &[u8], expected: &str| {
        let path = folder.path().join(name);
        std::fs::write(&path, bytes).expect("a file");
        refused(&["check", MESH, "--sheet", &text(&path), "--out", &to], expected);
    };
    check("blank.png", &discs(600, 400, &[]), "no figure");
    check(
        "one.png",
        &discs(600, 400, &[(300.0, 200.0, 150.0)]),
        "one figure only",
    );
    check(
        "cut.png",
        &discs(600, 400, &[(85.0, 200.0, 100.0), (430.0, 200.0, 100.0)]),
        "cut off at the border",
    );
    let seven: Vec<(f64, f64, f64)> = (0..7)
        .map(|i| (100.0 + 180.0 * f64::from(i), 200.0, 80.0))
        .collect();
    check("seven.png", &discs(1300, 400, &seven), "7 figures");
}

#[test]
fn an_output_folder_that_cannot_be_made_is_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("file");
    std::fs::write(&file, b"mine").expect("a file");
    refused(&["check", MESH, "--sheet", SHEET, "--out", &text(&file)], "--out");
    assert_eq!(std::fs::read(&file).expect("still there"), b"mine");
}

/// A command line that cannot be used is told in one line as well, without what a terminal of help would say.
#[test]
fn bad_command_lines_are_refused_in_one_line() {
    for (arguments, expected) in [
        (&["chek"][..], "unrecognized subcommand 'chek'"),
        (
            &["check", MESH, "--sheet"],
            "a value is required for '--sheet <IMAGE>'",
        ),
        (&["check"], "were not provided: --sheet <IMAGE>; <MESH>"),
        (&["check", MESH, "--sheet", SHEET, "--sheat", "x"], "--sheat"),
        (
            &["check", MESH, "--sheet", SHEET, "--tolerance", "-1"],
            "a number above zero is needed",
        ),
    ] {
        refused(arguments, expected);
    }
    let help = drawntrue(&[]);
    assert!(String::from_utf8_lossy(&help.stderr).contains("Commands:"));
}

#[test]
fn the_same_image_for_two_views_is_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    refused(
        &[
            "check",
            MESH,
            "--front",
            SHEET,
            "--side",
            SHEET,
            "--out",
            &text(folder.path()),
        ],
        "the same image is given for two views",
    );
}

#[test]
fn a_disc_keeps_its_area() {
    // Flat colour without a line ends where the colour ends; the digitised disc has its own exact area (a count of
    // pixels), which the sub-pixel outline must keep to within 0.2 %: half the stairs' own scatter at this radius.
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("disc.png");
    std::fs::write(&path, discs(700, 700, &[(350.0, 350.0, 240.0)])).expect("a file");
    let out = drawntrue(&["sheet", &text(&path), "--json", "-"]);
    assert_eq!(
        out.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
    let sheet: serde_json::Value = serde_json::from_slice(&out.stdout).expect("JSON");
    assert_eq!(sheet["schema"], "drawntrue.sheet/1");
    let ring: Vec<(f64, f64)> = sheet["views"][0]["outline_px"][0]
        .as_array()
        .expect("a ring")
        .iter()
        .map(|p| (p[0].as_f64().unwrap_or(0.0), p[1].as_f64().unwrap_or(0.0)))
        .collect();
    let twice: f64 = (0..ring.len())
        .map(|i| {
            let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
            a.0 * b.1 - b.0 * a.1
        })
        .sum();
    // Counter-clockwise as seen is negative where y points down.
    let exact = -std::f64::consts::PI * 240.0 * 240.0;
    assert!(
        (twice / 2.0 / exact - 1.0).abs() < 0.002,
        "{} against {exact}",
        twice / 2.0
    );
}

#[test]
fn a_faint_blotch_that_touches_the_line_is_no_outline() {
    // A ring of ink of radius 240 and width 6, and a blotch a ninth as strong that lies against it from outside.
    let picture = image::GrayImage::from_fn(760, 700, |x, y| {
        let (x, y) = (f64::from(x) + 0.5, f64::from(y) + 0.5);
        let ink = (3.5 - ((x - 350.0).hypot(y - 350.0) - 240.0).abs()).clamp(0.0, 1.0);
        let blotch = if (x - 600.0).hypot(y - 350.0) < 30.0 {
            24.0
        } else {
            0.0
        };
        image::Luma([(245.0 - ink * 215.0 - (1.0 - ink) * blotch) as u8])
    });
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("ring.png");
    picture.save(&path).expect("a PNG");
    let out = drawntrue(&["sheet", &text(&path), "--json", "-"]);
    assert_eq!(
        out.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
    let sheet: serde_json::Value = serde_json::from_slice(&out.stdout).expect("JSON");
    let ring = sheet["views"][0]["outline_px"][0]
        .as_array()
        .expect("a ring")
        .clone();
    let off = ring
        .iter()
        .map(|p| (p[0].as_f64().unwrap_or(0.0) - 350.0).hypot(p[1].as_f64().unwrap_or(0.0) - 350.0) - 240.0)
        .fold(0.0, |m: f64, d| m.max(d.abs()));
    // Half a pixel: the middle of a line whose outside the blotch hides is taken from the line's width nearby.
    assert!(
        off < 0.5,
        "the outline leaves the middle of the line by {off:.2} px"
    );
}
