//! Writes a mesh as a new OBJ file: positions, groups, faces. Numbers have as many digits as give them back exactly.

use std::fmt::Write as _;

use crate::mesh::Mesh;

/// The text of a mesh; `title` is its first line, a comment.
pub fn write(mesh: &Mesh, title: &str) -> Vec<u8> {
    /// Bytes of a statement, about: to ask for memory once.
    const STATEMENT: usize = 40;
    let mut out = String::with_capacity(STATEMENT * (mesh.positions().len() + mesh.face_count()));
    // Writing to a string cannot fail.
    let _ = writeln!(out, "# {title}");
    for [x, y, z] in mesh.positions() {
        let _ = writeln!(out, "v {x} {y} {z}");
    }
    for run in mesh.group_runs() {
        let _ = writeln!(out, "g {}", mesh.groups()[run.group].name);
        for f in run.faces {
            out.push('f');
            for v in mesh.face(f) {
                let _ = write!(out, " {}", v + 1);
            }
            out.push('\n');
        }
    }
    out.into_bytes()
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
