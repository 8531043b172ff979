//! The limits that keep a hostile or mistaken file from taking the machine's memory, and reading files within them.

use std::path::Path;

use clap::Args;

use crate::error::Result;
use crate::mesh::Mesh;
use crate::mesh::formats::{self, Format, FromFile, Wanted};
use crate::mesh::obj::{self, DEFAULT_MAX_FACES, Limits};
use crate::open::bytes;
use crate::sheet::decode::DEFAULT_MAX_PIXELS;

/// The limit of commands that read pictures.
#[derive(Debug, Clone, Copy, Args)]
pub(super) struct PictureLimit {
    /// Largest picture that is read, in pixels; larger ones are refused before they are decoded
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..), default_value_t = DEFAULT_MAX_PIXELS)]
    pub(super) max_pixels: u64,
}

impl PictureLimit {
    /// Reads a picture file, of which no more is read than pictures within the limit can have.
    pub(super) fn read(self, path: &Path) -> Result<Vec<u8>> {
        bytes::picture(path, self.max_pixels)
    }
}

/// What commands that read meshes have in common: how a mesh file is read.
#[derive(Debug, Clone, Copy, Args)]
pub(super) struct MeshArguments {
    /// Largest mesh that is read, in faces
    #[arg(long, value_name = "N", value_parser = faces, default_value_t = DEFAULT_MAX_FACES)]
    pub(super) max_faces: usize,
    /// Join vertices no farther apart than this, in the mesh's units [default: rounding, and only in formats that split
    /// vertices: glTF, STL]
    #[arg(long, value_name = "DISTANCE", allow_negative_numbers = true, value_parser = distance)]
    pub(super) weld: Option<f64>,
    /// Put pairs of triangles that were one quad back together
    #[arg(long)]
    pub(super) quads: bool,
}

fn distance(text: &str) -> std::result::Result<f64, String> {
    match text.parse::<f64>() {
        Ok(v) if v.is_finite() && v >= 0.0 => Ok(v),
        _ => Err("a distance of zero or more is needed".to_string()),
    }
}

/// A mesh file as OBJ text, whatever its format, for commands that change a mesh and keep all else.
pub(super) struct MeshText {
    /// The file's own bytes where it is OBJ and nothing was asked to be done to it.
    pub(super) text: Vec<u8>,
    /// Its mesh.
    pub(super) mesh: Mesh,
    /// What was done to it on the way in.
    pub(super) notes: Vec<String>,
}

fn faces(text: &str) -> std::result::Result<usize, String> {
    match text.parse() {
        Ok(n) if n > 0 => Ok(n),
        _ => Err("a whole number above zero is needed".to_string()),
    }
}

impl MeshArguments {
    /// The reader's limits.
    pub(super) fn limits(self) -> Limits {
        Limits {
            max_faces: self.max_faces,
        }
    }

    /// How the formats' readers are to read.
    pub(super) fn wanted(self) -> Wanted {
        Wanted {
            limits: self.limits(),
            weld: self.weld,
            quads: self.quads,
        }
    }

    /// Reads a mesh file of any format.
    pub(super) fn read_mesh(self, path: &Path) -> Result<FromFile> {
        formats::read(&self.read(path)?, path, &self.wanted()).map_err(|e| e.in_file(path))
    }

    /// Reads a mesh file of any format as OBJ text.
    pub(super) fn read_text(self, path: &Path) -> Result<MeshText> {
        let bytes = self.read(path)?;
        let FromFile {
            mesh,
            format,
            notes,
            welded,
        } = formats::read(&bytes, path, &self.wanted()).map_err(|e| e.in_file(path))?;
        let as_it_is = format == Format::Obj && welded.is_none() && !self.quads;
        let text = if as_it_is {
            bytes
        } else {
            obj::write::write(&mesh, &format!("read from {}", format.name()))
        };
        Ok(MeshText { text, mesh, notes })
    }

    /// The bytes of OBJ text in the format that a name asks for, and what is lost in it.
    pub(super) fn as_named(self, text: Vec<u8>, to: &Path) -> Result<(Vec<u8>, Option<&'static str>)> {
        match Format::of_name(to) {
            None | Some(Format::Obj) => Ok((text, None)),
            Some(format) => {
                let limits = Limits {
                    max_faces: usize::MAX,
                };
                let mesh = obj::read(&text, limits)?;
                let bytes = formats::write::write(&mesh, format, "drawntrue").map_err(|e| e.in_file(to))?;
                Ok((bytes, formats::write::loses(format)))
            }
        }
    }

    /// Reads a mesh file, of which no more is read than meshes within the limit can have.
    pub(super) fn read(self, path: &Path) -> Result<Vec<u8>> {
        bytes::mesh(path, self.max_faces)
    }
}
