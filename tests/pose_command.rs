//! `drawntrue pose`: only positions of the arms differ, whichever way the file stands.

mod arm_bodies;

use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;

use arm_bodies::{Body, HEIGHT};
use drawntrue::mesh::Mesh;

/// A file with texture coordinates, groups, comments and blank lines.
fn file(mesh: &Mesh, place: impl Fn([f64; 3]) -> [f64; 3]) -> String {
    let mut out = String::from("# a figure\nmtllib none.mtl\n\n");
    for p in mesh.positions() {
        let [x, y, z] = place(*p);
        let _ = writeln!(out, "v {x} {y} {z} # kept");
    }
    out += "vt 0.25 0.75\nvt 0.5 0.5\n";
    for (f, face) in mesh.faces().enumerate() {
        if f % 700 == 0 {
            let _ = writeln!(out, "g part{}", f / 700);
        }
        let corners: Vec<String> = face.iter().map(|v| format!("{}/{}", v + 1, f % 2 + 1)).collect();
        let _ = writeln!(out, "f {}", corners.join(" "));
    }
    out
}

fn pose(folder: &Path, text: &str, more: &[&str]) -> String {
    let (mesh, to) = (folder.join("in.obj"), folder.join("out.obj"));
    std::fs::write(&mesh, text).expect("written");
    let done = Command::new(env!("CARGO_BIN_EXE_drawntrue"))
        .args(["pose", "--arms", "70", "--quiet"])
        .args(more)
        .arg("--mesh-out")
        .args([&to, &mesh])
        .output()
        .expect("run");
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    std::fs::read_to_string(to).expect("a mesh")
}

fn places(text: &str) -> Vec<[f64; 3]> {
    text.lines()
        .filter_map(|l| l.strip_prefix("v "))
        .map(|l| {
            let mut numbers = l.split(' ').map_while(|n| n.parse().ok());
            std::array::from_fn(|_| numbers.next().expect("a number"))
        })
        .collect()
}

#[test]
fn only_the_arms_move_and_the_file_stays_as_it_is() {
    let folder = tempfile::tempdir().expect("a folder");
    let body = Body::usual();
    let mesh = body.shells(6, 12);
    let text = file(&mesh, |p| p);
    let posed = pose(folder.path(), &text, &[]);
    let same = text.lines().zip(posed.lines());
    assert_eq!(text.lines().count(), posed.lines().count());
    for (before, after) in same.clone() {
        assert!(
            before == after
                || before.starts_with("v ") && after.starts_with("v ") && after.ends_with("# kept")
        );
    }
    let moved = same.filter(|(a, b)| a != b).count();
    assert!(moved > 100 && moved < mesh.positions().len() / 2, "{moved} moved");
    // The fingertips land where a turn about the joint takes them.
    let (s, c) = 70f64.to_radians().sin_cos();
    let low = places(&posed)
        .into_iter()
        .filter(|p| p[0] > body.half_width + 10.0)
        .map(|p| p[1])
        .fold(f64::INFINITY, f64::min);
    let palm = 1.15 * body.radius[1];
    let by_hand = body.shoulder_y - s * (body.length - palm) - palm;
    assert!((low - by_hand).abs() < 0.01 * HEIGHT, "{low} for {by_hand}, {c}");
}

/// A file with z up comes out as the one with y up, turned.
#[test]
fn a_file_that_lies_otherwise_is_posed_alike() {
    let folder = tempfile::tempdir().expect("a folder");
    let mesh = Body::usual().shells(6, 12);
    let upright = places(&pose(folder.path(), &file(&mesh, |p| p), &[]));
    let lying = file(&mesh, |[x, y, z]| [x, -z, y]);
    let lying = places(&pose(folder.path(), &lying, &["--up", "z"]));
    for ([x, y, z], [a, b, c]) in upright.into_iter().zip(lying) {
        assert!((x - a).abs() + (-z - b).abs() + (y - c).abs() < 1e-9);
    }
}
