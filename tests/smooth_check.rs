//! A check of the smoothed surface: which surface decides, and what the other one says.

#[path = "watch/program.rs"]
mod program;
#[allow(dead_code, reason = "other tests use the rest")]
mod reports;

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
    reports::accepted(&text)
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

/// Names, materials and texture coordinates go along, a mirrored half keeps its faces in their parts and lays its texture
/// coordinates onto the other half's, and the centre is no border: it stays in the plane and moves as inside.
#[test]
fn a_half_is_completed_and_keeps_what_it_wears() {
    let folder = tempfile::tempdir().expect("a folder");
    let (half, out) = (folder.path().join("half.obj"), folder.path().join("fine.obj"));
    // A bent strip from the plane x = 0 outwards: two parts, each two quads high.
    let text = "mtllib a.mtl\nv 0 0 0\nv 1 0 -1\nv 2 0 0\nv 0 1 0\nv 1 1 -1\nv 2 1 0\nv 0 2 0\nv 1 2 -1\nv 2 2 0\n\
        vt 0 0\nvt 0.5 0\nvt 1 0\nvt 0 0.5\nvt 0.5 0.5\nvt 1 0.5\nvt 0 1\nvt 0.5 1\nvt 1 1\n\
        o inner\nusemtl skin\nf 1/1 2/2 5/5 4/4\nf 4/4 5/5 8/8 7/7\no outer\nusemtl cloth\nf 2/2 3/3 6/6 5/5\nf 5/5 6/6 9/9 8/8\n";
    std::fs::write(&half, text).expect("written");
    let arguments = [
        "smooth",
        &half.to_string_lossy(),
        "--mirror",
        "--steps",
        "1",
        "--mesh-out",
        &out.to_string_lossy(),
    ];
    assert_eq!(run(&arguments).status.code(), Some(0));
    let written = std::fs::read_to_string(&out).expect("the smoothed mesh");
    for (word, count) in [
        ("mtllib a.mtl", 1),
        ("o inner\nusemtl skin", 1),
        ("o outer\nusemtl cloth", 1),
    ] {
        assert_eq!(written.matches(word).count(), count, "{word}");
    }
    let mesh = drawntrue::mesh::obj::read(written.as_bytes(), Limits::default()).expect("OBJ");
    let runs: Vec<(usize, usize)> = mesh.group_runs().map(|r| (r.group, r.faces.len())).collect();
    assert_eq!(runs, [(0, 16), (1, 16)]);
    // Vertex 4 in the middle of the centre line, by Catmull and Clark's rule: four faces whose middles lie at z = -1/2,
    // four edges, two of which go down to z = -1: (F + 2R + P) / 4 with F = -1/2, R = (-1/2 - 1/2) / 4.
    let centre = mesh.positions()[3];
    assert_eq!(centre, [0.0, 1.0, (-0.5 + 2.0 * -0.25) / 4.0]);
    let dress =
        drawntrue::mesh::obj::dress::Dress::read(written.as_bytes()).expect("its texture coordinates");
    assert_eq!((dress.dimensions, dress.corners.len()), (2, mesh.corners().len()));
    for (f, face) in mesh.faces().enumerate() {
        let at = mesh.starts()[f] as usize;
        for (c, &v) in (at..).zip(face) {
            let [p, t] = [
                mesh.positions()[v as usize],
                dress.values[dress.corners[c] as usize],
            ];
            // The strip is mapped straight, its texture's borders stay: u is half of x at the cage's columns, and no
            // value lies outside.
            assert!((0.0..=1.0).contains(&t[0]) && (0.0..=1.0).contains(&t[1]));
            if p[0] == 0.0 {
                assert_eq!(t[0], 0.0);
            }
        }
    }
    assert_eq!(dress.values.iter().filter(|t| **t == [0.5, 0.5, 0.0]).count(), 2);
}

/// An eight-sided limb that is on model as a cage keeps 0.90237 of its radius in the limit ((2 + cos(2 pi / 8)) / 3, a cubic
/// B-spline of a regular polygon): a width of 20 becomes 18.0474, and the cage would have to be 20 / 18.0474 times as wide.
#[test]
fn where_smoothing_thins_a_cage_that_is_on_model_is_said_with_how_much_it_takes() {
    use drawntrue::compare::surfaces::{Other, compare};
    use drawntrue::report::model::Row;
    use drawntrue::silhouette::{Azimuth, silhouettes};
    let (n, rings) = (8usize, 21usize);
    let positions = (0..rings * n).map(|i| {
        let turn = (i % n) as f64 / n as f64 * std::f64::consts::TAU;
        [10.0 * turn.cos(), 5.0 * (i / n) as f64, 10.0 * turn.sin()]
    });
    let at = |r: usize, k: usize| (r * n + k % n) as u32;
    let faces = (0..rings - 1)
        .flat_map(|r| (0..n).map(move |k| [at(r, k), at(r, k + 1), at(r + 1, k + 1), at(r + 1, k)]));
    let cage = drawntrue::mesh::Mesh::from_polygons(positions.collect(), faces).expect("a tube");
    let limit = smooth(&cage, Smoothing::Limit).expect("smoothed");
    let seen = &silhouettes(&limit, &[Azimuth::FRONT])[0];
    let rows: Vec<Row> = (0..200)
        .map(|i| Row {
            y: 99.75 - 0.5 * f64::from(i),
            drawing: vec![[-10.0, 10.0]],
            mesh: vec![[-10.0, 10.0]],
            outer_diff: Some(0.0),
            solid_diff: Some(0.0),
            left_diff: Some(0.0),
            right_diff: Some(0.0),
            edge_sure_pct: 100,
            spans: Vec::new(),
        })
        .collect();
    let other = compare(&rows, seen, Other::Smoothed, [1.0, 100.0]);
    let [lost] = &other.lost[..] else {
        panic!("one run: {:?}", other.lost)
    };
    let width = 20.0 * (2.0 + std::f64::consts::FRAC_1_SQRT_2) / 3.0;
    assert!((lost.smooth_outer_diff - (width - 20.0)).abs() < 1e-6, "{lost:?}");
    assert!(
        (lost.cage_wider_by - (20.0 / width - 1.0) * 20.0).abs() < 1e-6,
        "{lost:?}"
    );
    assert_eq!(lost.cage_outer_diff, 0.0);
    assert!(
        lost.y_from < 1.0 && lost.y_to > 99.0 && lost.text.contains("would have to be"),
        "{lost:?}"
    );
    // Twice as much tolerance as it takes: nothing to say.
    assert!(
        compare(&rows, seen, Other::Smoothed, [4.0, 100.0])
            .lost
            .is_empty()
    );
}

/// The cage beside the smoothed surface stands as that does, whichever way the file's axes point.
#[test]
fn a_mesh_that_stands_along_z_is_turned_upright_once() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = |name: &str| folder.path().join(name).to_string_lossy().into_owned();
    for view in ["front.png", "side.png"] {
        std::fs::write(path(view), program::drawing(600)).expect("written");
    }
    let upright = program::pillar(program::drawn);
    let lying: String = upright
        .lines()
        .map(|line| {
            let words: Vec<&str> = line.split(' ').collect();
            match words[..] {
                // Up is z, the figure looks along -y.
                ["v", x, y, z] => format!("v {x} {} {y}\n", -z.parse::<f64>().expect("a number")),
                _ => format!("{line}\n"),
            }
        })
        .collect();
    let views = |name: &str, text: &str, axes: &[&str]| {
        let mesh = path(name);
        std::fs::write(&mesh, text).expect("written");
        let (front, side, out) = (path("front.png"), path("side.png"), path(&format!("{name}-out")));
        let arguments = [
            "check",
            &mesh,
            "--front",
            &front,
            "--side",
            &side,
            "--smooth",
            "1",
            "--no-page",
            "--out",
            &out,
        ];
        let done = run(&[&arguments[..], axes].concat());
        assert!(
            done.status.code() < Some(2),
            "{}",
            String::from_utf8_lossy(&done.stderr)
        );
        let text = std::fs::read(Path::new(&out).join("report.json")).expect("the report");
        reports::accepted(&text)["views"].clone()
    };
    let (one, other) = (
        views("y.obj", &upright, &[]),
        views("z.obj", &lying, &["--up", "z"]),
    );
    for (a, b) in one
        .as_array()
        .expect("views")
        .iter()
        .zip(other.as_array().expect("views"))
    {
        assert!(!a["other_surface"].is_null());
        assert_eq!(a["other_surface"], b["other_surface"]);
        assert_eq!(a["summary"], b["summary"]);
    }
}
