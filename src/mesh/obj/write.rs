//! Writes a mesh as a new OBJ file: positions, texture coordinates, names, faces. Numbers have as many digits as give
//! them back exactly. Lines are made in chunks side by side and put together in order.

use std::fmt::Write as _;

use rayon::prelude::*;

use crate::mesh::Mesh;
use crate::mesh::adjacency::NONE;

/// Lines that are made at a time.
const CHUNK: usize = 1 << 14;

/// What is written besides positions and faces.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Wear {
    /// Texture coordinates.
    pub values: Vec<[f64; 3]>,
    /// How many numbers of each are written, 1 to 3.
    pub dimensions: usize,
    /// For each corner its place in `values`, [`NONE`] where it has none. Empty where no corner has one.
    pub corners: Vec<u32>,
    /// Faces in the order in which they are written, with the statements before them.
    pub parts: Vec<Part>,
}

/// Statements and the faces that follow them.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Part {
    /// Whole lines.
    pub statements: Vec<u8>,
    /// First face and the one behind the last, for each run.
    pub faces: Vec<[usize; 2]>,
}

impl Wear {
    /// The groups of a mesh, by their names.
    pub fn of_groups(mesh: &Mesh) -> Self {
        let parts = mesh.group_runs().map(|run| Part {
            statements: format!("g {}\n", mesh.groups()[run.group].name).into_bytes(),
            faces: vec![[run.faces.start, run.faces.end]],
        });
        Self {
            parts: parts.collect(),
            ..Self::default()
        }
    }
}

/// The text of a mesh with its groups; `title` is its first line, a comment.
pub fn write(mesh: &Mesh, title: &str) -> Vec<u8> {
    write_with(mesh, &Wear::of_groups(mesh), title)
}

/// The text of a mesh and of what it wears; `title` is its first line, a comment.
pub fn write_with(mesh: &Mesh, wear: &Wear, title: &str) -> Vec<u8> {
    let mut out = format!("# {title}\n").into_bytes();
    let lines = |count: usize, line: &(dyn Fn(&mut String, usize) + Sync), out: &mut Vec<u8>| {
        let texts: Vec<String> = (0..count.div_ceil(CHUNK))
            .into_par_iter()
            .map(|i| {
                let mut text = String::new();
                (i * CHUNK..((i + 1) * CHUNK).min(count)).for_each(|k| line(&mut text, k));
                text
            })
            .collect();
        texts.iter().for_each(|t| out.extend_from_slice(t.as_bytes()));
    };
    // Writing to a string cannot fail.
    let vertex = |text: &mut String, v: usize| {
        let [x, y, z] = mesh.positions()[v];
        let _ = writeln!(text, "v {x} {y} {z}");
    };
    lines(mesh.positions().len(), &vertex, &mut out);
    let value = |text: &mut String, v: usize| {
        text.push_str("vt");
        for number in &wear.values[v][..wear.dimensions] {
            let _ = write!(text, " {number}");
        }
        text.push('\n');
    };
    lines(wear.values.len(), &value, &mut out);
    for part in &wear.parts {
        out.extend_from_slice(&part.statements);
        for &[from, to] in &part.faces {
            let face = |text: &mut String, k: usize| {
                let start = mesh.starts()[from + k] as usize;
                text.push('f');
                for (c, v) in (start..).zip(mesh.face(from + k)) {
                    let _ = match wear.corners.get(c) {
                        Some(&t) if t != NONE => write!(text, " {}/{}", v + 1, t + 1),
                        _ => write!(text, " {}", v + 1),
                    };
                }
                text.push('\n');
            };
            lines(to - from, &face, &mut out);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::obj::{Limits, read};

    #[test]
    fn what_is_written_reads_the_same() {
        let text = "v 0.1 0 1e-7\nv 1 0 0\nv 1 1.5 0\nv 0 1 0\nv 2 2 2\ng a\nf 1 2 3 4\ng b\nf 3 4 5\n";
        let mesh = read(text.as_bytes(), Limits::default()).unwrap();
        let again = read(&write(&mesh, "test"), Limits::default()).unwrap();
        assert_eq!(mesh, again);
    }
}
