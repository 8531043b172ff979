//! Reads stereolithography files, text and binary, through the crate `stl_io`.
//!
//! The crate tells the two apart by the word `solid`, which binary files may begin with too, and reads the first solid of
//! a text only. So the kind is told here, by the length that a binary file must have, and every solid is given to it by
//! itself; a solid's name is its group.

use std::io::Cursor;

use super::assembly::{Assembly, too_many};
use super::{Format, refused};
use crate::mesh::Mesh;
use crate::mesh::obj::Limits;
use crate::{Error, Result};

/// Bytes before the facets of a binary file: a header and their number.
const HEADER: usize = 84;
/// Bytes of a facet.
const FACET: usize = 50;

/// Facets that a binary file says it has, if it is as long as that makes it.
fn facets(bytes: &[u8]) -> Option<usize> {
    let count = bytes.get(HEADER - 4..HEADER)?;
    let count = u32::from_le_bytes([count[0], count[1], count[2], count[3]]) as usize;
    (bytes.len() == HEADER + FACET * count).then_some(count)
}

/// Whether bytes are an STL file's, whatever its name.
pub(super) fn looks_like(bytes: &[u8]) -> bool {
    let text = bytes.trim_ascii_start();
    let word = |w: &str| text.len() > w.len() && text[..w.len()].eq_ignore_ascii_case(w.as_bytes());
    facets(bytes).is_some_and(|n| n > 0) || word("solid ") || word("solid\n") || word("solid\r")
}

/// Reads an STL mesh; each facet has vertices of its own.
///
/// # Errors
/// The file breaks off, is no STL file, has no facets or more than the limit.
pub fn read(bytes: &[u8], limits: Limits) -> Result<Mesh> {
    let mut assembly = Assembly::new(limits);
    if let Some(count) = facets(bytes) {
        if count > limits.max_faces {
            return Err(too_many(limits.max_faces));
        }
        // The header says nothing, but a word in it would make the crate take the file for text.
        let mut plain = bytes.to_vec();
        plain[..HEADER - 4].fill(0);
        solid(plain, &mut assembly)?;
        return assembly.finish();
    }
    let as_written = String::from_utf8_lossy(bytes.trim_ascii_start());
    // The same length, letter by letter; names are taken as they are written.
    let text = as_written.to_ascii_lowercase();
    if !text.starts_with("solid") {
        let matter =
            "this is no STL file: it is no text, and too short or too long for the number of its facets";
        return Err(Error::new(matter).advise("export the mesh again, or as OBJ"));
    }
    let mut at = 0;
    loop {
        let rest = &text[at..];
        let line = rest.lines().next().unwrap_or_default();
        let name = as_written[at..at + line.len()]
            .get("solid".len()..)
            .unwrap_or_default()
            .trim();
        let end = rest
            .match_indices("endsolid")
            .find(|(at, _)| rest[..*at].trim_end_matches([' ', '\t']).ends_with(['\n', '\r']))
            .map(|(at, word)| at + word.len());
        let Some(end) = end else {
            return Err(Error::new("the file breaks off: a solid has no end").advise("export the mesh again"));
        };
        if !name.is_empty() {
            assembly.group(name.to_string());
        }
        // The crate wants a blank behind the word, whether a name follows or not.
        let facets = rest[..end].get(line.len()..).unwrap_or_default();
        solid(format!("solid {facets}").into_bytes(), &mut assembly)?;
        let Some(next) = rest[end..].find("\nsolid") else {
            break;
        };
        at += end + next + 1;
    }
    assembly.finish()
}

/// Adds the facets of one solid.
fn solid(bytes: Vec<u8>, to: &mut Assembly) -> Result<()> {
    let mut cursor = Cursor::new(bytes);
    let triangles = stl_io::create_stl_reader(&mut cursor).map_err(|e| refused(Format::Stl, &e))?;
    for triangle in triangles {
        let triangle = triangle.map_err(|e| refused(Format::Stl, &e))?;
        let first = to.positions.len() as u32;
        for vertex in triangle.vertices {
            to.positions.push(vertex.0.map(f64::from));
        }
        to.face([first, first + 1, first + 2])?;
    }
    Ok(())
}
