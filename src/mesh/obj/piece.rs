//! Reads a piece of an OBJ file: some whole statements, without knowledge of what stands before them.
//!
//! Indices that count from the front are kept as they are, those that count back from the last vertex
//! (negative in the file) are kept relative to the first vertex of the piece and listed in `relative`, so
//! that pieces can be read side by side and put together afterwards.
//!
//! A statement ends at the line end; a backslash in front of the line end joins the next line where that
//! can change a vertex, a face or a name. In all other statements (and in comments) it has no effect, so
//! that a path such as `C:\textures\` does not swallow the next line.

use std::collections::HashMap;

use super::cursor::{Cursor, SAFE_DIGITS, is_blank, is_line_end};
use super::fault::{Fault, FaultKind};
use crate::mesh::{DEFAULT_GROUP, MIN_CORNERS};

/// Bytes of text that a vertex or a face takes at least in files of some size; found on ordinary exports,
/// used only to reserve memory.
const BYTES_PER_ELEMENT: usize = 48;

/// What a piece holds. Faces, corners and vertices count from the beginning of the piece.
#[derive(Default)]
pub(super) struct Piece {
    pub(super) positions: Vec<[f64; 3]>,
    /// Indices from 0 into the file's vertices, but see `relative`.
    pub(super) corners: Vec<u32>,
    /// End of each face in `corners`.
    pub(super) ends: Vec<u32>,
    /// Ranges of `corners` whose values are `i32` relative to the first vertex of the piece.
    pub(super) relative: Vec<(u32, u32)>,
    /// Names as written, each once.
    pub(super) names: Vec<Vec<u8>>,
    /// `(first face, name)`; faces before the first run carry the name that was last given before the piece.
    pub(super) runs: Vec<(u32, usize)>,
    /// The name that was given last, whether or not a face follows it.
    pub(super) last_name: Option<usize>,
    /// What stopped the reading; the piece then ends before it.
    pub(super) fault: Option<Fault>,
    /// The text ends within a face statement, without a line end.
    pub(super) ends_in_face: bool,
}

/// What to stop at, besides faults of the text.
#[derive(Clone, Copy)]
pub(super) struct Stops {
    /// Faces to read at most.
    pub(super) max_faces: usize,
    /// Report the place of this face, if it is reached.
    pub(super) watched_face: usize,
}

struct Reader<'a> {
    cursor: Cursor<'a>,
    piece: Piece,
    ids: HashMap<Vec<u8>, usize>,
    stops: Stops,
}

/// Reads the statements in `bytes`.
pub(super) fn read_piece(bytes: &[u8], stops: Stops) -> Piece {
    let reserve = bytes.len() / BYTES_PER_ELEMENT;
    let mut reader = Reader {
        cursor: Cursor { bytes, at: 0 },
        piece: Piece {
            positions: Vec::with_capacity(reserve),
            corners: Vec::with_capacity(reserve),
            ends: Vec::with_capacity(reserve / 4),
            ..Piece::default()
        },
        ids: HashMap::new(),
        stops,
    };
    while !reader.cursor.at_end() {
        let place = reader.cursor.at;
        if let Err(kind) = reader.statement() {
            reader.piece.fault = Some(Fault { place, kind });
            break;
        }
        reader.cursor.rest_of_line();
        reader.cursor.skip_line_end();
    }
    reader.piece
}

impl Reader<'_> {
    /// Reads one statement up to somewhere on its last line.
    #[inline]
    fn statement(&mut self) -> Result<(), FaultKind> {
        self.cursor.skip_blanks();
        let blank_follows = |c: &Cursor<'_>| {
            matches!(
                c.byte(c.at + 1),
                b' ' | b'\t' | 0x0b | 0x0c | b'\\' | b'\n' | b'\r'
            )
        };
        match self.cursor.peek() {
            b'v' if blank_follows(&self.cursor) => {
                self.cursor.at += 1;
                self.vertex()
            }
            b'f' if blank_follows(&self.cursor) => {
                self.cursor.at += 1;
                self.face()
            }
            b'g' | b'o' if blank_follows(&self.cursor) => {
                self.cursor.at += 1;
                self.name();
                Ok(())
            }
            _ => Ok(()),
        }
    }

    #[inline]
    fn vertex(&mut self) -> Result<(), FaultKind> {
        let mut position = [0.0; 3];
        for (axis, coordinate) in position.iter_mut().enumerate() {
            self.cursor.skip_blanks();
            if let Some(value) = self.cursor.float() {
                *coordinate = value;
                continue;
            }
            let missing = is_line_end(self.cursor.peek()) || self.cursor.token().starts_with(b"#");
            return Err(match missing {
                true if self.cursor.at_end() => FaultKind::Cut,
                true => FaultKind::FewCoordinates(axis),
                false => self.bad_token(self.cursor, FaultKind::Number),
            });
        }
        if !position.iter().all(|c| c.is_finite()) {
            return Err(FaultKind::NotFinite);
        }
        self.piece.positions.push(position);
        Ok(())
    }

    #[inline]
    fn face(&mut self) -> Result<(), FaultKind> {
        let first = self.piece.corners.len();
        let mut slashes = None;
        let mut mixed = false;
        loop {
            self.cursor.skip_blanks();
            let b = self.cursor.peek();
            if is_line_end(b) || b == b'#' {
                break;
            }
            let style = self.corner()?;
            mixed |= *slashes.get_or_insert(style) != style;
        }
        let count = self.piece.corners.len() - first;
        let cut = self.cursor.at_end();
        if count < MIN_CORNERS {
            self.piece.corners.truncate(first);
            return Err(if cut {
                FaultKind::Cut
            } else {
                FaultKind::FewCorners(count)
            });
        }
        // Corners of one face are all written in the same way; where the text stops, a difference is a cut.
        if cut && mixed {
            return Err(FaultKind::Cut);
        }
        let face = self.piece.ends.len();
        if face == self.stops.watched_face {
            return Err(FaultKind::Watched);
        }
        if face >= self.stops.max_faces {
            return Err(FaultKind::ManyFaces);
        }
        self.piece.ends_in_face = cut;
        if let Some(name) = self.piece.last_name
            && self.piece.runs.last().is_none_or(|run| run.1 != name)
        {
            self.piece.runs.push((face as u32, name));
        }
        self.piece.ends.push(self.piece.corners.len() as u32);
        Ok(())
    }

    /// Reads one corner, `v`, `v/vt`, `v//vn` or `v/vt/vn`; gives which of the numbers are there.
    #[inline]
    fn corner(&mut self) -> Result<u8, FaultKind> {
        let start = self.cursor;
        let backwards = self.cursor.peek() == b'-';
        self.cursor.at += usize::from(backwards);
        let mut index = 0;
        let digits = self.cursor.digits(&mut index);
        let style = self.attributes(start)?;
        if digits == 0 {
            return Err(self.bad_token(start, FaultKind::Corner));
        }
        let out_of_range = || FaultKind::NoSuchVertex(start.token().to_vec());
        if index == 0 && digits <= SAFE_DIGITS {
            return Err(FaultKind::IndexZero);
        }
        if digits > SAFE_DIGITS {
            return Err(out_of_range());
        }
        if backwards {
            let here = self.piece.corners.len() as u32;
            let back = i32::try_from(index).map_err(|_| out_of_range())?;
            let vertices = i32::try_from(self.piece.positions.len()).map_err(|_| out_of_range())?;
            // Both are at most 2^31 - 1 and not negative: the difference fits. It is kept as its bits.
            self.piece.corners.push((vertices - back) as u32);
            match self.piece.relative.last_mut() {
                Some(run) if run.1 == here => run.1 += 1,
                _ => self.piece.relative.push((here, here + 1)),
            }
        } else {
            // The largest value of 32 bits would be no vertex in any file that can be read.
            self.piece
                .corners
                .push(u32::try_from(index - 1).map_err(|_| out_of_range())?);
        }
        Ok(style)
    }

    /// Reads what follows the vertex of a corner: up to two slashes with or without an index behind them.
    #[inline]
    fn attributes(&mut self, start: Cursor<'_>) -> Result<u8, FaultKind> {
        let mut style = 0;
        for bit in [1, 2] {
            if self.cursor.peek() != b'/' {
                break;
            }
            self.cursor.at += 1;
            let sign = self.cursor.peek() == b'-';
            self.cursor.at += usize::from(sign);
            if self.cursor.digits(&mut 0) > 0 {
                style |= bit;
            } else if sign {
                return Err(self.bad_token(start, FaultKind::Corner));
            }
        }
        let b = self.cursor.peek();
        if is_blank(b) || is_line_end(b) || b == b'\\' || b == b'#' {
            Ok(style)
        } else {
            Err(self.bad_token(start, FaultKind::Corner))
        }
    }

    /// The fault for a token that is not what it should be; one that begins like a number and reaches the
    /// end of the text was cut.
    #[cold]
    fn bad_token(&self, start: Cursor<'_>, kind: fn(Vec<u8>) -> FaultKind) -> FaultKind {
        let token = start.token();
        let reaches_end = start.at + token.len() >= start.bytes.len();
        if reaches_end
            && token
                .iter()
                .all(|b| matches!(b, b'0'..=b'9' | b'+' | b'-' | b'.' | b'e' | b'E' | b'/'))
        {
            FaultKind::Cut
        } else {
            kind(token.to_vec())
        }
    }

    fn name(&mut self) {
        let mut written = trim(without_comment(self.cursor.rest_of_line()));
        let mut joined = Vec::new();
        while let Some(line) = written.strip_suffix(b"\\") {
            if self.cursor.at_end() {
                break;
            }
            joined.extend_from_slice(trim(line));
            joined.push(b' ');
            self.cursor.skip_line_end();
            written = trim(without_comment(self.cursor.rest_of_line()));
        }
        if !joined.is_empty() {
            joined.extend_from_slice(written);
            written = trim(&joined);
        }
        if written.is_empty() {
            written = DEFAULT_GROUP.as_bytes();
        }
        let id = self.ids.get(written).copied().unwrap_or_else(|| {
            let id = self.piece.names.len();
            self.piece.names.push(written.to_vec());
            self.ids.insert(written.to_vec(), id);
            id
        });
        self.piece.last_name = Some(id);
    }
}

/// Cuts a comment off a name: a `#` between blanks. `Finger#2` and `Finger #2` are names.
fn without_comment(name: &[u8]) -> &[u8] {
    let begins = |w: &[u8]| is_blank(w[0]) && w[1] == b'#' && is_blank(w[2]);
    name.windows(3).position(begins).map_or(name, |at| &name[..at])
}

fn trim(mut bytes: &[u8]) -> &[u8] {
    while let [first, rest @ ..] = bytes
        && is_blank(*first)
    {
        bytes = rest;
    }
    while let [rest @ .., last] = bytes
        && is_blank(*last)
    {
        bytes = rest;
    }
    bytes
}
