//! Arguments of `drawntrue check` as typed, and the options and images that they and a setup file make together.

use std::path::PathBuf;

use clap::Args;

use crate::cli;
use crate::cli::limits::{MeshArguments, PictureLimit};
use crate::error::{Error, Result};
use crate::mesh::{Heading, UpAxis};
use crate::place::assign::Asked;
use crate::report::look::{PICTURE_HEIGHT, PICTURE_HEIGHTS};
use crate::report::model::{ArmsMode, Lead, LineEdge, Settings, Smoothing, Stage};
use crate::setup::{ImageSetup, Setup, Shows};

/// The tolerance where none is given.
const TOLERANCE_PCT: f64 = 1.0;

/// Arguments of `drawntrue check`, as typed.
#[derive(Debug, Clone, Args)]
pub(in crate::cli) struct CheckArguments {
    /// The mesh: OBJ, glTF, PLY or STL
    pub(in crate::cli) mesh: PathBuf,
    /// The turnaround drawing, all views in one image: PNG, JPEG, TIFF or WebP
    #[arg(long, value_name = "IMAGE", conflicts_with_all = ["front", "side", "back"], required_unless_present_any = ["front", "side", "back", "setup"])]
    pub(in crate::cli) sheet: Option<PathBuf>,
    /// The front view in an image of its own
    #[arg(long, value_name = "IMAGE")]
    pub(in crate::cli) front: Option<PathBuf>,
    /// The side view in an image of its own
    #[arg(long, value_name = "IMAGE")]
    pub(in crate::cli) side: Option<PathBuf>,
    /// The back view in an image of its own
    #[arg(long, value_name = "IMAGE")]
    pub(in crate::cli) back: Option<PathBuf>,
    /// Folder for the results
    #[arg(long, value_name = "DIR", default_value = "out")]
    pub(in crate::cli) out: PathBuf,
    /// The view from above in an image of its own; up in the picture is behind the figure, or another quarter turn
    #[arg(long, value_name = "IMAGE")]
    pub(in crate::cli) top: Option<PathBuf>,
    /// Height of the drawn figure from ground to crown in mesh units, its ground at y = 0 unless --ground says
    /// otherwise (without it scale and ground are found)
    #[arg(long, value_name = "H", value_parser = positive, conflicts_with = "scale", allow_negative_numbers = true)]
    pub(in crate::cli) figure_height: Option<f64>,
    /// Mesh units for a pixel of the leading view's image; what is not given is still found
    #[arg(long, value_name = "UNITS_PER_PX", value_parser = positive, allow_negative_numbers = true)]
    pub(in crate::cli) scale: Option<f64>,
    /// Mesh height at which the drawn ground of the leading view lies; what is not given is still found
    #[arg(long, value_name = "Y", value_parser = cli::finite, allow_hyphen_values = true)]
    pub(in crate::cli) ground: Option<f64>,
    /// The view that leads where the drawn views differ, front or side: scale and ground are found from it alone
    /// [default: all views together, heights counted by the front]
    #[arg(long, value_name = "VIEW", value_parser = cli::lead)]
    pub(in crate::cli) lead: Option<Lead>,
    /// Compare the surface after so many Catmull-Clark steps, 1 to 5, or in the limit; the cage is then shown beside it
    /// [default: the cage decides, the limit surface is shown beside it for up to 20,000 faces]
    #[arg(long, value_name = "N|limit", value_parser = cli::smoothing)]
    pub(in crate::cli) smooth: Option<Smoothing>,
    /// Keep the first placement of a series in placement.json beside the results and use it in later runs, so that
    /// numbers of places nobody touched do not move
    #[arg(long)]
    pub(in crate::cli) hold_placement: bool,
    /// How far the mesh may lie off the drawing, in percent of the figure height [default: 1]
    #[arg(long, value_name = "PCT", value_parser = positive, allow_negative_numbers = true)]
    pub(in crate::cli) tolerance: Option<f64>,
    /// Also in percent of the local width, that of the part at this height: the closer of the two limits holds, but
    /// never less than 0.15 % of the figure height, to which a hand is true [default: off]
    #[arg(long, value_name = "PCT", value_parser = positive, allow_negative_numbers = true)]
    pub(in crate::cli) tolerance_width: Option<f64>,
    /// Tolerances for a stage of the work: block-in (2 % of the height), refine (1 %, and 10 % of the local width),
    /// final (0.5 %, and 5 % of the local width); --tolerance and --tolerance-width win over it
    #[arg(long, value_name = "STAGE", value_parser = cli::stage)]
    pub(in crate::cli) stage: Option<Stage>,
    /// Parts of the drawing that the mesh does not have yet are listed but not held against it
    #[arg(long)]
    pub(in crate::cli) unfinished: bool,
    /// The mesh is one half: mirror it at its border plane and join it first
    #[arg(long)]
    pub(in crate::cli) mirror: bool,
    /// The mesh's arms: as-modelled, drop (turned until they hang as the drawn ones; both arms are then compared),
    /// DEGREES below the horizontal, or ignore (left out) [default: as-modelled]
    #[arg(long, value_name = "drop|DEGREES|ignore", value_parser = cli::arms_mode, allow_hyphen_values = true)]
    pub(in crate::cli) arms: Option<ArmsMode>,
    /// Only these groups of the file count
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    pub(in crate::cli) groups: Vec<String>,
    /// These groups of the file do not count
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    pub(in crate::cli) skip_groups: Vec<String>,
    /// Which edge of an ink line is the outline: centre, outer or inner [default: centre]
    #[arg(long, value_name = "EDGE", value_parser = cli::line_edge)]
    pub(in crate::cli) line_edge: Option<LineEdge>,
    /// Which axis of the mesh file points up: y (facing z) or z (facing -y) [default: told from the drawing]
    #[arg(long, value_name = "y|z", value_parser = cli::up_axis)]
    pub(in crate::cli) up: Option<UpAxis>,
    /// Along which axis of the mesh file the figure looks: x, -x, y, -y, z or -z [default: told from the drawing]
    #[arg(long, value_name = "AXIS", value_parser = cli::heading, allow_hyphen_values = true)]
    pub(in crate::cli) facing: Option<Heading>,
    /// Name of the mesh's unit of length
    #[arg(long, value_name = "LABEL")]
    pub(in crate::cli) unit: Option<String>,
    /// Settings kept in a file, made by `drawntrue setup`; options on the command line win over it
    #[arg(long, value_name = "FILE")]
    pub(in crate::cli) setup: Option<PathBuf>,
    /// Height of the overlay pictures in pixels; text and lines grow with it
    #[arg(long, value_name = "PIXELS", value_parser = picture_height, default_value_t = PICTURE_HEIGHT)]
    pub(in crate::cli) picture_height: u32,
    /// Name of this version in the history, for instance "week 3"
    #[arg(long = "as", value_name = "NAME", value_parser = version_name)]
    pub(in crate::cli) version_name: Option<String>,
    /// Add no line to history.jsonl, the one result that carries the time
    #[arg(long)]
    pub(in crate::cli) no_history: bool,
    /// Also write contact.png, 1920 pixels wide, for a chat or a review: the mesh softly shaded beside the drawing, at
    /// one scale on one ground line, with the verdict and the worst findings in words
    #[arg(long)]
    pub(in crate::cli) contact: bool,
    /// Leave out report.html, the page with everything in one file
    #[arg(long)]
    pub(in crate::cli) no_page: bool,
    /// Print the table of landmarks too: heights of crown, chin, neck and so on in drawing and mesh, also in heads
    #[arg(long)]
    pub(in crate::cli) landmarks: bool,
    /// Say for each finding which loops to move where, by how much and over what distance it should fade out; also as
    /// arrows in the pictures and, vertex by vertex, in moves.csv
    #[arg(long)]
    pub(in crate::cli) advise: bool,
    /// Hold the landmarks against a canon (segments, survey-men, survey-women, seven-and-a-half-heads, eight-heads) or
    /// against another character's landmarks.csv: information, no finding [default: none]
    #[arg(long, value_name = "NAME|FILE")]
    pub(in crate::cli) canon: Option<String>,
    #[command(flatten)]
    pub(in crate::cli) pictures: PictureLimit,
    #[command(flatten)]
    pub(in crate::cli) meshes: MeshArguments,
    /// Print nothing but errors
    #[arg(long)]
    pub(in crate::cli) quiet: bool,
}

pub(in crate::cli) fn positive(text: &str) -> std::result::Result<f64, String> {
    match text.parse::<f64>() {
        Ok(v) if v.is_finite() && v > 0.0 => Ok(v),
        _ => Err("a number above zero is needed".to_string()),
    }
}

/// Parses `--as`.
fn version_name(text: &str) -> std::result::Result<String, String> {
    /// Longest name, characters: it stands in a column of a table.
    const LONGEST: usize = 60;
    let name = text.trim();
    match name.chars().count() {
        1..=LONGEST if !name.contains(char::is_control) => Ok(name.to_string()),
        _ => Err(format!("a name of 1 to {LONGEST} letters on one line is needed")),
    }
}

fn picture_height(text: &str) -> std::result::Result<u32, String> {
    let (least, most) = (PICTURE_HEIGHTS.start(), PICTURE_HEIGHTS.end());
    text.parse()
        .ok()
        .filter(|v| PICTURE_HEIGHTS.contains(v))
        .ok_or_else(|| format!("a whole number from {least} to {most} is needed"))
}

/// An image to be read: where it lies, what it was given as, and what its setup says.
#[derive(Clone, PartialEq)]
pub(in crate::cli) struct Image {
    pub(in crate::cli) path: PathBuf,
    pub(super) asked: Asked,
    pub(super) setup: ImageSetup,
}

impl CheckArguments {
    /// The options in force: those of the command line, else the setup's, else the usual.
    pub(super) fn settings(&self, setup: &Setup) -> Settings {
        let names = |typed: &Vec<String>, kept: &Option<Vec<String>>| {
            if typed.is_empty() {
                kept.clone().unwrap_or_default()
            } else {
                typed.clone()
            }
        };
        // What is typed wins over what is kept: a typed scale also over a kept height, and the reverse.
        let figure_height = self
            .figure_height
            .or(setup.figure_height.filter(|_| self.scale.is_none()));
        let scale = self
            .scale
            .or(setup.scale.filter(|_| self.figure_height.is_none()));
        let stage = self.stage.or(setup.stage);
        let preset = stage.map(Stage::tolerances);
        // A typed preset wins over kept numbers, typed numbers win over it.
        let kept = |v: Option<f64>| v.filter(|_| self.stage.is_none());
        let (up, facing) = if self.up.is_some() || self.facing.is_some() {
            (self.up, self.facing)
        } else {
            (setup.mesh.up, setup.mesh.facing)
        };
        Settings {
            figure_height,
            scale,
            ground: self.ground.or(setup.ground),
            hold_placement: self.hold_placement || setup.hold_placement == Some(true),
            lead: self.lead.or(setup.lead),
            smooth: self.smooth.or(setup.smooth),
            stage,
            tolerance_pct: self
                .tolerance
                .or(kept(setup.tolerance))
                .or(preset.map(|p| p.0))
                .unwrap_or(TOLERANCE_PCT),
            tolerance_width_pct: self
                .tolerance_width
                .or(kept(setup.tolerance_width))
                .or(preset.and_then(|p| p.1)),
            unfinished: self.unfinished || setup.unfinished == Some(true),
            mirror: self.mirror || setup.mesh.mirror == Some(true),
            arms: self.arms.or(setup.arms).unwrap_or_default(),
            canon: self.canon.clone().or(setup.canon.clone()),
            groups: names(&self.groups, &setup.mesh.groups),
            skip_groups: names(&self.skip_groups, &setup.mesh.skip_groups),
            borders: setup.mesh.borders.clone().unwrap_or_default(),
            plane: setup.mesh.plane,
            line_edge: self
                .line_edge
                .or(setup.images.first().and_then(|i| i.line_edge))
                .unwrap_or_default(),
            up,
            facing,
            unit: self.unit.clone().or(setup.unit.clone()).unwrap_or_default(),
        }
    }

    /// The images of the command line, else the setup's, each with what the setup says of it.
    pub(super) fn images(&self, setup: &Setup) -> Result<Vec<Image>> {
        let typed: Vec<(&PathBuf, Asked)> = [
            (&self.sheet, Asked::Any),
            (&self.front, Asked::Front),
            (&self.side, Asked::Side),
            (&self.back, Asked::Back),
            (&self.top, Asked::Top),
        ]
        .into_iter()
        .filter_map(|(p, a)| p.as_ref().map(|p| (p, a)))
        .collect();
        let mut images: Vec<Image> = if typed.is_empty() {
            setup
                .images
                .iter()
                .map(|i| Image {
                    path: i.file.clone(),
                    asked: asked(i.shows),
                    setup: i.clone(),
                })
                .collect()
        } else {
            typed
                .into_iter()
                .map(|(path, asked)| Image {
                    path: path.clone(),
                    asked,
                    setup: cli::setup::of_image(setup, path),
                })
                .collect()
        };
        for image in &mut images {
            image.setup.line_edge = self.line_edge.or(image.setup.line_edge);
            if image.asked == Asked::Top {
                image.setup.shows = Shows::Top;
            }
        }
        if images.is_empty() {
            return Err(
                Error::new("no drawing is given").advise("give --sheet, or an [[image]] in the setup")
            );
        }
        Ok(images)
    }
}

fn asked(shows: Shows) -> Asked {
    match shows {
        Shows::Sheet => Asked::Any,
        Shows::Front => Asked::Front,
        Shows::Side => Asked::Side,
        Shows::Back => Asked::Back,
        Shows::Top => Asked::Top,
    }
}
