//! Settings kept in a file beside the drawing: what was read from the sheet, and what the person overruled.
//!
//! The file is TOML. Its text is kept as it is: a setup that is read and written again is the same to the byte, the
//! person's comments and order included. What it leaves out is found anew. Pixels are those of the upright picture.

mod apply;
mod arm;
mod keys;
pub(crate) mod lines;
mod parse;
mod write;

use std::io::Read as _;
use std::path::{Path, PathBuf};

pub use arm::ArmSetup;
pub use write::{Found, FoundArea, FoundGuide, FoundView, append, write};

use crate::error::{Error, Result};
use crate::mesh::{Heading, UpAxis};
use crate::report::model::{ArmsMode, Lead, Smoothing, Stage};
use crate::sheet::edge::LineEdge;

/// Longest setup file that is read, bytes: thousands of times what one has.
const LONGEST: u64 = 16 << 20;

/// A setup file: its text, and what it says.
#[derive(Debug, Clone, PartialEq)]
pub struct SetupFile {
    /// The file as it is.
    pub text: String,
    /// What it says.
    pub setup: Setup,
}

impl SetupFile {
    /// Reads a setup.
    ///
    /// # Errors
    /// The text is no TOML, a key is unknown, or a value has the wrong type or range; each with its line.
    pub fn parse(text: &str) -> Result<Self> {
        Ok(Self {
            text: text.to_string(),
            setup: parse::setup(text)?,
        })
    }

    /// Reads a setup file; the images' paths in it are then relative to the working folder, as on the command line.
    ///
    /// # Errors
    /// As [`Self::parse`]; the file cannot be read or is no text.
    pub fn read(path: &Path) -> Result<Self> {
        let mut text = String::new();
        std::fs::File::open(path)
            .and_then(|f| f.take(LONGEST + 1).read_to_string(&mut text))
            .map_err(|e| {
                Error::new(format!("the setup cannot be read ({e})"))
                    .in_file(path)
                    .advise("make one with drawntrue setup IMAGE")
            })?;
        if text.len() as u64 > LONGEST {
            return Err(Error::new(format!("the setup has more than {LONGEST} bytes"))
                .in_file(path)
                .advise("make a new one with drawntrue setup IMAGE"));
        }
        let mut file = Self::parse(&text).map_err(|e| e.in_file(path))?;
        let folder = path.parent().unwrap_or(Path::new(""));
        for image in &mut file.setup.images {
            image.file = folder.join(&image.file);
        }
        Ok(file)
    }
}

/// What a setup says; `None` and empty: nothing, so the usual holds.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Setup {
    /// Name of the mesh's unit.
    pub unit: Option<String>,
    /// Height of the drawn figure, in mesh units, its ground at y = 0.
    pub figure_height: Option<f64>,
    /// Mesh units for a pixel of the leading view's image.
    pub scale: Option<f64>,
    /// Mesh height of the leading view's ground.
    pub ground: Option<f64>,
    /// The view that leads.
    pub lead: Option<Lead>,
    /// How far the surface that decides is smoothed.
    pub smooth: Option<Smoothing>,
    /// The first placement of a series is kept.
    pub hold_placement: Option<bool>,
    /// Percent of the figure height.
    pub tolerance: Option<f64>,
    /// Percent of the local width.
    pub tolerance_width: Option<f64>,
    /// Tolerances of a stage of the work.
    pub stage: Option<Stage>,
    /// What the mesh does not have yet is not held against it.
    pub unfinished: Option<bool>,
    /// What becomes of the mesh's arms.
    pub arms: Option<ArmsMode>,
    /// The canon of proportions, a name or the file of another character's landmarks.
    pub canon: Option<String>,
    /// What is said of single arms.
    pub arm: Vec<ArmSetup>,
    /// The mesh's own settings.
    pub mesh: MeshSetup,
    /// The sheet's images.
    pub images: Vec<ImageSetup>,
}

/// Settings of the mesh.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct MeshSetup {
    /// Which axis of the file points up.
    pub up: Option<UpAxis>,
    /// The axis of the file that the figure looks along.
    pub facing: Option<Heading>,
    /// The mesh is one half.
    pub mirror: Option<bool>,
    /// Groups that count.
    pub groups: Option<Vec<String>>,
    /// Groups that do not.
    pub skip_groups: Option<Vec<String>>,
    /// x of the mirror plane.
    pub plane: Option<f64>,
    /// Open borders that are meant, each named by one of its vertices, counted from 0.
    pub borders: Option<Vec<u32>>,
}

/// What an image was given as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Shows {
    /// All views.
    #[default]
    Sheet,
    /// One view.
    Front,
    /// One view.
    Side,
    /// One view.
    Back,
    /// One view.
    Top,
}

/// One image of the sheet.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ImageSetup {
    /// Its path.
    pub file: PathBuf,
    /// What it was given as.
    pub shows: Shows,
    /// Which edge of an ink line is the outline.
    pub line_edge: Option<LineEdge>,
    /// How far a mark departs from the paper, 1 to 254 of 255.
    pub threshold: Option<u8>,
    /// A wider opening of the outline is left open, percent of the figure height.
    pub widest_gap: Option<f64>,
    /// Boxes `[x0, y0, x1, y1]` that are read as empty paper.
    pub erase: Vec<[f64; 4]>,
    /// Places `[x, y]` in enclosed areas that are ground.
    pub ground: Vec<[f64; 2]>,
    /// Places `[x, y]` in enclosed areas that belong to the figure.
    pub surface: Vec<[f64; 2]>,
    /// The views; where some are listed, no others are taken.
    pub views: Vec<ViewSetup>,
    /// The guide lines; where some are listed, no others are reported.
    pub guides: Vec<GuideSetup>,
}

/// One view of an image.
#[derive(Debug, Clone, PartialEq)]
pub struct ViewSetup {
    /// `front`, `side`, `back`, `three-quarter`, `top`.
    pub name: String,
    /// Its box `[x0, y0, x1, y1]`.
    pub box_px: [f64; 4],
    /// Column of the levelled sheet that lies on the mesh's own axis, view x = 0.
    pub axis_px: Option<f64>,
}

/// One guide line of an image.
#[derive(Debug, Clone, PartialEq)]
pub struct GuideSetup {
    /// Its height on the levelled sheet.
    pub y_px: f64,
    /// The place of the body that it marks; empty: none is named.
    pub means: String,
}

#[cfg(test)]
mod tests;
