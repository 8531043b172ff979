//! The limits that keep a hostile or mistaken file from taking the machine's memory, and reading files within them.

use std::io::Read as _;
use std::path::Path;

use clap::Args;

use crate::error::{Error, Result};
use crate::mesh::Mesh;
use crate::mesh::formats::{self, Format, FromFile, Wanted};
use crate::mesh::obj::{self, DEFAULT_MAX_FACES, Limits};
use crate::sheet::decode::DEFAULT_MAX_PIXELS;

/// Bytes of a picture file for each of its pixels, at most: 16-bit RGBA without compression.
const PICTURE_BYTES: u64 = 8;
/// Bytes of a mesh file for each of its faces, at most: a triangle with three vertices, texture coordinates and normals
/// of its own, nine lines of some 40 bytes and one of 70.
const MESH_BYTES: u64 = 512;
/// Bytes that a file may have in any case: profiles, previews, comments.
const OTHER_BYTES: u64 = 64 << 20;

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
        let most = self
            .max_pixels
            .saturating_mul(PICTURE_BYTES)
            .saturating_add(OTHER_BYTES);
        let limit = format!(
            "pictures of {} pixels have; raise the limit with --max-pixels",
            self.max_pixels
        );
        read_file(path, most, &limit)
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
    #[arg(long, value_name = "DISTANCE", value_parser = distance)]
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
        let most = (self.max_faces as u64)
            .saturating_mul(MESH_BYTES)
            .saturating_add(OTHER_BYTES);
        let limit = format!(
            "meshes of {} faces have; raise the limit with --max-faces",
            self.max_faces
        );
        read_file(path, most, &limit)
    }
}

/// Most bytes of a placement that was kept: it names one number a view and image.
const PLACEMENT_BYTES: u64 = 1 << 20;

/// Reads a placement that an earlier check kept.
pub(super) fn read_placement(path: &Path) -> Result<Vec<u8>> {
    read_file(
        path,
        PLACEMENT_BYTES,
        "a placement has; remove it to take a fresh one",
    )
}

/// Most bytes of a table of landmarks: fifteen lines.
const TABLE_BYTES: u64 = 1 << 16;

/// Reads another character's table of landmarks.
pub(super) fn read_table(path: &Path) -> Result<Vec<u8>> {
    read_file(
        path,
        TABLE_BYTES,
        "a table of landmarks has; give a landmarks.csv",
    )
}

/// Reads a whole input file of at most `most` bytes; `limit` says in words what that is.
fn read_file(path: &Path, most: u64, limit: &str) -> Result<Vec<u8>> {
    let unreadable = |e: &std::io::Error| {
        let what = match e.kind() {
            std::io::ErrorKind::NotFound => "there is no such file".to_string(),
            std::io::ErrorKind::PermissionDenied => "the file may not be read".to_string(),
            std::io::ErrorKind::IsADirectory => "this is a folder, not a file".to_string(),
            _ => format!("the file cannot be read ({e})"),
        };
        Error::new(what).in_file(path).advise("check the path")
    };
    let file = std::fs::File::open(path).map_err(|e| unreadable(&e))?;
    let length = file.metadata().map_or(0, |m| m.len());
    let too_long =
        |has: &str| Error::new(format!("the file has {has} bytes, more than {limit}")).in_file(path);
    if length > most {
        return Err(too_long(&length.to_string()));
    }
    let mut bytes = Vec::new();
    bytes
        .try_reserve_exact(usize::try_from(length).unwrap_or(usize::MAX))
        .map_err(|_| {
            Error::new("not enough memory for the file")
                .in_file(path)
                .advise("give a smaller one")
        })?;
    // Devices and pipes do not say how much will come.
    file.take(most.saturating_add(1))
        .read_to_end(&mut bytes)
        .map_err(|e| unreadable(&e))?;
    if bytes.len() as u64 > most {
        return Err(too_long(&format!("more than {most}")));
    }
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn up_to(max_faces: usize) -> MeshArguments {
        MeshArguments {
            max_faces,
            weld: None,
            quads: false,
        }
    }

    #[test]
    fn no_more_is_read_than_the_limit_needs() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("long");
        // A file with a hole: it claims a terabyte and takes no room on the disk.
        let file = std::fs::File::create(&path).expect("a file");
        if file.set_len(1 << 40).is_ok() {
            let text = up_to(1000).read(&path).expect_err("refused").to_string();
            assert!(
                text.contains("1099511627776 bytes") && text.contains("--max-faces"),
                "{text}"
            );
            let text = PictureLimit { max_pixels: 1000 }
                .read(&path)
                .expect_err("refused")
                .to_string();
            assert!(
                text.contains("1099511627776 bytes") && text.contains("--max-pixels"),
                "{text}"
            );
        }
        std::fs::write(&path, b"short").expect("written");
        assert_eq!(up_to(1).read(&path).expect("read"), b"short");
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn a_file_without_an_end_is_refused() {
        let text = read_file(Path::new("/dev/zero"), 100_000, "allowed")
            .expect_err("refused")
            .to_string();
        assert!(text.contains("more than 100000 bytes"), "{text}");
    }
}
