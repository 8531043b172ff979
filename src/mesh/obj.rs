//! Reads Wavefront OBJ meshes (polygons only), keeping the file's order of vertices and faces.
//!
//! Read: `v` (first three values), `f` (triangles, quads, n-gons; indices from 1, or negative ones counting
//! back from the last vertex so far), `g` and `o` (a face belongs to the group that was named last by either).
//! Texture and normal indices are checked for their syntax only. All other statements are skipped. Line ends
//! may be LF, CR LF or CR; a byte-order mark, comments behind statements, and lines continued by a backslash
//! are understood; bytes need not be UTF-8.
//!
//! Method: one pass over the bytes, in pieces that end at line ends and are read side by side, then put
//! together in order. The pieces' size does not depend on the number of threads, so neither does any result.
//!
//! Limits: free-form curves and surfaces, lines and points are skipped. A file that was cut off exactly
//! behind a complete number is taken as whole, unless its last face is smaller than every other one.
//! Source of the format: from memory.

mod cursor;
pub mod dress;
mod fault;
mod piece;
pub mod rewrite;
pub mod write;

use std::collections::HashMap;
use std::path::Path;

use rayon::prelude::*;

use self::fault::{CUT_ADVICE, FaultKind, foreign, line_of, looks_binary, looks_foreign};
use self::piece::{Piece, Stops, read_piece};
use super::{DEFAULT_GROUP, Group, Mesh};
use crate::{Error, Result};

/// Bytes of a piece. Large against the work of joining two pieces, small enough to keep all threads busy with
/// files of some 10 MB. Found by trial on grids of 9, 59 and 201 MB and two threads, few and noisy runs: 1 MiB
/// read 0.63 to 0.70 GB/s, 2 MiB 0.70 to 0.96, 4 MiB 0.59 to 0.86.
const PIECE_BYTES: usize = 1 << 21;
/// Pieces for each thread that are in memory before they are joined to the mesh.
const PIECES_PER_THREAD: usize = 4;
const BYTE_ORDER_MARK: &[u8] = b"\xef\xbb\xbf";

/// What a reader refuses to read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Largest number of faces.
    pub max_faces: usize,
}

/// Largest number of faces that is read unless more are allowed: some 400 MB in memory; what is modelled by hand has
/// a thousandth.
pub const DEFAULT_MAX_FACES: usize = 10_000_000;

impl Default for Limits {
    fn default() -> Self {
        Self {
            max_faces: DEFAULT_MAX_FACES,
        }
    }
}

/// Reads the OBJ file at `path`; see [`read`].
///
/// # Errors
/// As [`read`], or if the file cannot be read. The error names the file.
pub fn read_file(path: &Path, limits: Limits) -> Result<Mesh> {
    let bytes = std::fs::read(path).map_err(|error| unreadable(path, &error))?;
    read(&bytes, limits).map_err(|error| error.in_file(path))
}

fn unreadable(path: &Path, error: &std::io::Error) -> Error {
    let (matter, advice) = match error.kind() {
        std::io::ErrorKind::NotFound => ("there is no such file".into(), "check the path"),
        _ if path.is_dir() => ("this is a folder".into(), "name the mesh file in it"),
        std::io::ErrorKind::PermissionDenied => ("the file may not be read".into(), "check its permissions"),
        _ => (
            format!("the file cannot be read ({error})"),
            "check the file and its disk",
        ),
    };
    Error::new(matter).in_file(path).advise(advice)
}

/// Reads an OBJ mesh from the bytes of its file.
///
/// Vertices and faces keep their order; unreferenced vertices are kept.
///
/// ```
/// use drawntrue::mesh::obj::{Limits, read};
/// let mesh = read(b"v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\nf 1 2 3 4\n", Limits::default())?;
/// assert_eq!(mesh.face(0), [0, 1, 2, 3]);
/// # Ok::<(), drawntrue::Error>(())
/// ```
///
/// # Errors
/// One line that says what is wrong, on which line, and what to do: an empty file, a file that is no OBJ, a
/// file that breaks off, a coordinate that is no finite number, a face with fewer than three corners or with
/// a vertex that does not exist, no faces, more faces than the limit.
pub fn read(bytes: &[u8], limits: Limits) -> Result<Mesh> {
    let text = bytes.strip_prefix(BYTE_ORDER_MARK).unwrap_or(bytes);
    if text.trim_ascii().is_empty() {
        return Err(Error::new("the file is empty").advise("export the mesh again"));
    }
    if let Some(looks_like) = looks_binary(text) {
        return Err(foreign(looks_like));
    }
    read_text(text, limits).map_err(|error| looks_foreign(text).map_or(error, foreign))
}

fn read_text(text: &[u8], limits: Limits) -> Result<Mesh> {
    let mut assembly = Assembly {
        mesh: Mesh {
            starts: vec![0],
            ..Mesh::default()
        },
        ..Assembly::default()
    };
    let pieces = split(text);
    // A piece may hold one face too many, so that the limit is noticed while it is read.
    let stops = Stops {
        max_faces: limits.max_faces,
        watched_face: usize::MAX,
    };
    for wave in pieces.chunks(PIECES_PER_THREAD * rayon::current_num_threads().max(1)) {
        let read: Vec<Piece> = wave
            .par_iter()
            .map(|part| read_piece(part.bytes, stops))
            .collect();
        assembly.reserve(&read);
        for (part, piece) in wave.iter().zip(read) {
            assembly.append(text, part.start, piece, limits)?;
        }
    }
    assembly.finish(text, &pieces)
}

/// A part of the text and where it begins.
#[derive(Clone, Copy)]
struct Part<'a> {
    start: usize,
    bytes: &'a [u8],
}

/// Cuts the text into parts of about [`PIECE_BYTES`] that end at line ends which no backslash takes back.
fn split(text: &[u8]) -> Vec<Part<'_>> {
    let mut parts = Vec::with_capacity(text.len() / PIECE_BYTES + 1);
    let mut start = 0;
    while start < text.len() {
        let mut end = (start + PIECE_BYTES).min(text.len());
        // `end` moves on to the byte behind a line end; a CR may not be parted from its LF.
        while end < text.len() {
            let ended = match text[end - 1] {
                b'\n' => !text[..end - 1]
                    .strip_suffix(b"\r")
                    .unwrap_or(&text[..end - 1])
                    .ends_with(b"\\"),
                b'\r' => text[end] != b'\n' && !text[..end - 1].ends_with(b"\\"),
                _ => false,
            };
            if ended {
                break;
            }
            end += 1;
        }
        parts.push(Part {
            start,
            bytes: &text[start..end],
        });
        start = end;
    }
    parts
}

/// The mesh while its pieces come in.
#[derive(Default)]
struct Assembly {
    mesh: Mesh,
    /// Faces of the mesh before each piece.
    faces_before: Vec<usize>,
    group_ids: HashMap<Vec<u8>, u32>,
    /// The name that was given last, if any.
    name: Option<Vec<u8>>,
    ends_in_face: bool,
}

impl Assembly {
    /// Makes room for some pieces at once: a list that grows bit by bit moves more often.
    fn reserve(&mut self, pieces: &[Piece]) {
        let sum = |of: fn(&Piece) -> usize| pieces.iter().map(of).sum::<usize>();
        self.mesh.positions.reserve(sum(|p| p.positions.len()));
        self.mesh.corners.reserve(sum(|p| p.corners.len()));
        self.mesh.starts.reserve(sum(|p| p.ends.len()));
    }

    fn append(&mut self, text: &[u8], start: usize, mut piece: Piece, limits: Limits) -> Result<()> {
        let vertices = self.mesh.positions.len();
        let faces = self.mesh.face_count();
        if let Some(excess) = (faces + piece.ends.len()).checked_sub(limits.max_faces)
            && excess > 0
        {
            return Err(many_faces(text, limits.max_faces));
        }
        self.faces_before.push(faces);
        let resolved = self.resolve_relative(&mut piece, vertices);
        if let Err(corner) = resolved {
            let face = piece.ends.partition_point(|&end| end as usize <= corner);
            return Err(no_such_vertex(text, start, face, limits.max_faces, None));
        }
        if let Some(fault) = piece.fault {
            if matches!(fault.kind, FaultKind::ManyFaces) {
                return Err(many_faces(text, limits.max_faces));
            }
            let line = line_of(text, start + fault.place);
            return Err(fault.kind.into_error().at(format!("line {line}")));
        }
        let corners = self.mesh.corners.len();
        let fits = |n: usize| u32::try_from(n).is_ok();
        if !fits(corners + piece.corners.len()) || !fits(vertices + piece.positions.len()) {
            return Err(
                Error::new("the mesh has more vertices or corners than 32 bits can number")
                    .advise("reduce the mesh"),
            );
        }
        self.append_groups(&piece);
        self.mesh.positions.append(&mut piece.positions);
        self.mesh.corners.append(&mut piece.corners);
        self.mesh
            .starts
            .extend(piece.ends.iter().map(|&end| end + corners as u32));
        self.ends_in_face = piece.ends_in_face;
        Ok(())
    }

    /// Turns relative corners into indices of the file; `Err` is the first corner that is before vertex 1.
    fn resolve_relative(&self, piece: &mut Piece, vertices: usize) -> std::result::Result<(), usize> {
        for &(from, to) in &piece.relative {
            // A fault may have taken back the corners of the last face.
            let to = (to as usize).min(piece.corners.len());
            for at in from as usize..to {
                let index = vertices as i64 + i64::from(piece.corners[at] as i32);
                piece.corners[at] = u32::try_from(index).map_err(|_| at)?;
            }
        }
        Ok(())
    }

    fn append_groups(&mut self, piece: &Piece) {
        let first_named = piece.runs.first().map_or(piece.ends.len(), |run| run.0 as usize);
        let before = self.mesh.face_count() as u32;
        if first_named > 0 {
            let name = self.name.clone().unwrap_or_else(|| DEFAULT_GROUP.into());
            self.start_run(before, &name);
        }
        for &(face, name) in &piece.runs {
            self.start_run(before + face, &piece.names[name]);
        }
        if let Some(last) = piece.last_name {
            self.name = Some(piece.names[last].clone());
        }
    }

    fn start_run(&mut self, face: u32, name: &[u8]) {
        let id = self.group_ids.get(name).copied().unwrap_or_else(|| {
            let id = self.mesh.groups.len() as u32;
            self.mesh.groups.push(Group {
                name: String::from_utf8_lossy(name).into_owned(),
            });
            self.group_ids.insert(name.to_vec(), id);
            id
        });
        if self.mesh.runs.last().is_none_or(|run| run.1 != id) {
            self.mesh.runs.push((face, id));
        }
    }

    /// The checks that need the whole file.
    fn finish(self, text: &[u8], pieces: &[Part<'_>]) -> Result<Mesh> {
        let mut mesh = self.mesh;
        if mesh.face_count() == 0 {
            return Err(no_faces(mesh.positions.len()));
        }
        let count = mesh.positions.len();
        // The largest index first: that is one fast loop, and the rule is that it is in range.
        if mesh.corners.iter().max().is_some_and(|&v| v as usize >= count) {
            let corner = mesh
                .corners
                .iter()
                .position(|&v| v as usize >= count)
                .unwrap_or_default();
            let face = mesh.starts.partition_point(|&s| s as usize <= corner) - 1;
            let piece = self.faces_before.partition_point(|&before| before <= face) - 1;
            let missing = Some((u64::from(mesh.corners[corner]) + 1, count));
            let local = face - self.faces_before[piece];
            return Err(no_such_vertex(
                text,
                pieces[piece].start,
                local,
                usize::MAX,
                missing,
            ));
        }
        if self.ends_in_face && last_face_is_smallest(&mesh.starts) {
            return Err(Error::new("the file breaks off within its last face")
                .at(format!("line {}", line_of(text, text.len())))
                .advise(format!("{CUT_ADVICE}; if it is whole, add a line end at its end")));
        }
        mesh.positions.shrink_to_fit();
        mesh.corners.shrink_to_fit();
        mesh.starts.shrink_to_fit();
        Ok(mesh)
    }
}

/// The error for a corner out of range. Reads the piece once more, up to the face, for the number of its line.
fn no_such_vertex(
    text: &[u8],
    start: usize,
    face: usize,
    max_faces: usize,
    missing: Option<(u64, usize)>,
) -> Error {
    let stops = Stops {
        max_faces,
        watched_face: face,
    };
    let place = read_piece(&text[start..], stops)
        .fault
        .map_or(0, |fault| fault.place);
    let matter = match missing {
        Some((vertex, count)) => {
            format!("a face names vertex {vertex}, but there are {count} vertices")
        }
        None => "a face counts back beyond the first vertex".into(),
    };
    Error::new(matter)
        .at(format!("line {}", line_of(text, start + place)))
        .advise("the file is incomplete or its vertices were removed: export it again")
}

/// The error for more faces than allowed; they are counted, not read.
fn many_faces(text: &[u8], max_faces: usize) -> Error {
    let count = text
        .split(|b| matches!(b, b'\n' | b'\r'))
        .map(<[u8]>::trim_ascii_start)
        .filter(|line| {
            line.strip_prefix(b"f")
                .is_some_and(|rest| rest.first().is_some_and(u8::is_ascii_whitespace))
        })
        .count();
    Error::new(format!(
        "the mesh has {count} faces, more than the limit of {max_faces}"
    ))
    .advise("reduce the mesh, or raise the limit with --max-faces")
}

fn no_faces(vertices: usize) -> Error {
    if vertices == 0 {
        Error::new("this is not an OBJ mesh, it has neither vertices nor faces")
            .advise("export the mesh as OBJ")
    } else {
        Error::new(format!("the file has {vertices} vertices and no faces"))
            .advise("it may have been cut off or exported without its surface: export it again")
    }
}

/// Whether the last face has fewer corners than every other one, of which there is at least one.
fn last_face_is_smallest(starts: &[u32]) -> bool {
    let mut sizes = starts.windows(2).map(|ends| ends[1] - ends[0]).rev();
    let last = sizes.next();
    starts.len() > 2 && sizes.all(|size| Some(size) > last)
}
