//! Reads Polygon File Format meshes, text and both byte orders, through the crate `ply-rs-bw`.
//!
//! Read: `x`, `y`, `z` of `vertex` in any number type, `vertex_indices` or `vertex_index` of `face`. What else a file has
//! is passed over. Blank lines and comments in other encodings than UTF-8 would be refused by the crate; the header is
//! cleaned of them before.

use std::io::Cursor;

use ply_rs_bw::parser::{Parser, Reader};
use ply_rs_bw::ply::{Property, PropertyAccess, PropertyAccessResult};

use super::assembly::{Assembly, too_many};
use super::{Format, refused};
use crate::mesh::Mesh;
use crate::mesh::obj::Limits;
use crate::{Error, Result};

/// Vertices of the largest mesh, for each of its faces: loose triangles have three.
const VERTICES_A_FACE: usize = 4;

#[derive(Debug)]
struct Vertex {
    at: [f64; 3],
}

#[derive(Debug)]
struct Face {
    corners: Vec<u32>,
    /// A corner was no number of a vertex.
    wrong: bool,
}

/// What other elements have.
#[derive(Debug)]
struct Other;

impl PropertyAccess for Vertex {
    fn new() -> Self {
        Self { at: [f64::NAN; 3] }
    }
    fn set_property(&mut self, name: &str, value: Property) -> PropertyAccessResult {
        let axis = match name {
            "x" => 0,
            "y" => 1,
            "z" => 2,
            _ => return PropertyAccessResult::Ignored,
        };
        self.at[axis] = match value {
            Property::Float(v) => f64::from(v),
            Property::Double(v) => v,
            Property::Char(v) => f64::from(v),
            Property::UChar(v) => f64::from(v),
            Property::Short(v) => f64::from(v),
            Property::UShort(v) => f64::from(v),
            Property::Int(v) => f64::from(v),
            Property::UInt(v) => f64::from(v),
            _ => return PropertyAccessResult::UnsupportedType,
        };
        PropertyAccessResult::Set
    }
}

impl PropertyAccess for Face {
    fn new() -> Self {
        Self {
            corners: Vec::new(),
            wrong: false,
        }
    }
    fn set_property(&mut self, name: &str, value: Property) -> PropertyAccessResult {
        if !matches!(name, "vertex_indices" | "vertex_index") {
            return PropertyAccessResult::Ignored;
        }
        let mut of = |all: Vec<Option<u32>>| {
            self.wrong |= all.iter().any(Option::is_none);
            self.corners = all.into_iter().flatten().collect();
        };
        match value {
            Property::ListChar(v) => of(v.into_iter().map(|v| u32::try_from(v).ok()).collect()),
            Property::ListUChar(v) => of(v.into_iter().map(|v| Some(u32::from(v))).collect()),
            Property::ListShort(v) => of(v.into_iter().map(|v| u32::try_from(v).ok()).collect()),
            Property::ListUShort(v) => of(v.into_iter().map(|v| Some(u32::from(v))).collect()),
            Property::ListInt(v) => of(v.into_iter().map(|v| u32::try_from(v).ok()).collect()),
            Property::ListUInt(v) => of(v.into_iter().map(Some).collect()),
            _ => return PropertyAccessResult::UnsupportedType,
        }
        PropertyAccessResult::Set
    }
}

impl PropertyAccess for Other {
    fn new() -> Self {
        Self
    }
}

/// Reads a PLY mesh; vertices and faces keep their order.
///
/// # Errors
/// The file breaks off, is no PLY file, has no faces or more than the limit, or a face names a vertex that is not there.
pub fn read(bytes: &[u8], limits: Limits) -> Result<Mesh> {
    let (header, text, payload) = split(bytes)?;
    let failed = |e: &dyn std::fmt::Display| refused(Format::Ply, e);
    // In a text file blank lines would be taken for elements without values.
    let payload = if text {
        let lines = payload.split(|b| *b == b'\n' || *b == b'\r');
        let full: Vec<&[u8]> = lines.filter(|l| !l.trim_ascii().is_empty()).collect();
        full.join(&b'\n')
    } else {
        payload.to_vec()
    };
    let source = [header.as_bytes(), &payload].concat();
    let mut reader = Reader::new(Cursor::new(source));
    let (vertices, faces, others) = (
        Parser::<Vertex>::new(),
        Parser::<Face>::new(),
        Parser::<Other>::new(),
    );
    let header = vertices.read_header(&mut reader).map_err(|e| failed(&e))?;
    let mut assembly = Assembly::new(limits);
    for (_, element) in &header.elements {
        match element.name.as_str() {
            "vertex" => {
                if element.count > VERTICES_A_FACE.saturating_mul(limits.max_faces) {
                    return Err(too_many(limits.max_faces));
                }
                let all = vertices
                    .read_payload_for_element(&mut reader, element, &header)
                    .map_err(|e| failed(&e))?;
                assembly.positions = all.into_iter().map(|v| v.at).collect();
            }
            "face" => {
                if element.count > limits.max_faces {
                    return Err(too_many(limits.max_faces));
                }
                let all = faces
                    .read_payload_for_element(&mut reader, element, &header)
                    .map_err(|e| failed(&e))?;
                for (f, face) in all.into_iter().enumerate() {
                    if face.wrong {
                        return Err(Error::new("a corner is no number of a vertex").at(format!("face {f}")));
                    }
                    assembly.face(face.corners)?;
                }
            }
            _ => {
                others
                    .read_payload_for_element(&mut reader, element, &header)
                    .map_err(|e| failed(&e))?;
            }
        }
    }
    assembly.finish()
}

/// The header without comments and blank lines, whether the file is text, and what follows.
fn split(bytes: &[u8]) -> Result<(String, bool, &[u8])> {
    /// A header is at most so long; a file without an end of it is none.
    const MOST: usize = 1 << 20;
    let breaks_off = || {
        Error::new("this is no PLY file that can be read (its header has no end)")
            .advise("export the mesh again")
    };
    let mut header = String::new();
    let mut at = 0;
    loop {
        let rest = bytes.get(at..).filter(|_| at < MOST).ok_or_else(breaks_off)?;
        let end = rest
            .iter()
            .position(|b| matches!(b, b'\n' | b'\r'))
            .ok_or_else(breaks_off)?;
        let line = String::from_utf8_lossy(rest[..end].trim_ascii()).into_owned();
        at += end + 1;
        if rest[end] == b'\r' && rest.get(end + 1) == Some(&b'\n') {
            at += 1;
        }
        if line.is_empty() || line.starts_with("comment") || line.starts_with("obj_info") {
            continue;
        }
        header += &line;
        header.push('\n');
        if line == "end_header" {
            break;
        }
    }
    let text = header.lines().any(|l| l.starts_with("format ascii"));
    Ok((header, text, &bytes[at..]))
}
