//! What an OBJ file has besides positions and faces and what a mesh made from it should keep: texture coordinates, and
//! the statements that name objects, groups, materials, their library and smoothing groups.
//!
//! Read apart from the mesh and only where it is wanted, so that measuring pays nothing for it. Left out: normals (they
//! are not those of another surface), colours behind positions, lines, points, curves.

use super::rewrite::{Kind, Statements, tokens};
use crate::mesh::adjacency::NONE;
use crate::{Error, Result};

/// Statements that say what the faces behind them belong to.
const KEPT: [&[u8]; 5] = [b"o", b"g", b"usemtl", b"mtllib", b"s"];

/// The texture coordinates and names of a file.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Dress {
    /// Texture coordinates in file order, those that the file leaves out 0.
    pub values: Vec<[f64; 3]>,
    /// How many numbers each of them has at most, 0 to 3.
    pub dimensions: usize,
    /// For each corner of the mesh its place in `values`, [`NONE`] where it has none; empty where no corner has one.
    pub corners: Vec<u32>,
    /// Faces with the statements that stand before them; the ranges are all faces in file order.
    pub parts: Vec<Part>,
}

/// A run of faces.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Part {
    /// The statements before it as the file writes them, each with a line end.
    pub statements: Vec<u8>,
    /// Its first face and the one behind its last.
    pub faces: [usize; 2],
}

impl Dress {
    /// Reads the text of a mesh.
    ///
    /// # Errors
    /// A face names texture coordinates that do not exist, or one that is no number.
    pub fn read(text: &[u8]) -> Result<Self> {
        let mut out = Self {
            parts: vec![Part::default()],
            ..Self::default()
        };
        let mut faces = 0;
        let mut any = false;
        for statement in Statements::new(text) {
            match statement.kind {
                Kind::Face => {
                    for (_, token) in tokens(statement.bytes).skip(1) {
                        let corner = value_of(token, out.values.len())
                            .map_err(|e| e.at(format!("face {}", faces + 1)))?;
                        any |= corner != NONE;
                        out.corners.push(corner);
                    }
                    faces += 1;
                    let last = out.parts.len() - 1;
                    out.parts[last].faces[1] = faces;
                }
                Kind::Other => out.other(statement.bytes, faces)?,
                Kind::Vertex | Kind::Element => {}
            }
        }
        out.parts.retain(|part| part.faces[0] < part.faces[1]);
        let count = out.values.len();
        if let Some(&missing) = out.corners.iter().find(|c| **c != NONE && **c as usize >= count) {
            return Err(Error::new(format!(
                "a face names texture coordinates {}, but there are {count}",
                u64::from(missing) + 1
            ))
            .advise("export the mesh again, or without texture coordinates"));
        }
        if !any {
            out.corners = Vec::new();
        }
        Ok(out)
    }

    fn other(&mut self, bytes: &[u8], faces: usize) -> Result<()> {
        let mut words = tokens(bytes);
        let first = words.next().map(|t| t.1).unwrap_or_default();
        if first == b"vt" {
            let mut value = [0.0; 3];
            for (k, (_, token)) in words.take(3).enumerate() {
                let number = std::str::from_utf8(token)
                    .ok()
                    .and_then(|t| t.parse::<f64>().ok());
                value[k] = number.filter(|n| n.is_finite()).ok_or_else(|| {
                    Error::new(format!(
                        "texture coordinates {} have a number that is none",
                        self.values.len() + 1
                    ))
                    .advise("export the mesh again, or without texture coordinates")
                })?;
                self.dimensions = self.dimensions.max(k + 1);
            }
            self.values.push(value);
        } else if KEPT.contains(&first) {
            let last = self.parts.len() - 1;
            if self.parts[last].faces[1] > self.parts[last].faces[0] {
                self.parts.push(Part {
                    faces: [faces; 2],
                    ..Part::default()
                });
            }
            let last = self.parts.len() - 1;
            let kept = &mut self.parts[last].statements;
            let bytes = bytes.strip_prefix(super::BYTE_ORDER_MARK).unwrap_or(bytes);
            kept.extend_from_slice(bytes.trim_ascii());
            kept.push(b'\n');
        }
        Ok(())
    }
}

/// The texture coordinates that a corner names, counted from 0; [`NONE`] where it names none.
fn value_of(token: &[u8], before: usize) -> Result<u32> {
    let Some(name) = token.split(|b| *b == b'/').nth(1).filter(|n| !n.is_empty()) else {
        return Ok(NONE);
    };
    let number: Option<i64> = std::str::from_utf8(name).ok().and_then(|n| n.parse().ok());
    let index = number.map(|n| if n < 0 { before as i64 + n } else { n - 1 });
    index
        .and_then(|i| u32::try_from(i).ok())
        .filter(|i| *i != NONE)
        .ok_or_else(|| {
            Error::new("a corner names texture coordinates that cannot be")
                .advise("export the mesh again, or without texture coordinates")
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_materials_and_texture_coordinates_are_read() {
        let text = b"mtllib a.mtl\r\nv 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\nvt 0 0.5\nvt 1 1\no cube \nusemtl skin\nf 1/1 2/2/7 3/-1\nf 1 2 3\ng left\ng right\ns off\nf 1//3 3//3 4//3\nusemtl last\n";
        let dress = Dress::read(text).unwrap();
        assert_eq!(dress.values, [[0.0, 0.5, 0.0], [1.0, 1.0, 0.0]]);
        assert_eq!(dress.dimensions, 2);
        assert_eq!(dress.corners, [0, 1, 1, NONE, NONE, NONE, NONE, NONE, NONE]);
        let parts: Vec<(&str, [usize; 2])> = dress
            .parts
            .iter()
            .map(|p| (std::str::from_utf8(&p.statements).unwrap(), p.faces))
            .collect();
        assert_eq!(
            parts,
            [
                ("mtllib a.mtl\no cube\nusemtl skin\n", [0, 2]),
                ("g left\ng right\ns off\n", [2, 3])
            ]
        );
    }

    #[test]
    fn what_does_not_exist_is_refused() {
        for text in [
            &b"v 0 0 0\nvt 0 0\nf 1/1 1/2 1/1\n"[..],
            b"f 1/-1 1/1 1/1\n",
            b"vt 0 x\n",
            b"vt inf\n",
        ] {
            assert!(Dress::read(text).is_err());
        }
        assert_eq!(Dress::read(b"f 1 2 3\n").unwrap().corners, Vec::<u32>::new());
    }
}
