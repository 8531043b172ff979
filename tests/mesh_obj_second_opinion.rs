//! The reader against an independent one, the crate tobj, on open data and on generated meshes.
//!
//! tobj makes every group a model with vertices of its own, numbered by first use. So faces are compared as
//! lists of corner positions, in the order of the file; it reads single precision, so positions are compared
//! as f32 (both readings are correctly rounded from the same digits, but ours is rounded twice: one unit in
//! the last place of difference is allowed).

use std::fmt::Write;

use drawntrue::mesh::Mesh;
use drawntrue::mesh::obj::{Limits, read, read_file};

/// The faces as tobj reads them, each a list of corner positions, with the name of its model.
fn second_opinion(text: &[u8]) -> Vec<(String, Vec<[f32; 3]>)> {
    let options = tobj::LoadOptions {
        triangulate: false,
        single_index: false,
        ..Default::default()
    };
    let no_materials = |_: &std::path::Path| -> tobj::MTLLoadResult { Ok((Vec::new(), Default::default())) };
    let (models, _) = tobj::load_obj_buf(&mut &text[..], &options, no_materials).unwrap();
    let mut faces = Vec::new();
    for model in models {
        let mesh = model.mesh;
        let position = |v: u32| {
            let at = 3 * v as usize;
            [mesh.positions[at], mesh.positions[at + 1], mesh.positions[at + 2]]
        };
        // Without arities all faces are triangles.
        let arities = if mesh.face_arities.is_empty() {
            vec![3; mesh.indices.len() / 3]
        } else {
            mesh.face_arities
        };
        let mut at = 0;
        for arity in arities {
            let corners = mesh.indices[at..at + arity as usize]
                .iter()
                .map(|&v| position(v))
                .collect();
            faces.push((model.name.clone(), corners));
            at += arity as usize;
        }
    }
    faces
}

fn agree(ours: &Mesh, text: &[u8]) {
    let theirs = second_opinion(text);
    assert_eq!(ours.face_count(), theirs.len());
    for run in ours.group_runs() {
        for f in run.faces {
            let (name, corners) = &theirs[f];
            if ours.groups()[run.group].name != "default" {
                assert_eq!(&ours.groups()[run.group].name, name, "face {f}");
            }
            assert_eq!(ours.face(f).len(), corners.len(), "face {f}");
            for (&v, theirs) in ours.face(f).iter().zip(corners) {
                for (&a, &b) in ours.positions()[v as usize].iter().zip(theirs) {
                    let a = a as f32;
                    assert!(
                        a == b || a.next_up() == b || a.next_down() == b,
                        "face {f}: {a} and {b}"
                    );
                }
            }
        }
    }
}

#[test]
fn the_animal() {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/animal.obj");
    let mesh = read_file(&path, Limits::default()).unwrap();
    let text = std::fs::read_to_string(&path).unwrap();
    let count = |statement: &str| text.lines().filter(|line| line.starts_with(statement)).count();
    assert_eq!(mesh.positions().len(), count("v "));
    assert_eq!(mesh.face_count(), count("f "));
    agree(&mesh, text.as_bytes());
}

#[test]
fn generated_meshes_with_groups_and_mixed_faces() {
    // A grid whose cells are quads, pairs of triangles or pentagons in turn, each band a group.
    for style in 0..4 {
        let mut text = String::new();
        let side = 12_u32;
        for i in 0..=side {
            for j in 0..=side {
                let (x, y) = (f64::from(j) * 0.37 - 2.1, f64::from(i) * 1.13);
                writeln!(text, "v {x:.7} {y:.5} {:e}", (x * y).sin() * 1e-3).unwrap();
            }
        }
        text.push_str("vt 0 0\nvn 0 0 1\n");
        let corner = |v: u32| match style {
            0 => format!(" {v}"),
            1 => format!(" {v}/1"),
            2 => format!(" {v}//1"),
            _ => format!(" {}", i64::from(v) - i64::from((side + 1) * (side + 1)) - 1),
        };
        for i in 0..side {
            writeln!(text, "g band{i}").unwrap();
            for j in 0..side {
                let a = i * (side + 1) + j + 1;
                let (b, c, d) = (a + 1, a + side + 2, a + side + 1);
                let faces = match (i + j) % 3 {
                    0 => vec![vec![a, b, c, d]],
                    1 => vec![vec![a, b, c], vec![a, c, d]],
                    _ => vec![vec![a, b, c, d, (a + d) / 2]],
                };
                for face in faces {
                    writeln!(text, "f{}", face.into_iter().map(corner).collect::<String>()).unwrap();
                }
            }
        }
        agree(
            &read(text.as_bytes(), Limits::default()).unwrap(),
            text.as_bytes(),
        );
    }
}
