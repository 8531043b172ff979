//! The demo files in `refs/`: they are what their generator makes, byte by byte, and the cage is what a
//! modeller would hand on (closed, manifold, quads, symmetric, standing on the ground).

#[path = "../examples/make_refs/cage.rs"]
mod cage;
#[path = "../examples/make_refs/details.rs"]
mod details;
#[path = "../examples/make_refs/faults.rs"]
mod faults;
#[path = "../examples/make_refs/figure.rs"]
mod figure;
#[path = "../examples/make_refs/files.rs"]
mod files;
#[path = "../examples/make_refs/ink.rs"]
mod ink;
#[path = "../examples/make_refs/lettering.rs"]
mod lettering;
#[path = "../examples/make_refs/noise.rs"]
mod noise;
#[path = "../examples/make_refs/picture.rs"]
mod picture;
#[path = "../examples/make_refs/sheet.rs"]
mod sheet;
#[path = "../examples/make_refs/view.rs"]
mod view;

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

fn kept(name: &str) -> Vec<u8> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("refs").join(name);
    std::fs::read(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

#[test]
fn kept_files_are_what_the_generator_makes() {
    for (name, bytes) in files::made().expect("the sheet can be encoded") {
        assert!(
            kept(name) == bytes,
            "refs/{name} differs; remake it with `cargo run --release --example make_refs`"
        );
    }
}

/// Positions as text, so that symmetry is judged to the last printed digit, and faces.
fn read_obj() -> (Vec<[String; 3]>, Vec<Vec<usize>>) {
    let text = String::from_utf8(kept("tamsel.obj")).expect("an OBJ file is text");
    let mut positions = Vec::new();
    let mut faces = Vec::new();
    for line in text.lines() {
        let words: Vec<&str> = line.split_whitespace().collect();
        match words.as_slice() {
            ["v", x, y, z] => positions.push([x, y, z].map(ToString::to_string)),
            ["f", corners @ ..] => faces.push(
                corners
                    .iter()
                    .map(|c| c.parse::<usize>().expect("a plain index") - 1)
                    .collect(),
            ),
            _ => {}
        }
    }
    (positions, faces)
}

/// Common practice, no source: every edge between two faces that run along it in opposite directions.
#[test]
fn cage_is_one_closed_shell_of_quads() {
    let (positions, faces) = read_obj();
    assert!(faces.iter().all(|f| f.len() == 4));
    let mut edges: BTreeMap<(usize, usize), u32> = BTreeMap::new();
    for f in &faces {
        for k in 0..4 {
            *edges.entry((f[k], f[(k + 1) % 4])).or_default() += 1;
        }
    }
    for (&(a, b), &n) in &edges {
        assert_eq!((n, edges.get(&(b, a))), (1, Some(&1)), "edge {a}-{b} of the file");
    }
    // Euler: 2 for one closed shell without handles.
    let euler = positions.len() + faces.len() - edges.len() / 2;
    assert_eq!(euler, 2);
}

#[test]
fn cage_is_symmetric_and_stands_on_the_ground() {
    let (positions, _) = read_obj();
    let all: BTreeSet<&[String; 3]> = positions.iter().collect();
    assert_eq!(all.len(), positions.len(), "no vertex lies on another");
    for [x, y, z] in &positions {
        let mirrored = match (x.as_str(), x.strip_prefix('-')) {
            ("0.0000", _) => x.clone(),
            (_, Some(positive)) => positive.to_owned(),
            _ => format!("-{x}"),
        };
        assert!(
            all.contains(&[mirrored, y.clone(), z.clone()]),
            "no partner for {x} {y} {z}"
        );
    }
    let heights: Vec<f64> = positions
        .iter()
        .map(|p| p[1].parse().expect("a number"))
        .collect();
    assert_eq!(heights.iter().copied().fold(f64::INFINITY, f64::min), 0.0);
    assert_eq!(heights.iter().copied().fold(0.0, f64::max), figure::HEIGHT);
}
