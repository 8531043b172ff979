//! Placement and tolerance as their users ask for them: held from one version to the next, given piece by piece, stages
//! of the work with their numbers.

#[allow(dead_code, reason = "other tests use the rest")]
mod reports;

use std::path::Path;
use std::process::Command;

use drawntrue::mesh::obj::{Limits, read_file};
use drawntrue::silhouette::{Azimuth, Silhouette};
use serde_json::Value;

const MESH: &str = "refs/tamsel.obj";
const SHEET: &str = "refs/tamsel-sheet.png";

/// Runs a check and returns its report and what it printed.
fn check(mesh: &str, out: &Path, options: &[&str]) -> (Value, String) {
    let done = Command::new(env!("CARGO_BIN_EXE_drawntrue"))
        .args(["check", mesh, "--sheet", SHEET, "--out"])
        .arg(out)
        .args(options)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .expect("the program starts");
    assert!(
        done.status.code().is_some_and(|c| c < 2),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    let text = std::fs::read(out.join("report.json")).expect("a report");
    (
        reports::accepted(&text),
        String::from_utf8_lossy(&done.stdout).into_owned(),
    )
}

/// The demo mesh with every vertex moved.
fn moved(to: &Path, by: impl Fn([f64; 3]) -> [f64; 3]) -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(root.join(MESH)).expect("the demo mesh");
    let lines: Vec<String> = text
        .lines()
        .map(|l| match l.strip_prefix("v ") {
            Some(numbers) => {
                let p: Vec<f64> = numbers
                    .split_whitespace()
                    .map(|w| w.parse().expect("a number"))
                    .collect();
                let [x, y, z] = by([p[0], p[1], p[2]]);
                format!("v {x} {y} {z}")
            }
            None => l.to_string(),
        })
        .collect();
    std::fs::write(to, lines.join("\n")).expect("written");
    to.to_str().expect("a plain path").to_string()
}

fn number(v: &Value) -> f64 {
    v.as_f64().expect("a number")
}

/// The drawing's spans of a view below a height.
fn drawn_below(report: &Value, y: f64) -> Vec<Value> {
    let rows = report["views"][0]["rows"].as_array().expect("rows");
    let low = rows.iter().filter(|r| number(&r["y"]) < y);
    low.map(|r| r["drawing"].clone()).collect()
}

#[test]
fn a_held_placement_stays_and_says_when_it_is_old() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("series");
    let (first, _) = check(MESH, &out, &["--hold-placement"]);
    assert_eq!(first["placement"]["how"], "fit");
    assert_eq!(first["placement"]["held"]["used"], false);
    let kept = std::fs::read(out.join("placement.json")).expect("a kept placement");

    // A chest that is deeper: the legs' numbers stay as they were to the last digit.
    let deeper = moved(&folder.path().join("deeper.obj"), |[x, y, z]| {
        [x, y, if y > 90.0 { 1.2 * z } else { z }]
    });
    let (second, printed) = check(&deeper, &out, &["--hold-placement"]);
    assert_eq!(second["placement"]["how"], "held");
    assert_eq!(second["placement"]["held"]["used"], true);
    assert_eq!(
        second["views"][0]["units_per_px"],
        first["views"][0]["units_per_px"]
    );
    assert_eq!(second["ground_y"], first["ground_y"]);
    assert_eq!(drawn_below(&second, 60.0), drawn_below(&first, 60.0));
    assert!(printed.contains("held from an earlier run"), "{printed}");
    assert_eq!(std::fs::read(out.join("placement.json")).expect("kept"), kept);
    let (fresh, _) = check(&deeper, &folder.path().join("fresh"), &[]);
    assert_ne!(
        fresh["views"][0]["units_per_px"],
        first["views"][0]["units_per_px"]
    );

    // One percent larger all over: half of that at the far end is more than a quarter of the tolerance.
    let larger = moved(&folder.path().join("larger.obj"), |p| p.map(|v| 1.01 * v));
    let (third, _) = check(&larger, &out, &["--hold-placement"]);
    let noted = |r: &Value| r["notes"].to_string().contains("the held placement lies up to");
    assert!(noted(&third), "{}", third["notes"]);
    assert!(!noted(&first));
    assert!(number(&third["placement"]["held"]["differs"]) > 0.25 / 100.0 * number(&third["figure_height"]));

    // Given otherwise, it is another series.
    let (given, _) = check(MESH, &out, &["--hold-placement", "--figure-height", "152"]);
    assert_eq!(given["placement"]["how"], "figure-height");
    let why = given["placement"]["held"]["why_not"].as_str().expect("a reason");
    assert!(why.contains("given otherwise"), "{why}");
}

#[test]
fn scale_and_ground_are_given_piece_by_piece() {
    let folder = tempfile::tempdir().expect("a folder");
    let (found, _) = check(MESH, folder.path(), &[]);
    let scale = number(&found["placement"]["units_per_px"]);
    let (by_scale, _) = check(MESH, folder.path(), &["--scale", &format!("{}", 1.01 * scale)]);
    assert_eq!(by_scale["placement"]["how"], "scale");
    assert!((number(&by_scale["views"][0]["units_per_px"]) / scale - 1.01).abs() < 1e-12);
    let (by_ground, _) = check(MESH, folder.path(), &["--ground", "-0.5"]);
    assert_eq!(by_ground["placement"]["how"], "ground");
    assert!((number(&by_ground["ground_y"]) + 0.5).abs() < 1e-9);
    assert_eq!(by_ground["placement"]["ground_uncertainty"], 0.0);
    assert!(number(&by_ground["placement"]["scale_uncertainty_pct"]) > 0.0);
    let (height, _) = check(MESH, folder.path(), &["--figure-height", "150", "--ground", "2"]);
    assert!((number(&height["figure_height"]) - 150.0).abs() < 1e-9);
    assert!((number(&height["ground_y"]) - 2.0).abs() < 1e-9);
    let (plain, _) = check(MESH, folder.path(), &["--figure-height", "150"]);
    assert!(number(&plain["ground_y"]).abs() < 1e-9, "as the contract has it");
}

#[test]
fn stages_have_numbers_and_options_win_over_them() {
    let folder = tempfile::tempdir().expect("a folder");
    let outside = |r: &Value| {
        let views = r["views"].as_array().expect("views");
        views
            .iter()
            .map(|v| number(&v["summary"]["rows_outside"]))
            .sum::<f64>()
    };
    let mut last = 0.0;
    for (stage, of_height, of_width) in [
        ("block-in", 2.0, None),
        ("refine", 1.0, Some(10.0)),
        ("final", 0.5, Some(5.0)),
    ] {
        let (report, printed) = check(MESH, folder.path(), &["--stage", stage]);
        assert_eq!(number(&report["settings"]["tolerance_pct"]), of_height);
        assert_eq!(report["settings"]["tolerance_width_pct"].as_f64(), of_width);
        let said = format!("tolerance {of_height} %");
        assert!(printed.contains(&said) && printed.contains(stage), "{printed}");
        if let Some(w) = of_width {
            assert!(
                printed.contains(&format!("{w} % of the local width")),
                "{printed}"
            );
        }
        assert!(outside(&report) > last, "each stage holds to closer limits");
        last = outside(&report);
    }
    let (own, _) = check(MESH, folder.path(), &["--stage", "final", "--tolerance", "1.5"]);
    assert_eq!(number(&own["settings"]["tolerance_pct"]), 1.5);
    assert_eq!(number(&own["settings"]["tolerance_width_pct"]), 5.0);
    // The local width alone tells a wrist from a hip.
    let (plain, _) = check(MESH, folder.path(), &[]);
    let (local, _) = check(MESH, folder.path(), &["--tolerance-width", "5"]);
    assert!(outside(&local) > outside(&plain));
}

/// The demo mesh drawn in ink on white: each view's outline with its ground's middle at a place of the sheet, six pixels a
/// unit.
fn inked(to: &Path, size: [u32; 2], views: &[(Azimuth, [f32; 2])]) -> String {
    use tiny_skia::{Color, Paint, PathBuilder, Pixmap, Stroke, Transform};
    const SCALE: f32 = 6.0;
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mesh = read_file(&root.join(MESH), Limits::default()).expect("the demo mesh");
    let mut sheet = Pixmap::new(size[0], size[1]).expect("a sheet");
    sheet.fill(Color::WHITE);
    let stroke = Stroke {
        width: 4.0,
        ..Stroke::default()
    };
    for (azimuth, [x, ground]) in views {
        let mut path = PathBuilder::new();
        for ring in &Silhouette::new(&mesh, *azimuth).outline(1200).rings {
            for (i, p) in ring.iter().enumerate() {
                let (x, y) = (x + SCALE * p.x as f32, ground - SCALE * p.y as f32);
                if i == 0 {
                    path.move_to(x, y);
                } else {
                    path.line_to(x, y);
                }
            }
            path.close();
        }
        let path = path.finish().expect("an outline");
        let mut ink = Paint::default();
        ink.set_color_rgba8(20, 20, 30, 255);
        sheet.stroke_path(&path, &ink, &stroke, Transform::identity(), None);
    }
    sheet.save_png(to).expect("written");
    to.to_str().expect("a plain path").to_string()
}

/// Another row of a sheet has a ground of its own: its views are laid on the mesh as those of the first row are, named in
/// reading order, and no contradiction is made of where they stand.
#[test]
fn views_in_a_second_row_stand_on_a_ground_of_their_own() {
    let folder = tempfile::tempdir().expect("a folder");
    let drawn = |name: &str, size, side: [f32; 2], back: [f32; 2]| {
        let views = [
            (Azimuth::FRONT, [560.0, 1030.0]),
            (Azimuth::FACING_RIGHT, side),
            (Azimuth::BACK, back),
        ];
        let sheet = inked(&folder.path().join(name), size, &views);
        let out = folder.path().join(format!("{name}-out"));
        let done = Command::new(env!("CARGO_BIN_EXE_drawntrue"))
            .args(["check", MESH, "--no-page", "--sheet", &sheet, "--out"])
            .arg(&out)
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .output()
            .expect("the program starts");
        let report = reports::accepted(&std::fs::read(out.join("report.json")).expect("a report"));
        // Drawn from the mesh itself, it agrees.
        assert_eq!(done.status.code(), Some(0), "{name}: {}", report["findings"]);
        let views = report["views"].as_array().expect("views");
        let names: Vec<String> = views.iter().map(|v| v["name"].to_string()).collect();
        assert_eq!(names, ["\"front\"", "\"side\"", "\"back\""], "{name}");
        report["notes"].to_string()
    };
    let one = drawn("row.png", [2500, 1100], [1300.0, 1030.0], [1950.0, 1030.0]);
    assert!(!one.contains("ground of its own"), "{one}");
    let two = drawn("rows.png", [1600, 2200], [1300.0, 1030.0], [900.0, 2120.0]);
    assert!(
        two.contains("the back view is drawn") && two.contains("ground of its own"),
        "{two}"
    );
    // One view that was drawn an eighth of the height lower.
    let lower = drawn("lower.png", [2500, 1220], [1300.0, 1144.0], [1950.0, 1030.0]);
    assert!(
        lower.contains("the side view is drawn 13 % of the height lower"),
        "{lower}"
    );
    assert!(!lower.contains("the back view is drawn"), "{lower}");
}
