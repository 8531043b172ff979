//! Mesh files of every open format that is read: which one a file is, and what became of it on the way in.
//!
//! OBJ is read by this project's own reader, in file order; glTF 2.0, PLY and STL by libraries, whose results are turned
//! into the one [`Mesh`] here. Formats that split vertices are welded ([`weld`]), and the notes say by how much.

mod assembly;
pub mod gltf;
pub mod ply;
pub mod quads;
pub mod stl;
pub mod weld;
pub mod write;

use std::io::Read as _;
use std::path::{Path, PathBuf};

use super::obj::{self, Limits};
use super::{Axes, Mesh};
use crate::caught::caught;
use crate::{Error, Result};

/// Vertices this close, in parts of the largest extent, are one where a format splits them: single precision keeps seven
/// digits, node transforms cost one of them.
pub const WELD: f64 = 1e-6;

/// A format of mesh files.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// Wavefront OBJ.
    Obj,
    /// glTF 2.0, text or binary.
    Gltf,
    /// glTF 2.0, binary.
    Glb,
    /// Polygon File Format.
    Ply,
    /// Stereolithography.
    Stl,
}

/// How a file is to be read.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Wanted {
    /// Largest mesh.
    pub limits: Limits,
    /// Distance up to which vertices become one, in the file's units; without it formats that split vertices are welded
    /// by [`WELD`] and others not at all.
    pub weld: Option<f64>,
    /// Puts pairs of triangles that were one quad back together.
    pub quads: bool,
}

/// A mesh as it came from its file.
#[derive(Debug, Clone)]
pub struct FromFile {
    /// The mesh.
    pub mesh: Mesh,
    /// Its format.
    pub format: Format,
    /// What was done to it, and what the format cannot carry.
    pub notes: Vec<String>,
    /// For each vertex of the file its number in the mesh; nothing where they are the same.
    pub welded: Option<Vec<u32>>,
}

impl Format {
    /// The format that a name asks for; OBJ where it asks for none.
    pub fn of_name(path: &Path) -> Option<Self> {
        let ending = path.extension()?.to_str()?.to_ascii_lowercase();
        Some(match ending.as_str() {
            "obj" => Self::Obj,
            "gltf" => Self::Gltf,
            "glb" => Self::Glb,
            "ply" => Self::Ply,
            "stl" => Self::Stl,
            _ => return None,
        })
    }

    /// The format that a file has, by its first bytes, and by its name where those say nothing.
    pub fn of(bytes: &[u8], path: &Path) -> Self {
        let named = Self::of_name(path);
        if bytes.starts_with(b"glTF") {
            return Self::Glb;
        }
        if bytes.starts_with(b"ply\n") || bytes.starts_with(b"ply\r") {
            return Self::Ply;
        }
        let start = bytes.trim_ascii_start();
        if start.first() == Some(&b'{') {
            return Self::Gltf;
        }
        if named == Some(Self::Stl) || stl::looks_like(bytes) {
            return Self::Stl;
        }
        // What is named after another format and is none of it is refused by that format's reader, in its words.
        named.unwrap_or(Self::Obj)
    }

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Obj => "OBJ",
            Self::Gltf | Self::Glb => "glTF",
            Self::Ply => "PLY",
            Self::Stl => "STL",
        }
    }

    /// The axes that the format fixes: glTF 2.0, 3.4, has y up and the front towards +z.
    pub fn axes(self) -> Option<Axes> {
        matches!(self, Self::Gltf | Self::Glb).then(Axes::default)
    }

    /// The unit of length that the format fixes: glTF 2.0, 3.4, has metres.
    pub fn unit(self) -> Option<&'static str> {
        matches!(self, Self::Gltf | Self::Glb).then_some("m")
    }

    /// Whether the format keeps a vertex for each corner or seam, so that neighbouring faces share none.
    fn splits(self) -> bool {
        matches!(self, Self::Gltf | Self::Glb | Self::Stl)
    }

    /// What the format cannot carry, in words.
    fn lacks(self) -> Option<&'static str> {
        match self {
            Self::Obj | Self::Ply => None,
            Self::Gltf | Self::Glb => Some("glTF carries triangles only and splits vertices at seams"),
            Self::Stl => Some("STL carries triangles only and no shared vertices"),
        }
    }
}

/// Reads a mesh from the bytes of its file. `path` tells formats apart and where files lie that it refers to.
///
/// # Errors
/// As [`obj::read`]; the format's library refuses the file, it refers to files that cannot be read, or it has no faces.
pub fn read(bytes: &[u8], path: &Path, wanted: &Wanted) -> Result<FromFile> {
    let format = Format::of(bytes, path);
    let limits = wanted.limits;
    // The library for glTF panics on some documents that name what is not there.
    let through_library = || match format {
        Format::Obj => Ok((obj::read(bytes, limits)?, Vec::new())),
        Format::Gltf | Format::Glb => gltf::read(bytes, path.parent(), limits),
        Format::Ply => Ok((ply::read(bytes, limits)?, Vec::new())),
        Format::Stl => Ok((stl::read(bytes, limits)?, Vec::new())),
    };
    let (mesh, mut notes) = if format == Format::Obj {
        through_library()?
    } else {
        caught(through_library).unwrap_or_else(|| Err(refused(format, &"it names what is not there")))?
    };
    notes.extend(format.lacks().map(str::to_string));
    let distance = wanted.weld.or_else(|| {
        format
            .splits()
            .then(|| WELD * mesh.bounds_of_faces().map_or(0.0, |e| e.largest()))
    });
    let before = mesh.positions().len();
    let (mut mesh, welded) = match distance {
        Some(distance) => weld::weld(mesh, distance),
        None => (mesh, None),
    };
    if let (Some(distance), Some(_)) = (distance, &welded) {
        notes.push(format!(
            "{before} vertices of the file became {} by joining those no farther apart than {distance:.3e}; they are \
             counted after that",
            mesh.positions().len(),
        ));
    }
    if wanted.quads {
        let (joined, pairs) = quads::join(&mesh);
        notes.push(format!("{pairs} pairs of triangles were put together to quads"));
        mesh = joined;
    }
    Ok(FromFile {
        mesh,
        format,
        notes,
        welded,
    })
}

/// The one line of a library's refusal.
/// The files beside or below a mesh file that it is read with: a glTF file's buffers. None where it cannot be read.
pub fn files_beside(path: &Path) -> Vec<PathBuf> {
    /// Bytes by which a format is told.
    const START: u64 = 512;
    let start = || {
        let mut start = Vec::new();
        std::fs::File::open(path)?.take(START).read_to_end(&mut start)?;
        Ok::<_, std::io::Error>(Format::of(&start, path))
    };
    if !matches!(start(), Ok(Format::Gltf | Format::Glb)) {
        return Vec::new();
    }
    let bytes = std::fs::read(path).unwrap_or_default();
    caught(|| gltf::files_beside(&bytes, path.parent())).unwrap_or_default()
}

fn refused(format: Format, why: &dyn std::fmt::Display) -> Error {
    let why = why.to_string().split_whitespace().collect::<Vec<_>>().join(" ");
    Error::new(format!(
        "this is no {} file that can be read ({why})",
        format.name()
    ))
    .advise("export the mesh again, or as OBJ")
}
