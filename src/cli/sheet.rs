//! `drawntrue sheet`: reads a drawing and says what it shows.

use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use super::EXIT_WITHIN;
use super::limits::PictureLimit;
use crate::error::{Error, Result};
use crate::report::files;
use crate::report::model::{Agreement, DrawnView, Facing, LineEdge, SHEET_SCHEMA, SheetImage};
use crate::report::overlay::StepPictures;
use crate::setup::{ImageSetup, SetupFile};
use crate::sheet::decode::decode;
use crate::sheet::picture::Picture;
use crate::sheet::read::{Figure, Reading, read_overruled, read_watched};
use crate::sheet::views;

/// Arguments of `drawntrue sheet`.
#[derive(Debug, Args)]
pub(super) struct SheetArguments {
    /// The drawing: PNG, JPEG, TIFF or WebP
    image: PathBuf,
    /// Write the reading as JSON to a file, or to standard output with `-`
    #[arg(long, value_name = "FILE|-")]
    json: Option<PathBuf>,
    /// Which edge of an ink line is the outline: centre, outer or inner [default: centre]
    #[arg(long, value_name = "EDGE", value_parser = super::line_edge)]
    line_edge: Option<LineEdge>,
    /// Write a numbered picture of every step of the reading into a folder
    #[arg(long, value_name = "DIR")]
    stages: Option<PathBuf>,
    /// Settings kept in a file, made by `drawntrue setup`
    #[arg(long, value_name = "FILE")]
    setup: Option<PathBuf>,
    #[command(flatten)]
    pictures: PictureLimit,
}

/// What the command writes.
#[derive(Debug, Serialize)]
struct Document {
    schema: &'static str,
    images: Vec<SheetImage>,
    views: Vec<OutlinedView>,
    agreement: Agreement,
}

#[derive(Debug, Serialize)]
struct OutlinedView {
    #[serde(flatten)]
    view: DrawnView,
    /// Closed rings in upright pixels.
    outline_px: Vec<Vec<[f64; 2]>>,
}

pub(super) fn run(arguments: &SheetArguments) -> Result<u8> {
    let file = arguments.setup.as_deref().map(SetupFile::read).transpose()?;
    let setup = file.map(|f| f.setup).unwrap_or_default();
    let mut image = super::setup::of_image(&setup, &arguments.image);
    image.line_edge = arguments.line_edge.or(image.line_edge);
    let limit = arguments.pictures;
    let bytes = limit.read(&arguments.image)?;
    let picture = decode(&bytes, limit.max_pixels).map_err(|e| e.in_file(&arguments.image))?;
    let mut reading = match &arguments.stages {
        None => read_overruled(&picture, &image.overrules()),
        Some(folder) => watched(&picture, &image, folder, arguments)?,
    }
    .map_err(|e| e.in_file(&arguments.image))?;
    image.apply(&mut reading);
    let views = named(&reading, &image);
    match &arguments.json {
        Some(to) => {
            let text =
                serde_json::to_string(&document(&reading, views)).map_err(|e| Error::new(e.to_string()))?;
            if to.as_os_str() == "-" {
                super::print(&format!("{text}\n"))?;
            } else {
                files::write_to(to, text.as_bytes(), &[&arguments.image])?;
            }
        }
        None => {
            super::print(&described(&reading, &views))?;
        }
    }
    Ok(EXIT_WITHIN)
}

/// Reads and writes a picture of every step, also of a reading that fails: then they show how far it came.
fn watched(
    picture: &Picture,
    image: &ImageSetup,
    folder: &Path,
    arguments: &SheetArguments,
) -> Result<Result<Reading>> {
    let mut pictures = StepPictures::default();
    let reading = read_watched(picture, &image.overrules(), &mut pictures);
    let files = pictures.finish(reading.as_ref().ok())?;
    files::write_plain(folder, &files, &[&arguments.image])?;
    Ok(reading)
}

/// The views with their names: the setup's, else what the drawing itself tells.
fn named(reading: &Reading, setup: &ImageSetup) -> Vec<DrawnView> {
    let signs: Vec<_> = reading
        .figures
        .iter()
        .map(|f| views::signs(&f.level, f.face))
        .collect();
    let found = views::name(&signs);
    let plain: Vec<(&str, Facing)> = reading
        .figures
        .iter()
        .zip(&found)
        .map(|(f, (name, facing))| match setup.name_of(f.box_px) {
            Some("front") => ("front", Facing::Viewer),
            Some("back") => ("back", Facing::Away),
            // Which way a side view looks is seen in the drawing only.
            Some(said) => (said, *facing),
            None => (views::kind(name), *facing),
        })
        .collect();
    let plain = views::number(&plain);
    reading
        .figures
        .iter()
        .zip(plain)
        .map(|(f, (name, facing))| DrawnView::new(f, name, facing, 0))
        .collect()
}

/// The reading in a few lines.
fn described(reading: &Reading, views: &[DrawnView]) -> String {
    let mut out = format!(
        "turned by {:.2} degrees, {} guide lines\n",
        reading.skew_deg,
        reading.guide_lines_px.len()
    );
    for v in views {
        let [x0, y0, x1, y1] = v.box_px;
        let facing = format!("{:?}", v.facing).to_lowercase();
        let line = if v.line_px > 0.0 {
            format!("line {:.1} px", v.line_px)
        } else {
            "no ink line".to_string()
        };
        out += &format!(
            "{:<14} facing {facing:<7} x {x0:.0} to {x1:.0}, y {y0:.0} to {y1:.0}, {line}, sure {:.2}\n",
            v.name, v.confidence
        );
        for w in &v.warnings {
            out += &format!("               {w}\n");
        }
    }
    out
}

fn document(reading: &Reading, views: Vec<DrawnView>) -> Document {
    let outline = |f: &Figure| {
        f.upright
            .rings
            .iter()
            .map(|r| r.iter().map(|p| [round(p.x), round(p.y)]).collect())
            .collect::<Vec<Vec<[f64; 2]>>>()
    };
    Document {
        schema: SHEET_SCHEMA,
        images: vec![SheetImage {
            skew_deg: reading.skew_deg,
            guide_lines_px: reading.guide_lines_px.clone(),
        }],
        agreement: Agreement::default(),
        views: reading
            .figures
            .iter()
            .zip(views)
            .map(|(f, view)| OutlinedView {
                view,
                outline_px: outline(f),
            })
            .collect(),
    }
}

fn round(v: f64) -> f64 {
    (v * 1000.0).round() / 1000.0
}
