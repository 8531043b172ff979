//! Opens the files of a check: a mesh, made ready to be compared, and a drawing, read. What [`crate::check`] takes.

pub mod bytes;

use std::path::Path;

use sha2::{Digest as _, Sha256};

use crate::check::ImageRead;
use crate::compare::canons::Canon;
use crate::error::{Error, Result};
use crate::mesh::formats::{self, Format, FromFile, Wanted};
use crate::mesh::mirror::looks_like_a_half;
use crate::mesh::prepare::{Preparation, prepare};
use crate::mesh::select::Choice;
use crate::mesh::stray::stray;
use crate::mesh::{Axes, Mesh};
use crate::place::assign::Asked;
use crate::report::csv;
use crate::report::model::{MeshInput, Settings, SheetInput};
use crate::setup::ImageSetup;
use crate::sheet::decode::decode;
use crate::sheet::picture::Picture;
use crate::sheet::read::{Reading, read_overruled};

/// Most views that a turnaround shows.
const MOST_VIEWS: usize = 6;

/// A mesh file, read and made ready.
#[derive(Debug)]
pub struct OpenMesh {
    /// Groups chosen, mirrored, turned upright where the settings say how it stands.
    pub mesh: Mesh,
    /// What the report says of the file.
    pub input: MeshInput,
    /// What a person should know: what was welded, left out, looks like a half.
    pub notes: Vec<String>,
    /// The file's format.
    pub format: Format,
}

/// An image, read.
pub struct OpenImage {
    /// The upright picture.
    pub picture: Picture,
    /// What was read in it.
    pub read: ImageRead,
}

/// SHA-256 (FIPS 180-4) in hexadecimal digits, as reports name files.
pub fn digest(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|b| format!("{b:02x}")).collect()
}

/// Reads a mesh of any format and makes it ready as the settings say.
///
/// # Errors
/// The file cannot be read, is no mesh, or has none of the groups that are asked for; the settings' axes contradict each
/// other.
pub fn mesh(path: &Path, settings: &Settings, wanted: &Wanted) -> Result<OpenMesh> {
    mesh_of(
        &bytes::mesh(path, wanted.limits.max_faces)?,
        path,
        settings,
        wanted,
    )
}

/// The same, of bytes that were read before.
///
/// # Errors
/// As [`mesh`].
pub fn mesh_of(bytes: &[u8], path: &Path, settings: &Settings, wanted: &Wanted) -> Result<OpenMesh> {
    let (file, sha256) = rayon::join(|| formats::read(bytes, path, wanted), || digest(bytes));
    let FromFile {
        mesh,
        format,
        mut notes,
        ..
    } = file.map_err(|e| e.in_file(path))?;
    let counts = mesh.face_counts();
    let input = MeshInput {
        path: path.display().to_string(),
        sha256,
        vertices: mesh.positions().len(),
        faces: mesh.face_count(),
        triangles: counts.triangles,
        quads: counts.quads,
        ngons: counts.ngons,
    };
    let axes = match settings.axes() {
        Some(axes) => axes,
        None if settings.facing.is_none() => Axes::default(),
        None => {
            return Err(Error::new("the figure would look straight up or down")
                .at("--up and --facing")
                .advise("with --up y give --facing x, -x, z or -z, with --up z give x, -x, y or -y"));
        }
    };
    let how = Preparation {
        axes,
        choice: Choice {
            groups: settings.groups.clone(),
            skip_groups: settings.skip_groups.clone(),
        },
        mirror: settings.mirror,
    };
    notes.extend(stray(&mesh).map(|s| s.to_string()));
    let mut noted = prepare(mesh, &how).map_err(|e| e.in_file(path))?;
    if settings.smooth.is_some()
        && !settings.mirror
        && let Some(x) = looks_like_a_half(&noted.mesh)
    {
        noted.notes.push(format!(
            "the mesh is open along x = {x} and lies on one side of it: if it is one half, give --mirror, or its centre line is smoothed like a border"
        ));
    }
    notes.append(&mut noted.notes);
    Ok(OpenMesh {
        mesh: noted.mesh,
        input,
        notes,
        format,
    })
}

/// Reads an image of at most `max_pixels` that was given as `asked`; `setup` says what a person overruled in it.
///
/// # Errors
/// The file cannot be read or is no picture, no figure can be read in it, or not as many as what it was given as has.
pub fn image(path: &Path, asked: Asked, setup: &ImageSetup, max_pixels: u64) -> Result<OpenImage> {
    image_of(&bytes::picture(path, max_pixels)?, path, asked, setup, max_pixels)
}

/// The same, of bytes that were read before.
///
/// # Errors
/// As [`image()`].
pub fn image_of(
    bytes: &[u8],
    path: &Path,
    asked: Asked,
    setup: &ImageSetup,
    max_pixels: u64,
) -> Result<OpenImage> {
    let read = || -> Result<(Picture, Reading)> {
        let picture = decode(bytes, max_pixels)?;
        let reading = read_overruled(&picture, &setup.overrules())?;
        Ok((picture, reading))
    };
    let (read, sha256) = rayon::join(read, || digest(bytes));
    let (picture, mut reading) = read.map_err(|e| e.in_file(path))?;
    let named = setup.apply(&mut reading);
    let axes_px = setup.axes_px(&reading);
    let count = reading.figures.len();
    let wrong = match asked {
        Asked::Any if count == 1 => Some((
            "the sheet shows one figure only".to_string(),
            "give single views with --front, --side and --back",
        )),
        Asked::Any if count > MOST_VIEWS => Some((
            format!("the sheet shows {count} figures"),
            "cut it so that it shows the views of one character",
        )),
        Asked::Front | Asked::Side | Asked::Back | Asked::Top if count > 1 => Some((
            format!("the image shows {count} figures"),
            "give one view an image, or all of them with --sheet",
        )),
        _ => None,
    };
    if let Some((matter, advice)) = wrong {
        return Err(Error::new(matter).in_file(path).advise(advice));
    }
    let input = SheetInput {
        path: path.display().to_string(),
        sha256,
        width_px: picture.width() as u32,
        height_px: picture.height() as u32,
    };
    Ok(OpenImage {
        picture,
        read: ImageRead {
            asked,
            named,
            axes_px,
            reading,
            input,
        },
    })
}

/// A canon by its name, or another character's table.
///
/// # Errors
/// There is neither a canon nor a file of this name, or the table is none of a whole figure.
pub fn canon(name: &str) -> Result<Canon> {
    if let Some(canon) = Canon::named(name) {
        return Ok(canon);
    }
    let path = Path::new(name);
    if !path.exists() {
        return Err(
            Error::new(format!("there is no canon and no file {name}")).advise(format!(
                "use one of {}, or a landmarks.csv",
                Canon::names().join(", ")
            )),
        );
    }
    let rows = csv::read_landmarks(&bytes::table(path)?).map_err(|e| e.in_file(path))?;
    Canon::of_table(name, &rows).ok_or_else(|| {
        Error::new("the table has no crown and ground")
            .in_file(path)
            .advise("take the table of a whole figure")
    })
}
