//! Writes a changed OBJ mesh without loss: the original text, with only the changed numbers replaced.
//!
//! A changed coordinate replaces its number in the `v` statement; a dropped vertex or face loses its statement; a face
//! that was welded or turned has its corners written anew, each with the texture and normal index that it had. All
//! else, groups, materials, smoothing, comments, line ends, stays byte for byte, also indices that count back as long as
//! no vertex is dropped. Nothing changed gives the same bytes.
//!
//! Limits: texture coordinates and normals that no face uses any more stay; normals of a turned face stay as they were.
//! Vertices that lines, points, curves or surfaces use must not be dropped; [`used_elsewhere`] names them.

use super::cursor::{is_blank, is_line_end};
use crate::mesh::adjacency::NONE;
use crate::{Error, Result};

/// What becomes of a face.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum FaceEdit {
    /// It stays; its vertices may have other numbers.
    #[default]
    Keep,
    /// It goes.
    Drop,
    /// These of its corners stay, in this order, counted from 0.
    Corners(Vec<u32>),
}

/// Changes to a mesh. Vertices and faces are those of the file, counted from 0.
#[derive(Debug, Clone, Default)]
pub struct Edits {
    /// New positions, one for each vertex, in the file's own axes.
    pub positions: Vec<[f64; 3]>,
    /// For each vertex the one that takes its place in faces, itself where nothing was welded.
    pub stands_for: Vec<u32>,
    /// Vertices whose statement goes; no face that stays may use one.
    pub dropped: Vec<bool>,
    /// One for each face.
    pub faces: Vec<FaceEdit>,
}

impl Edits {
    /// The number of each vertex after the changes, [`NONE`] where it was dropped without another in its place.
    pub fn numbers(&self) -> Vec<u32> {
        let mut next = 0;
        let own: Vec<u32> = self
            .dropped
            .iter()
            .map(|&dropped| {
                if dropped {
                    return NONE;
                }
                next += 1;
                next - 1
            })
            .collect();
        self.stands_for.iter().map(|&v| own[v as usize]).collect()
    }
}

/// The text with the changes. `before` are the positions that were read from it.
///
/// # Errors
/// The changes are not those of this text.
pub fn rewrite(text: &[u8], before: &[[f64; 3]], edits: &Edits) -> Result<Vec<u8>> {
    let numbers = edits.numbers();
    let renumbered = numbers.iter().enumerate().any(|(i, &n)| n as usize != i);
    let mut out = Vec::with_capacity(text.len());
    let (mut vertices, mut faces) = (0, 0);
    let other = || {
        Error::new("the changes do not belong to this file").advise("report this as a fault of the program")
    };
    for statement in Statements::new(text) {
        match statement.kind {
            Kind::Vertex => {
                let v = vertices;
                vertices += 1;
                let (Some(old), Some(new)) = (before.get(v), edits.positions.get(v)) else {
                    return Err(other());
                };
                if edits.dropped[v] {
                    continue;
                }
                if old == new {
                    out.extend_from_slice(statement.bytes);
                } else {
                    moved(statement.bytes, *old, *new, &mut out);
                }
            }
            Kind::Face => {
                let edit = edits.faces.get(faces).ok_or_else(other)?;
                faces += 1;
                match edit {
                    FaceEdit::Drop => {}
                    FaceEdit::Keep if !renumbered => out.extend_from_slice(statement.bytes),
                    FaceEdit::Keep => corners(statement.bytes, vertices, &numbers, None, &mut out)?,
                    FaceEdit::Corners(order) => {
                        corners(statement.bytes, vertices, &numbers, Some(order), &mut out)?;
                    }
                }
            }
            Kind::Element if renumbered => corners(statement.bytes, vertices, &numbers, None, &mut out)?,
            Kind::Element | Kind::Other => out.extend_from_slice(statement.bytes),
        }
    }
    if vertices != before.len() || faces != edits.faces.len() {
        return Err(other());
    }
    Ok(out)
}

/// Vertices that something else than a face uses, ascending; `None` where the file has curves or surfaces, whose use of
/// vertices is not followed.
pub fn used_elsewhere(text: &[u8]) -> Option<Vec<u32>> {
    let mut used = Vec::new();
    let mut vertices = 0;
    for statement in Statements::new(text) {
        match statement.kind {
            Kind::Vertex => vertices += 1,
            Kind::Element => {
                for token in tokens(statement.bytes).skip(1) {
                    used.extend(index(token.1, vertices).map(|i| i.0));
                }
            }
            Kind::Face => {}
            Kind::Other => {
                let word = tokens(statement.bytes).next().map(|t| t.1).unwrap_or_default();
                if matches!(word, b"curv" | b"surf" | b"cstype") {
                    return None;
                }
            }
        }
    }
    used.sort_unstable();
    used.dedup();
    Some(used)
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Vertex,
    Face,
    /// A line or a point.
    Element,
    Other,
}

pub(super) struct Statement<'a> {
    pub(super) kind: Kind,
    /// With its line end.
    pub(super) bytes: &'a [u8],
}

/// Cuts a text into statements as the reader does.
pub(super) struct Statements<'a> {
    text: &'a [u8],
    at: usize,
}

impl<'a> Statements<'a> {
    pub(super) fn new(text: &'a [u8]) -> Self {
        Self { text, at: 0 }
    }

    /// The place behind the line end that follows `from`, and whether a backslash takes it back.
    fn line(&self, from: usize) -> (usize, bool) {
        let rest = &self.text[from..];
        let length = rest.iter().position(|&b| is_line_end(b)).unwrap_or(rest.len());
        let crlf = rest.get(length) == Some(&b'\r') && rest.get(length + 1) == Some(&b'\n');
        let end = (from + length + 1 + usize::from(crlf)).min(self.text.len());
        (end, rest[..length].ends_with(b"\\"))
    }
}

impl<'a> Iterator for Statements<'a> {
    type Item = Statement<'a>;

    fn next(&mut self) -> Option<Self::Item> {
        if self.at >= self.text.len() {
            return None;
        }
        let start = self.at;
        let mut word = start;
        if start == 0 && self.text.starts_with(super::BYTE_ORDER_MARK) {
            word += super::BYTE_ORDER_MARK.len();
        }
        while self.text.get(word).is_some_and(|&b| is_blank(b)) {
            word += 1;
        }
        let follows = self.text.get(word + 1).copied().unwrap_or(b'\n');
        let alone = is_blank(follows) || is_line_end(follows) || follows == b'\\';
        let kind = match self.text.get(word) {
            Some(b'v') if alone => Kind::Vertex,
            Some(b'f') if alone => Kind::Face,
            Some(b'l' | b'p') if alone => Kind::Element,
            _ => Kind::Other,
        };
        let named = alone && matches!(self.text.get(word), Some(b'g' | b'o'));
        let (mut end, mut goes_on) = self.line(start);
        while (kind != Kind::Other || named) && goes_on && end < self.text.len() {
            (end, goes_on) = self.line(end);
        }
        self.at = end;
        Some(Statement {
            kind,
            bytes: &self.text[start..end],
        })
    }
}

/// The words of a statement and where they begin, up to a comment. A backslash before a line end is a blank.
pub(super) fn tokens(bytes: &[u8]) -> impl Iterator<Item = (usize, &[u8])> {
    let gap = |at: usize| {
        let b = bytes[at];
        is_blank(b) || is_line_end(b) || (b == b'\\' && bytes.get(at + 1).is_none_or(|&n| is_line_end(n)))
    };
    let mut at = if bytes.starts_with(super::BYTE_ORDER_MARK) {
        super::BYTE_ORDER_MARK.len()
    } else {
        0
    };
    std::iter::from_fn(move || {
        while at < bytes.len() && gap(at) {
            at += 1;
        }
        if at >= bytes.len() || bytes[at] == b'#' {
            return None;
        }
        let start = at;
        while at < bytes.len() && !gap(at) {
            at += 1;
        }
        Some((start, &bytes[start..at]))
    })
}

/// A vertex statement with changed coordinates replaced; shortest decimals that read back as the same number.
fn moved(bytes: &[u8], old: [f64; 3], new: [f64; 3], out: &mut Vec<u8>) {
    let mut copied = 0;
    for (k, (start, token)) in tokens(bytes).skip(1).take(3).enumerate() {
        if old[k] == new[k] {
            continue;
        }
        out.extend_from_slice(&bytes[copied..start]);
        // A negative zero would be a change of its own.
        let value = if new[k] == 0.0 { 0.0 } else { new[k] };
        out.extend_from_slice(format!("{value}").as_bytes());
        copied = start + token.len();
    }
    out.extend_from_slice(&bytes[copied..]);
}

/// The vertex that a corner names, counted from 0, and what stands behind it.
fn index(token: &[u8], vertices: usize) -> Option<(u32, &[u8])> {
    let end = token.iter().position(|&b| b == b'/').unwrap_or(token.len());
    let number: i64 = std::str::from_utf8(&token[..end]).ok()?.parse().ok()?;
    let index = if number < 0 {
        vertices as i64 + number
    } else {
        number - 1
    };
    Some((u32::try_from(index).ok()?, &token[end..]))
}

/// A statement of corners with new vertex numbers; `order` says which corners, all in the file's order without it.
fn corners(
    bytes: &[u8],
    vertices: usize,
    numbers: &[u32],
    order: Option<&[u32]>,
    out: &mut Vec<u8>,
) -> Result<()> {
    let words: Vec<(usize, &[u8])> = tokens(bytes).collect();
    let broken =
        || Error::new("a face cannot be written anew").advise("report this as a fault of the program");
    let written = |token: &[u8]| -> Result<Vec<u8>> {
        let (vertex, rest) = index(token, vertices).ok_or_else(broken)?;
        let number = *numbers
            .get(vertex as usize)
            .filter(|n| **n != NONE)
            .ok_or_else(broken)?;
        let mut text = (u64::from(number) + 1).to_string().into_bytes();
        text.extend_from_slice(rest);
        Ok(text)
    };
    let Some(order) = order else {
        // Number by number, so that blanks and line ends stay.
        let mut copied = 0;
        for &(start, token) in words.iter().skip(1) {
            out.extend_from_slice(&bytes[copied..start]);
            out.extend(written(token)?);
            copied = start + token.len();
        }
        out.extend_from_slice(&bytes[copied..]);
        return Ok(());
    };
    let (first, last) = (words.get(1).ok_or_else(broken)?, words[words.len() - 1]);
    out.extend_from_slice(&bytes[..first.0]);
    for (i, &corner) in order.iter().enumerate() {
        if i > 0 {
            out.push(b' ');
        }
        out.extend(written(words.get(corner as usize + 1).ok_or_else(broken)?.1)?);
    }
    out.extend_from_slice(&bytes[last.0 + last.1.len()..]);
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::super::{Limits, read};
    use super::*;

    const TEXT: &[u8] = b"\xef\xbb\xbf# cage\r\nmtllib a.mtl\r\nv 0 0 0 1.0 # w\r\n v 1.50  0 0\r\nv 1 1 0\nv 0 1 0\nv 9 9 9\nvt 0 0\ng body\nusemtl skin\ns 1\nf 1/1 2/1 \\\n 3/1 4/1 # quad\nf -5//7 -3//7 -2//7\nl 1 2\n";

    fn edits() -> Edits {
        let mesh = read(TEXT, Limits::default()).unwrap();
        Edits {
            positions: mesh.positions().to_vec(),
            stands_for: (0..5).collect(),
            dropped: vec![false; 5],
            faces: vec![FaceEdit::Keep; 2],
        }
    }

    fn rewritten(edits: &Edits) -> String {
        let mesh = read(TEXT, Limits::default()).unwrap();
        String::from_utf8_lossy(&rewrite(TEXT, mesh.positions(), edits).unwrap()).into_owned()
    }

    #[test]
    fn nothing_changed_gives_the_same_bytes() {
        assert_eq!(rewritten(&edits()).as_bytes(), TEXT);
    }

    #[test]
    fn only_the_changed_number_is_written_anew() {
        let mut edits = edits();
        edits.positions[1][0] = 1.0;
        edits.positions[0][1] = 0.1;
        let text = rewritten(&edits);
        assert!(
            text.contains(" v 1  0 0\r\n") && text.contains("v 0 0.1 0 1.0 # w\r\n"),
            "{text}"
        );
        assert_eq!(text.len(), TEXT.len() - 3 + 2);
    }

    #[test]
    fn a_dropped_vertex_renumbers_and_keeps_what_stands_around() {
        let mut edits = edits();
        edits.stands_for[4] = 3;
        edits.stands_for[1] = 0;
        edits.dropped[1] = true;
        edits.dropped[4] = true;
        edits.faces[0] = FaceEdit::Corners(vec![0, 3, 2]);
        let text = rewritten(&edits);
        assert!(text.contains("f 1/1 3/1 2/1 # quad\n"), "{text}");
        assert!(text.contains("f 1//7 2//7 3//7\nl 1 1\n"), "{text}");
        assert_eq!(
            read(text.as_bytes(), Limits::default())
                .unwrap()
                .positions()
                .len(),
            3
        );
        assert_eq!(edits.numbers(), [0, 0, 1, 2, 2]);
    }

    #[test]
    fn what_lines_use_is_named() {
        assert_eq!(used_elsewhere(TEXT), Some(vec![0, 1]));
        assert_eq!(used_elsewhere(b"v 0 0 0\ncurv 0 1 1\n"), None);
    }
}
