//! `drawntrue check`: a mesh against its turnaround drawing.

use std::io::IsTerminal as _;
use std::path::{Path, PathBuf};

use clap::Args;
use sha2::{Digest as _, Sha256};

use super::limits::{MeshArguments, PictureLimit, read_placement, read_table};
use super::progress::Progress;
use super::{EXIT_OFF, EXIT_WITHIN};
use crate::check::{Checked, HELD_FILE, Held, ImageRead, Kept, Settled, check_with};
use crate::compare::canons::Canon;
use crate::compare::proportions::proportions;
use crate::error::{Error, Result};
use crate::mesh::formats::{self, Format, FromFile};
use crate::mesh::mirror::looks_like_a_half;
use crate::mesh::prepare::{Preparation, prepare};
use crate::mesh::select::Choice;
use crate::mesh::{Axes, Heading, Mesh, UpAxis};
use crate::place::assign::Asked;
use crate::report::look::{PICTURE_HEIGHT, PICTURE_HEIGHTS};
use crate::report::model::{
    ArmsMode, Lead, LineEdge, MeshInput, Settings, SetupInput, SheetInput, Smoothing, Stage, Verdict,
};
use crate::report::overlay::{Subject, overlays};
use crate::report::page::page;
use crate::report::terminal::{self, Style, summary};
use crate::report::{csv, files, json};
use crate::setup::{ImageSetup, Setup, SetupFile, Shows};
use crate::sheet::decode::decode;
use crate::sheet::picture::Picture;
use crate::sheet::read::read_overruled;

/// The tolerance where none is given.
const TOLERANCE_PCT: f64 = 1.0;
/// Most views that a turnaround shows.
const MOST_VIEWS: usize = 6;

/// Arguments of `drawntrue check`, as typed.
#[derive(Debug, Clone, Args)]
pub(super) struct CheckArguments {
    /// The mesh: OBJ, glTF, PLY or STL
    pub(super) mesh: PathBuf,
    /// The turnaround drawing, all views in one image: PNG, JPEG, TIFF or WebP
    #[arg(long, value_name = "IMAGE", conflicts_with_all = ["front", "side", "back"], required_unless_present_any = ["front", "side", "back", "setup"])]
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
    pub(super) out: PathBuf,
    /// The view from above in an image of its own; up in the picture is behind the figure, or another quarter turn
    #[arg(long, value_name = "IMAGE")]
    top: Option<PathBuf>,
    /// Height of the drawn figure from ground to crown in mesh units, its ground at y = 0 unless --ground says
    /// otherwise (without it scale and ground are found)
    #[arg(long, value_name = "H", value_parser = positive, conflicts_with = "scale")]
    figure_height: Option<f64>,
    /// Mesh units for a pixel of the leading view's image; what is not given is still found
    #[arg(long, value_name = "UNITS_PER_PX", value_parser = positive)]
    scale: Option<f64>,
    /// Mesh height at which the drawn ground of the leading view lies; what is not given is still found
    #[arg(long, value_name = "Y", value_parser = super::finite, allow_hyphen_values = true)]
    ground: Option<f64>,
    /// The view that leads where the drawn views differ, front or side: scale and ground are found from it alone
    /// [default: all views together, heights counted by the front]
    #[arg(long, value_name = "VIEW", value_parser = super::lead)]
    lead: Option<Lead>,
    /// Compare the surface after so many Catmull-Clark steps, 1 to 5, or in the limit; the cage is then shown beside it
    /// [default: the cage decides, the limit surface is shown beside it for up to 20,000 faces]
    #[arg(long, value_name = "N|limit", value_parser = super::smoothing)]
    smooth: Option<Smoothing>,
    /// Keep the first placement of a series in placement.json beside the results and use it in later runs, so that
    /// numbers of places nobody touched do not move
    #[arg(long)]
    hold_placement: bool,
    /// How far the mesh may lie off the drawing, in percent of the figure height [default: 1]
    #[arg(long, value_name = "PCT", value_parser = positive)]
    tolerance: Option<f64>,
    /// Also in percent of the local width, that of the part at this height: the closer of the two limits holds, but
    /// never less than 0.15 % of the figure height, to which a hand is true [default: off]
    #[arg(long, value_name = "PCT", value_parser = positive)]
    tolerance_width: Option<f64>,
    /// Tolerances for a stage of the work: block-in (2 % of the height), refine (1 %, and 10 % of the local width),
    /// final (0.5 %, and 5 % of the local width); --tolerance and --tolerance-width win over it
    #[arg(long, value_name = "STAGE", value_parser = super::stage)]
    stage: Option<Stage>,
    /// Parts of the drawing that the mesh does not have yet are listed but not held against it
    #[arg(long)]
    unfinished: bool,
    /// The mesh is one half: mirror it at its border plane and join it first
    #[arg(long)]
    mirror: bool,
    /// The mesh's arms: as-modelled, drop (turned until they hang as the drawn ones; both arms are then compared),
    /// DEGREES below the horizontal, or ignore (left out) [default: as-modelled]
    #[arg(long, value_name = "drop|DEGREES|ignore", value_parser = super::arms_mode, allow_hyphen_values = true)]
    arms: Option<ArmsMode>,
    /// Only these groups of the file count
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    groups: Vec<String>,
    /// These groups of the file do not count
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    skip_groups: Vec<String>,
    /// Which edge of an ink line is the outline: centre, outer or inner [default: centre]
    #[arg(long, value_name = "EDGE", value_parser = super::line_edge)]
    line_edge: Option<LineEdge>,
    /// Which axis of the mesh file points up: y (facing z) or z (facing -y) [default: told from the drawing]
    #[arg(long, value_name = "y|z", value_parser = super::up_axis)]
    up: Option<UpAxis>,
    /// Along which axis of the mesh file the figure looks: x, -x, y, -y, z or -z [default: told from the drawing]
    #[arg(long, value_name = "AXIS", value_parser = super::heading, allow_hyphen_values = true)]
    facing: Option<Heading>,
    /// Name of the mesh's unit of length
    #[arg(long, value_name = "LABEL")]
    unit: Option<String>,
    /// Settings kept in a file, made by `drawntrue setup`; options on the command line win over it
    #[arg(long, value_name = "FILE")]
    pub(super) setup: Option<PathBuf>,
    /// Height of the overlay pictures in pixels; text and lines grow with it
    #[arg(long, value_name = "PIXELS", value_parser = picture_height, default_value_t = PICTURE_HEIGHT)]
    picture_height: u32,
    /// Leave out report.html, the page with everything in one file
    #[arg(long)]
    pub(super) no_page: bool,
    /// Print the table of landmarks too: heights of crown, chin, neck and so on in drawing and mesh, also in heads
    #[arg(long)]
    pub(super) landmarks: bool,
    /// Hold the landmarks against a canon (segments, survey-men, survey-women, seven-and-a-half-heads, eight-heads) or
    /// against another character's landmarks.csv: information, no finding [default: none]
    #[arg(long, value_name = "NAME|FILE")]
    canon: Option<String>,
    #[command(flatten)]
    pub(super) pictures: PictureLimit,
    #[command(flatten)]
    pub(super) meshes: MeshArguments,
    /// Print nothing but errors
    #[arg(long)]
    pub(super) quiet: bool,
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

/// An image to be read: where it lies, what it was given as, and what its setup says.
#[derive(Clone, PartialEq)]
pub(super) struct Image {
    pub(super) path: PathBuf,
    asked: Asked,
    setup: ImageSetup,
}

impl CheckArguments {
    /// The options in force: those of the command line, else the setup's, else the usual.
    fn settings(&self, setup: &Setup) -> Settings {
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
    fn images(&self, setup: &Setup) -> Result<Vec<Image>> {
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
                    setup: super::setup::of_image(setup, path),
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

/// What is to be checked, by the command line and the setup file.
pub(super) struct Case {
    pub(super) settings: Settings,
    pub(super) setup: Setup,
    pub(super) images: Vec<Image>,
    setup_input: Option<SetupInput>,
    canon: Option<Canon>,
}

/// A mesh as it was read, made ready to be checked.
pub(super) struct MeshRead {
    mesh: Mesh,
    pub(super) input: MeshInput,
    notes: Vec<String>,
    format: Format,
}

impl CheckArguments {
    /// Reads the setup file, and says what is to be checked.
    pub(super) fn case(&self) -> Result<Case> {
        let file = self.setup.as_deref().map(SetupFile::read).transpose()?;
        let setup = file.as_ref().map(|f| f.setup.clone()).unwrap_or_default();
        let settings = self.settings(&setup);
        let images = self.images(&setup)?;
        for (i, image) in images.iter().enumerate() {
            if images[..i].iter().any(|other| other.path == image.path) {
                return Err(Error::new("the same image is given for two views")
                    .in_file(&image.path)
                    .advise("give each view its own image, or use --sheet"));
            }
        }
        let canon = settings.canon.as_deref().map(read_canon).transpose()?;
        Ok(Case {
            settings,
            setup,
            images,
            setup_input: self.setup.as_ref().zip(file).map(|(path, f)| SetupInput {
                path: path.display().to_string(),
                sha256: hash(f.text.as_bytes()),
            }),
            canon,
        })
    }

    /// The files that are read, none of which is ever written to.
    pub(super) fn inputs<'a>(&'a self, case: &'a Case) -> Vec<&'a Path> {
        let images = case.images.iter().map(|i| i.path.as_path());
        images
            .chain([self.mesh.as_path()])
            .chain(self.setup.as_deref())
            .collect()
    }
}

impl Case {
    /// Checks a mesh against read images.
    pub(super) fn check(
        &self,
        mesh: &MeshRead,
        images: &[ImageRead],
        held: Option<&Held>,
        settled: Option<&Settled>,
    ) -> Result<Checked> {
        let mut settings = self.settings.clone();
        // What the format fixes counts where nothing else was said.
        if let Some(axes) = mesh.format.axes().filter(|_| settings.axes().is_none()) {
            settings.up = Some(axes.up());
        }
        if settings.unit.is_empty() {
            settings.unit = mesh.format.unit().unwrap_or_default().to_string();
        }
        let kept = Kept {
            held,
            settled,
            setup: Some(&self.setup),
        };
        let mut checked = check_with(
            &mesh.mesh,
            mesh.input.clone(),
            images,
            settings,
            mesh.notes.clone(),
            &kept,
        )?;
        let report = &mut checked.report;
        report.inputs.setup.clone_from(&self.setup_input);
        report.proportions = self.canon.as_ref().map(|c| proportions(&report.landmarks, c));
        Ok(checked)
    }
}

/// The placement that an earlier run kept beside the results, where the settings ask for it.
pub(super) fn kept_placement(folder: &Path, settings: &Settings) -> Result<Option<Held>> {
    let kept = folder.join(HELD_FILE);
    if !settings.hold_placement || !kept.exists() {
        return Ok(None);
    }
    let held = Held::parse(&read_placement(&kept)?).map_err(|e| e.in_file(&kept))?;
    Ok(Some(held))
}

pub(super) fn run(arguments: &CheckArguments) -> Result<u8> {
    let progress = Progress::new(!arguments.quiet);
    files::prepare(&arguments.out)?;
    let case = arguments.case()?;
    progress.step("reading mesh and drawing");
    let (mesh, sheets) = rayon::join(
        || arguments.read_mesh(&case.settings),
        || {
            case.images
                .iter()
                .map(|i| arguments.read_image(i))
                .collect::<Result<Vec<_>>>()
        },
    );
    let (mesh, sheets) = (mesh?, sheets?);
    let (pictures, images): (Vec<Picture>, Vec<ImageRead>) = sheets.into_iter().unzip();
    progress.step("comparing");
    let held = kept_placement(&arguments.out, &case.settings)?;
    let checked = case.check(&mesh, &images, held.as_ref(), None)?;
    progress.step("drawing overlays");
    let outputs = outputs(&checked, &pictures, &images, arguments)?;
    let written = files::write(&arguments.out, &outputs, &arguments.inputs(&case))?;
    progress.done();
    if !arguments.quiet {
        let colour = std::io::stdout().is_terminal() && std::env::var_os("NO_COLOR").is_none();
        let style = if colour { Style::Colour } else { Style::Plain };
        let names: Vec<String> = written
            .iter()
            .filter_map(|p| p.file_name())
            .map(|n| n.to_string_lossy().into_owned())
            .collect();
        super::print(&summary(&checked.report, style))?;
        super::print(&terminal::proportions(&checked.report, style))?;
        if arguments.landmarks {
            super::print(&terminal::landmarks(&checked.report, style))?;
        }
        super::print(&format!(
            "{}
",
            terminal::written(&arguments.out, &names)
        ))?;
    }
    Ok(if checked.report.verdict == Verdict::OnModel {
        EXIT_WITHIN
    } else {
        EXIT_OFF
    })
}

/// A canon by its name, or another character's table.
fn read_canon(name: &str) -> Result<Canon> {
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
    let rows = csv::read_landmarks(&read_table(path)?).map_err(|e| e.in_file(path))?;
    Canon::of_table(name, &rows).ok_or_else(|| {
        Error::new("the table has no crown and ground")
            .in_file(path)
            .advise("take the table of a whole figure")
    })
}

pub(super) fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|b| format!("{b:02x}")).collect()
}

impl CheckArguments {
    /// Reads the mesh's file.
    pub(super) fn read_mesh(&self, settings: &Settings) -> Result<MeshRead> {
        mesh_of(&self.meshes.read(&self.mesh)?, &self.mesh, settings, self.meshes)
    }

    /// Reads an image's file.
    pub(super) fn read_image(&self, image: &Image) -> Result<(Picture, ImageRead)> {
        image_of(&self.pictures.read(&image.path)?, image, self.pictures)
    }
}

/// The mesh of a file's bytes.
pub(super) fn mesh_of(
    bytes: &[u8],
    path: &Path,
    settings: &Settings,
    reading: MeshArguments,
) -> Result<MeshRead> {
    let (file, sha256) = rayon::join(|| formats::read(bytes, path, &reading.wanted()), || hash(bytes));
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
    Ok(MeshRead {
        mesh: noted.mesh,
        input,
        notes,
        format,
    })
}

/// The picture of a file's bytes, read.
pub(super) fn image_of(bytes: &[u8], image: &Image, limit: PictureLimit) -> Result<(Picture, ImageRead)> {
    let (path, asked) = (&image.path, image.asked);
    let picture = decode(bytes, limit.max_pixels).map_err(|e| e.in_file(path))?;
    let mut reading = read_overruled(&picture, &image.setup.overrules()).map_err(|e| e.in_file(path))?;
    let named = image.setup.apply(&mut reading);
    let axes_px = image.setup.axes_px(&reading);
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
        sha256: hash(bytes),
        width_px: picture.width() as u32,
        height_px: picture.height() as u32,
    };
    Ok((
        picture,
        ImageRead {
            asked,
            named,
            axes_px,
            reading,
            input,
        },
    ))
}

/// All files of a check.
pub(super) fn outputs(
    checked: &Checked,
    pictures: &[Picture],
    images: &[ImageRead],
    arguments: &CheckArguments,
) -> Result<Vec<files::Output>> {
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
    let (pictures, written) = rayon::join(
        || overlays(&subjects, arguments.picture_height),
        || -> Result<_> {
            // The report first: it refuses numbers that no output can hold.
            let report_json = json::write(report)?;
            let report_html = (!arguments.no_page).then(|| page(&subjects)).transpose()?;
            Ok((report_json, csv::write(report)?, report_html))
        },
    );
    let ((all, single), (report_json, rows_csv, report_html)) = (pictures?, written?);
    let names = subjects
        .iter()
        .map(|s| files::overlay_name(&report.views[s.view].name));
    let mut out = vec![
        ("report.json".to_string(), report_json),
        ("rows.csv".to_string(), rows_csv),
        ("landmarks.csv".to_string(), csv::landmarks(report)?),
        (files::overlay_name("all"), all),
    ];
    out.extend(names.zip(single));
    out.extend(report_html.map(|page| (files::PAGE.to_string(), page)));
    if let Some(held) = checked
        .to_hold
        .as_ref()
        .filter(|_| report.settings.hold_placement)
    {
        out.push((HELD_FILE.to_string(), held.write()?));
    }
    Ok(out)
}
