//! `drawntrue check`: a mesh against its turnaround drawing.

use std::io::IsTerminal as _;
use std::path::{Path, PathBuf};

use clap::Args;
use sha2::{Digest as _, Sha256};

use super::progress::Progress;
use super::{EXIT_OFF, EXIT_WITHIN, read_file};
use crate::check::{Checked, ImageRead, check};
use crate::error::{Error, Result};
use crate::mesh::obj;
use crate::mesh::prepare::{Preparation, prepare};
use crate::mesh::select::Choice;
use crate::mesh::{Mesh, UpAxis};
use crate::place::assign::Asked;
use crate::report::look::{PICTURE_HEIGHT, PICTURE_HEIGHTS};
use crate::report::model::{LineEdge, MeshInput, Settings, SheetInput, Verdict};
use crate::report::overlay::{Subject, overlay, overlay_all};
use crate::report::terminal::{self, Style, summary};
use crate::report::{csv, files, json};
use crate::sheet::decode::{DEFAULT_MAX_PIXELS, decode};
use crate::sheet::picture::Picture;
use crate::sheet::read::read;

/// Most views that a turnaround shows.
const MOST_VIEWS: usize = 6;

/// Arguments of `drawntrue check`, as typed.
#[derive(Debug, Args)]
pub(super) struct CheckArguments {
    /// The mesh: OBJ
    mesh: PathBuf,
    /// The turnaround drawing, all views in one image: PNG, JPEG, TIFF or WebP
    #[arg(long, value_name = "IMAGE", conflicts_with_all = ["front", "side", "back"], required_unless_present_any = ["front", "side", "back"])]
    sheet: Option<PathBuf>,
    /// The front view in an image of its own
    #[arg(long, value_name = "IMAGE")]
    front: Option<PathBuf>,
    /// The side view in an image of its own
    #[arg(long, value_name = "IMAGE")]
    side: Option<PathBuf>,
    /// The back view in an image of its own
    #[arg(long, value_name = "IMAGE")]
    back: Option<PathBuf>,
    /// Folder for the results
    #[arg(long, value_name = "DIR", default_value = "out")]
    out: PathBuf,
    /// Height of the drawn figure from ground to crown in mesh units, its ground at y = 0 (without it scale and
    /// ground are found)
    #[arg(long, value_name = "H", value_parser = positive)]
    figure_height: Option<f64>,
    /// How far the mesh may lie off the drawing, in percent of the figure height
    #[arg(long, value_name = "PCT", default_value = "1", value_parser = positive)]
    tolerance: f64,
    /// Parts of the drawing that the mesh does not have yet are listed but not held against it
    #[arg(long)]
    unfinished: bool,
    /// The mesh is one half: mirror it at its border plane and join it first
    #[arg(long)]
    mirror: bool,
    /// Only these groups of the file count
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    groups: Vec<String>,
    /// These groups of the file do not count
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    skip_groups: Vec<String>,
    /// Which edge of an ink line is the outline: centre, outer or inner
    #[arg(long, value_name = "EDGE", value_parser = super::line_edge, default_value = "centre")]
    line_edge: LineEdge,
    /// Which axis of the mesh file points up: y (facing +z) or z (facing −y)
    #[arg(long, value_name = "y|z", value_parser = up_axis, default_value = "y")]
    up: UpAxis,
    /// Name of the mesh's unit of length
    #[arg(long, value_name = "LABEL", default_value = "")]
    unit: String,
    /// Height of the overlay pictures in pixels; text and lines grow with it
    #[arg(long, value_name = "PIXELS", value_parser = picture_height, default_value_t = PICTURE_HEIGHT)]
    picture_height: u32,
    /// Print nothing but errors
    #[arg(long)]
    quiet: bool,
}

fn positive(text: &str) -> std::result::Result<f64, String> {
    match text.parse::<f64>() {
        Ok(v) if v.is_finite() && v > 0.0 => Ok(v),
        _ => Err("a number above zero is needed".to_string()),
    }
}

fn picture_height(text: &str) -> std::result::Result<u32, String> {
    let (least, most) = (PICTURE_HEIGHTS.start(), PICTURE_HEIGHTS.end());
    text.parse()
        .ok()
        .filter(|v| PICTURE_HEIGHTS.contains(v))
        .ok_or_else(|| format!("a whole number from {least} to {most} is needed"))
}

fn up_axis(text: &str) -> std::result::Result<UpAxis, String> {
    match text {
        "y" => Ok(UpAxis::Y),
        "z" => Ok(UpAxis::Z),
        _ => Err("use y or z".to_string()),
    }
}

impl CheckArguments {
    fn settings(&self) -> Settings {
        Settings {
            figure_height: self.figure_height,
            tolerance_pct: self.tolerance,
            unfinished: self.unfinished,
            mirror: self.mirror,
            groups: self.groups.clone(),
            skip_groups: self.skip_groups.clone(),
            line_edge: self.line_edge,
            up: self.up,
            unit: self.unit.clone(),
        }
    }

    fn images(&self) -> Vec<(&Path, Asked)> {
        [
            (&self.sheet, Asked::Any),
            (&self.front, Asked::Front),
            (&self.side, Asked::Side),
            (&self.back, Asked::Back),
        ]
        .into_iter()
        .filter_map(|(p, a)| p.as_deref().map(|p| (p, a)))
        .collect()
    }
}

pub(super) fn run(arguments: &CheckArguments) -> Result<u8> {
    let progress = Progress::new(!arguments.quiet);
    files::prepare(&arguments.out)?;
    let named = arguments.images();
    for (i, (path, _)) in named.iter().enumerate() {
        if named[..i].iter().any(|(p, _)| p == path) {
            return Err(Error::new("the same image is given for two views")
                .in_file(path)
                .advise("give each view its own image, or use --sheet"));
        }
    }
    progress.step("reading mesh and drawing");
    let (mesh, sheets) = rayon::join(
        || read_mesh(arguments),
        || {
            named
                .iter()
                .map(|(p, a)| read_image(p, *a, arguments.line_edge))
                .collect::<Result<Vec<_>>>()
        },
    );
    let ((mesh, mesh_input, notes), sheets) = (mesh?, sheets?);
    let (pictures, images): (Vec<Picture>, Vec<ImageRead>) = sheets.into_iter().unzip();
    progress.step("comparing");
    let checked = check(&mesh, mesh_input, &images, arguments.settings(), notes)?;
    progress.step("drawing overlays");
    let outputs = outputs(&checked, &pictures, &images, arguments.picture_height)?;
    let mut inputs: Vec<&Path> = named.iter().map(|(p, _)| *p).collect();
    inputs.push(&arguments.mesh);
    let written = files::write(&arguments.out, &outputs, &inputs)?;
    progress.done();
    if !arguments.quiet {
        let colour = std::io::stdout().is_terminal() && std::env::var_os("NO_COLOR").is_none();
        let style = if colour { Style::Colour } else { Style::Plain };
        let names: Vec<String> = written
            .iter()
            .filter_map(|p| p.file_name())
            .map(|n| n.to_string_lossy().into_owned())
            .collect();
        anstream::print!("{}", summary(&checked.report, style));
        anstream::println!("{}", terminal::written(&arguments.out, &names));
    }
    Ok(if checked.report.verdict == Verdict::OnModel {
        EXIT_WITHIN
    } else {
        EXIT_OFF
    })
}

fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|b| format!("{b:02x}")).collect()
}

fn read_mesh(arguments: &CheckArguments) -> Result<(Mesh, MeshInput, Vec<String>)> {
    let path = &arguments.mesh;
    let bytes = read_file(path)?;
    let mesh = obj::read(&bytes, obj::Limits::default()).map_err(|e| e.in_file(path))?;
    let counts = mesh.face_counts();
    let input = MeshInput {
        path: path.display().to_string(),
        sha256: hash(&bytes),
        vertices: mesh.positions().len(),
        faces: mesh.face_count(),
        triangles: counts.triangles,
        quads: counts.quads,
        ngons: counts.ngons,
    };
    let how = Preparation {
        up: arguments.up,
        choice: Choice {
            groups: arguments.groups.clone(),
            skip_groups: arguments.skip_groups.clone(),
        },
        mirror: arguments.mirror,
    };
    let noted = prepare(mesh, &how).map_err(|e| e.in_file(path))?;
    Ok((noted.mesh, input, noted.notes))
}

fn read_image(path: &Path, asked: Asked, edge: LineEdge) -> Result<(Picture, ImageRead)> {
    let bytes = read_file(path)?;
    let picture = decode(&bytes, DEFAULT_MAX_PIXELS).map_err(|e| e.in_file(path))?;
    let reading = read(&picture, edge).map_err(|e| e.in_file(path))?;
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
        Asked::Front | Asked::Side | Asked::Back if count > 1 => Some((
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
        sha256: hash(&bytes),
        width_px: picture.width() as u32,
        height_px: picture.height() as u32,
    };
    Ok((
        picture,
        ImageRead {
            asked,
            reading,
            input,
        },
    ))
}

fn outputs(
    checked: &Checked,
    pictures: &[Picture],
    images: &[ImageRead],
    height: u32,
) -> Result<Vec<files::Output>> {
    use rayon::prelude::*;
    let report = &checked.report;
    let subjects: Vec<Subject<'_>> = checked
        .views
        .iter()
        .enumerate()
        .map(|(view, shown)| Subject {
            report,
            view,
            shown,
            picture: &pictures[shown.image],
            reading: &images[shown.image].reading,
        })
        .collect();
    let (all, single) = rayon::join(
        || overlay_all(&subjects, height),
        || {
            subjects
                .par_iter()
                .map(|s| {
                    let name = files::overlay_name(&report.views[s.view].name);
                    overlay(s, height).map(|png| (name, png))
                })
                .collect::<Result<Vec<_>>>()
        },
    );
    let mut out = vec![
        ("report.json".to_string(), json::write(report)?),
        ("rows.csv".to_string(), csv::write(report)?),
        (files::overlay_name("all"), all?),
    ];
    out.extend(single?);
    Ok(out)
}
