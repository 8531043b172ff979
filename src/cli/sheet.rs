//! `drawntrue sheet`: reads a drawing and says what it shows.

use std::io::Write as _;
use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use super::{EXIT_WITHIN, read_file};
use crate::error::{Error, Result};
use crate::report::files;
use crate::report::model::{Agreement, DrawnView, LineEdge, SHEET_SCHEMA, SheetImage};
use crate::sheet::decode::{DEFAULT_MAX_PIXELS, decode};
use crate::sheet::read::{Figure, Reading, read};
use crate::sheet::views;

/// Arguments of `drawntrue sheet`.
#[derive(Debug, Args)]
pub(super) struct SheetArguments {
    /// The drawing: PNG, JPEG, TIFF or WebP
    image: PathBuf,
    /// Write the reading as JSON to a file, or to standard output with `-`
    #[arg(long, value_name = "FILE|-")]
    json: Option<PathBuf>,
    /// Which edge of an ink line is the outline
    #[arg(long, value_name = "EDGE", value_parser = super::line_edge, default_value = "centre")]
    line_edge: LineEdge,
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
    let bytes = read_file(&arguments.image)?;
    let reading = decode(&bytes, DEFAULT_MAX_PIXELS)
        .and_then(|picture| read(&picture, arguments.line_edge))
        .map_err(|e| e.in_file(&arguments.image))?;
    let named = views::name(
        &reading
            .figures
            .iter()
            .map(|f| views::signs(&f.level, f.face))
            .collect::<Vec<_>>(),
    );
    let views: Vec<DrawnView> = reading
        .figures
        .iter()
        .zip(named)
        .map(|(f, (name, facing))| DrawnView::new(f, name, facing, 0))
        .collect();
    match &arguments.json {
        Some(to) => {
            let text =
                serde_json::to_string(&document(&reading, views)).map_err(|e| Error::new(e.to_string()))?;
            if to.as_os_str() == "-" {
                writeln!(std::io::stdout(), "{text}")
                    .map_err(|e| Error::new(format!("cannot write the result ({e})")))?;
            } else {
                write_whole(to, text.as_bytes(), &arguments.image)?;
            }
        }
        None => {
            anstream::print!("{}", described(&reading, &views));
        }
    }
    Ok(EXIT_WITHIN)
}

/// Writes a file whole or not at all, never over the drawing.
fn write_whole(to: &Path, content: &[u8], image: &Path) -> Result<()> {
    let folder = to
        .parent()
        .filter(|p| !p.as_os_str().is_empty())
        .unwrap_or(Path::new("."));
    let name = to.file_name().ok_or_else(|| {
        Error::new("this is not the name of a file")
            .in_file(to)
            .advise("give --json a file name")
    })?;
    files::write_one(folder, &name.to_string_lossy(), content, &[image]).map(|_| ())
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
