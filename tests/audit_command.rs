//! The commands `audit` and `repair` as a person runs them: files in, files out, the same bytes whatever the number of
//! threads, the file's own axes kept, borders named in a setup file.

use std::path::Path;
use std::process::{Command, Output};

use drawntrue::mesh::Mesh;
use drawntrue::mesh::obj::{Limits, read, read_file};

fn demo() -> Mesh {
    let path = format!("{}/refs/tamsel.obj", env!("CARGO_MANIFEST_DIR"));
    read_file(Path::new(&path), Limits::default()).expect("the demo's mesh")
}

fn run(folder: &Path, threads: &str, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_drawntrue"))
        .current_dir(folder)
        .env("RAYON_NUM_THREADS", threads)
        .args(arguments)
        .output()
        .expect("the program starts")
}

/// A mesh as OBJ text; `place` gives each vertex as it is written, so a test knows its exact text.
fn text(mesh: &Mesh, place: impl Fn(usize, [f64; 3]) -> [f64; 3], keep: impl Fn(usize) -> bool) -> String {
    let mut out = String::new();
    for (v, &p) in mesh.positions().iter().enumerate() {
        let [x, y, z] = place(v, p);
        out += &format!("v {x} {y} {z}\n");
    }
    for (f, face) in mesh.faces().enumerate().filter(|(f, _)| keep(*f)) {
        let corners: Vec<String> = face.iter().map(|v| (v + 1).to_string()).collect();
        out += &format!("f {} # {f}\n", corners.join(" "));
    }
    out
}

fn json(path: &Path) -> serde_json::Value {
    serde_json::from_slice(&std::fs::read(path).expect("a file")).expect("JSON")
}

fn check<'a>(audit: &'a serde_json::Value, id: &str) -> &'a serde_json::Value {
    let checks = audit["checks"].as_array().expect("checks");
    checks.iter().find(|c| c["id"] == id).expect("the check")
}

/// A centre vertex of the demo, the first on the plane that faces use.
fn centre_vertex(mesh: &Mesh) -> usize {
    let used = |v: usize| mesh.corners().contains(&(v as u32));
    (0..mesh.positions().len())
        .find(|&v| mesh.positions()[v][0] == 0.0 && used(v))
        .expect("a centre vertex")
}

#[test]
fn one_thread_and_two_give_the_same_bytes() {
    let folder = tempfile::tempdir().expect("a folder");
    let mesh = demo();
    let moved = centre_vertex(&mesh);
    // A drifted centre vertex, a face left out: findings and repairs.
    let broken = text(
        &mesh,
        |v, p| if v == moved { [0.3, p[1], p[2]] } else { p },
        |f| f != 700,
    );
    std::fs::write(folder.path().join("mesh.obj"), broken).expect("written");
    let mut made: Vec<Vec<Vec<u8>>> = Vec::new();
    for threads in ["1", "2"] {
        let audit = run(folder.path(), threads, &["audit", "mesh.obj", "--out", "out"]);
        assert_eq!(audit.status.code(), Some(1));
        let repair = run(
            folder.path(),
            threads,
            &["repair", "mesh.obj", "--mesh-out", "mended.obj"],
        );
        // The hole is left: whether it is meant is taste.
        assert_eq!(repair.status.code(), Some(1));
        let mut bytes = vec![audit.stdout, repair.stdout];
        for name in [
            "out/audit.json",
            "out/audit-front.png",
            "out/audit-side.png",
            "out/audit-three-quarter.png",
            "mended.obj",
            "mended.obj.map.json",
        ] {
            bytes.push(std::fs::read(folder.path().join(name)).expect(name));
        }
        made.push(bytes);
    }
    assert!(made[0] == made[1]);
}

/// A z-up file facing −y: the upright mesh's (x, y, z) stands in the file as (x, −z, y). What is repaired is written in
/// these axes, and no other number changes.
#[test]
fn a_mesh_that_stands_on_z_is_repaired_in_its_own_axes() {
    let folder = tempfile::tempdir().expect("a folder");
    let mesh = demo();
    let moved = centre_vertex(&mesh);
    let lying = |[x, y, z]: [f64; 3]| [x, 0.0 - z, y];
    let sound = text(&mesh, |_, p| lying(p), |_| true);
    let drifted = text(
        &mesh,
        |v, p| lying(if v == moved { [0.25, p[1], p[2]] } else { p }),
        |_| true,
    );
    assert_ne!(sound, drifted);
    std::fs::write(folder.path().join("mesh.obj"), &drifted).expect("written");
    let arguments = ["repair", "mesh.obj", "--up", "z", "--mesh-out", "mended.obj"];
    let done = run(folder.path(), "2", &arguments);
    assert_eq!(
        done.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&done.stdout)
    );
    let mended = std::fs::read_to_string(folder.path().join("mended.obj")).expect("the mesh");
    assert_eq!(mended, sound);
    let map = json(&folder.path().join("mended.obj.map.json"));
    assert_eq!(map["changes"].as_array().map(Vec::len), Some(1), "{map}");
}

/// An opening is a failure until its border is named, on the command line or in a setup file.
#[test]
fn a_border_is_named_in_the_setup_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let mesh = demo();
    // Two partners' faces are left out, so that both halves still match.
    let face = mesh.face(700);
    let middle = |f: &[u32]| {
        let sum = f.iter().map(|&v| mesh.positions()[v as usize]);
        sum.fold([0.0; 3], |a: [f64; 3], b| {
            [0, 1, 2].map(|k| a[k] + b[k] / f.len() as f64)
        })
    };
    let [x, y, z] = middle(face);
    let twin = (0..mesh.face_count())
        .find(|&f| {
            let m = middle(mesh.face(f));
            (m[0] + x).abs() + (m[1] - y).abs() + (m[2] - z).abs() < 1e-9
        })
        .expect("its partner");
    let open = text(&mesh, |_, p| p, |f| f != 700 && f != twin);
    std::fs::write(folder.path().join("mesh.obj"), open).expect("written");
    let named = [face[0], mesh.face(twin)[0]];
    let setup = format!(
        "unit = \"cm\"\n[mesh]\nplane = 0.0\nborders = [{}, {}]\n",
        named[0], named[1]
    );
    std::fs::write(folder.path().join("setup.toml"), setup).expect("written");
    let audit = |more: &[&str]| {
        let mut arguments = vec!["audit", "mesh.obj", "--quiet", "--json", "audit.json"];
        arguments.extend(more);
        let done = run(folder.path(), "2", &arguments);
        (done.status.code(), json(&folder.path().join("audit.json")))
    };
    let (status, without) = audit(&[]);
    assert_eq!(status, Some(1));
    assert_eq!(check(&without, "open-edges")["outcome"], "fail");
    for more in [
        &["--setup", "setup.toml"][..],
        &["--meant-border", &format!("{},{}", named[0], named[1])],
    ] {
        let (status, with) = audit(more);
        assert_eq!(
            (status, &check(&with, "open-edges")["outcome"]),
            (Some(0), &"pass".into())
        );
    }
    let (_, with) = audit(&["--setup", "setup.toml"]);
    assert_eq!((&with["unit"], &with["plane_x"]), (&"cm".into(), &0.0.into()));
    let (_, given) = audit(&["--plane", "0.5"]);
    assert_eq!(given["plane_x"], 0.5);
    let beyond = run(
        folder.path(),
        "1",
        &["audit", "mesh.obj", "--meant-border", "99999999"],
    );
    assert_eq!(beyond.status.code(), Some(2));
}

/// A head that waits above its neck: two open shells, told with their numbers of vertices and distances.
#[test]
fn two_borders_that_are_to_be_joined_are_compared() {
    let ring = |n: usize, y: f64, r: f64| {
        (0..n).map(move |i| {
            let a = i as f64 / n as f64 * std::f64::consts::TAU;
            [r * a.sin(), y, r * a.cos()]
        })
    };
    // Neck and head: tubes of 8 and of 10 columns, closed at their far ends by one face, a tenth of a unit apart.
    let tube = |n: usize, ys: [f64; 3], first: u32| {
        let at: Vec<[f64; 3]> = ys.iter().flat_map(|&y| ring(n, y, 1.0)).collect();
        let m = n as u32;
        let mut faces: Vec<Vec<u32>> = (0..2 * m)
            .map(|i| {
                let (row, k) = (i / m * m, i % m);
                [row + k, row + (k + 1) % m, row + m + (k + 1) % m, row + m + k]
                    .map(|v| first + v)
                    .to_vec()
            })
            .collect();
        faces.push((0..m).map(|v| first + v).rev().collect());
        (at, faces)
    };
    let (mut at, mut faces) = tube(8, [0.0, 1.0, 2.0], 0);
    let (head, more) = tube(10, [4.1, 3.1, 2.1], 24);
    at.extend(head);
    faces.extend(more);
    let mesh = Mesh::from_polygons(at, faces).expect("a mesh");
    let found = drawntrue::audit::audit(&mesh, &drawntrue::audit::Options::default());
    let text = &found.check("open-edges").expect("the check").text;
    // Columns at the same angle are 0.1 apart; the column at 90 degrees lies 18 degrees from the nearest of the ten, a
    // chord of 2 sin(9 degrees): the root of 0.1 squared and 0.3129 squared is 0.3285.
    for word in ["8 and 10 vertices", "do not match one to one", "0.1000 to 0.3285"] {
        assert!(text.contains(word), "{text}");
    }
}

/// Loops around joints are counted on a mesh whose quads were cut into triangles, by pairs of triangles that make quads.
#[test]
fn a_mesh_of_triangles_has_the_joints_of_its_quads() {
    let quads = demo();
    let fans: Vec<[u32; 3]> = quads.triangles().collect();
    let cut = Mesh::from_polygons(quads.positions().to_vec(), fans).expect("a mesh");
    let audited = |mesh: &Mesh| drawntrue::audit::audit(mesh, &drawntrue::audit::Options::default());
    let (whole, cut) = (audited(&quads), audited(&cut));
    let loops = |a: &drawntrue::audit::model::Audit| -> Vec<_> {
        a.joints.iter().map(|j| (j.name, j.side, j.loops)).collect()
    };
    assert!(!whole.joints.is_empty());
    assert_eq!(loops(&cut), loops(&whole));
    assert!(
        cut.notes.iter().any(|n| n.contains("triangles")),
        "{:?}",
        cut.notes
    );
}

/// What is written can be read, and repairing what is sound changes no byte.
#[test]
fn repairing_a_sound_mesh_changes_no_byte() {
    let folder = tempfile::tempdir().expect("a folder");
    let sound = text(&demo(), |_, p| p, |_| true);
    std::fs::write(folder.path().join("mesh.obj"), &sound).expect("written");
    let done = run(
        folder.path(),
        "2",
        &["repair", "mesh.obj", "--mesh-out", "mended.obj"],
    );
    assert_eq!(done.status.code(), Some(0));
    let mended = std::fs::read(folder.path().join("mended.obj")).expect("the mesh");
    assert!(mended == sound.as_bytes());
    assert!(read(&mended, Limits::default()).is_ok());
}
