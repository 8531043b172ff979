//! `drawntrue check`: a mesh against its turnaround drawing.

mod request;

use std::path::{Path, PathBuf};
use std::time::SystemTime;

use clap::{ArgMatches, Args, Command, FromArgMatches};

use super::cast::{CastArguments, Told, Typed};
use super::limits::{MeshArguments, PictureLimit};
use super::progress::Progress;
use super::{EXIT_OFF, EXIT_WITHIN};
use crate::check::fitted::{FitAsk, Only, fitted};
use crate::check::{Ahead, Checked, HELD_FILE, Held, ImageRead, Kept, Settled, check_with};
use crate::compare::proportions::proportions;
use crate::error::{Error, Result};
use crate::fit::MOST_MOVE;
use crate::mesh::{Heading, UpAxis};
use crate::open::{self, bytes};
use crate::place::assign::Asked;
use crate::report::history::{self, Entry, HISTORY_FILE, Short};
use crate::report::look::{PICTURE_HEIGHT, PICTURE_HEIGHTS};
use crate::report::model::{ArmsMode, Lead, LineEdge, Report, Settings, Smoothing, Stage, Verdict};
use crate::report::overlay::{Subject, contact, figures, overlays};
use crate::report::page::page_with;
use crate::report::progress::{Course, course_of};
use crate::report::terminal::{self, summary};
use crate::report::{csv, files, json};
use crate::setup::{ImageSetup, Setup, Shows};
use crate::sheet::picture::Picture;

pub(super) use crate::open::OpenMesh as MeshRead;
pub(super) use request::Case;

/// The tolerance where none is given.
const TOLERANCE_PCT: f64 = 1.0;

/// Arguments of `drawntrue check`, as typed.
#[derive(Debug, Clone, Args)]
pub(super) struct CheckArguments {
    /// The mesh: OBJ, glTF, PLY or STL
    pub(super) mesh: PathBuf,
    /// The turnaround drawing, all views in one image: PNG, JPEG, TIFF or WebP
    #[arg(long, value_name = "IMAGE", conflicts_with_all = ["front", "side", "back"], required_unless_present_any = ["front", "side", "back", "setup"])]
    pub(super) sheet: Option<PathBuf>,
    /// The front view in an image of its own
    #[arg(long, value_name = "IMAGE")]
    pub(super) front: Option<PathBuf>,
    /// The side view in an image of its own
    #[arg(long, value_name = "IMAGE")]
    pub(super) side: Option<PathBuf>,
    /// The back view in an image of its own
    #[arg(long, value_name = "IMAGE")]
    pub(super) back: Option<PathBuf>,
    /// Folder for the results
    #[arg(long, value_name = "DIR", default_value = "out")]
    pub(super) out: PathBuf,
    /// The view from above in an image of its own; up in the picture is behind the figure, or another quarter turn
    #[arg(long, value_name = "IMAGE")]
    pub(super) top: Option<PathBuf>,
    /// Height of the drawn figure from ground to crown in mesh units, its ground at y = 0 unless --ground says
    /// otherwise (without it scale and ground are found)
    #[arg(long, value_name = "H", value_parser = positive, conflicts_with = "scale")]
    pub(super) figure_height: Option<f64>,
    /// Mesh units for a pixel of the leading view's image; what is not given is still found
    #[arg(long, value_name = "UNITS_PER_PX", value_parser = positive)]
    pub(super) scale: Option<f64>,
    /// Mesh height at which the drawn ground of the leading view lies; what is not given is still found
    #[arg(long, value_name = "Y", value_parser = super::finite, allow_hyphen_values = true)]
    pub(super) ground: Option<f64>,
    /// The view that leads where the drawn views differ, front or side: scale and ground are found from it alone
    /// [default: all views together, heights counted by the front]
    #[arg(long, value_name = "VIEW", value_parser = super::lead)]
    pub(super) lead: Option<Lead>,
    /// Compare the surface after so many Catmull-Clark steps, 1 to 5, or in the limit; the cage is then shown beside it
    /// [default: the cage decides, the limit surface is shown beside it for up to 20,000 faces]
    #[arg(long, value_name = "N|limit", value_parser = super::smoothing)]
    pub(super) smooth: Option<Smoothing>,
    /// Keep the first placement of a series in placement.json beside the results and use it in later runs, so that
    /// numbers of places nobody touched do not move
    #[arg(long)]
    pub(super) hold_placement: bool,
    /// How far the mesh may lie off the drawing, in percent of the figure height [default: 1]
    #[arg(long, value_name = "PCT", value_parser = positive)]
    pub(super) tolerance: Option<f64>,
    /// Also in percent of the local width, that of the part at this height: the closer of the two limits holds, but
    /// never less than 0.15 % of the figure height, to which a hand is true [default: off]
    #[arg(long, value_name = "PCT", value_parser = positive)]
    pub(super) tolerance_width: Option<f64>,
    /// Tolerances for a stage of the work: block-in (2 % of the height), refine (1 %, and 10 % of the local width),
    /// final (0.5 %, and 5 % of the local width); --tolerance and --tolerance-width win over it
    #[arg(long, value_name = "STAGE", value_parser = super::stage)]
    pub(super) stage: Option<Stage>,
    /// Parts of the drawing that the mesh does not have yet are listed but not held against it
    #[arg(long)]
    pub(super) unfinished: bool,
    /// The mesh is one half: mirror it at its border plane and join it first
    #[arg(long)]
    pub(super) mirror: bool,
    /// The mesh's arms: as-modelled, drop (turned until they hang as the drawn ones; both arms are then compared),
    /// DEGREES below the horizontal, or ignore (left out) [default: as-modelled]
    #[arg(long, value_name = "drop|DEGREES|ignore", value_parser = super::arms_mode, allow_hyphen_values = true)]
    pub(super) arms: Option<ArmsMode>,
    /// Only these groups of the file count
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    pub(super) groups: Vec<String>,
    /// These groups of the file do not count
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    pub(super) skip_groups: Vec<String>,
    /// Which edge of an ink line is the outline: centre, outer or inner [default: centre]
    #[arg(long, value_name = "EDGE", value_parser = super::line_edge)]
    pub(super) line_edge: Option<LineEdge>,
    /// Which axis of the mesh file points up: y (facing z) or z (facing -y) [default: told from the drawing]
    #[arg(long, value_name = "y|z", value_parser = super::up_axis)]
    pub(super) up: Option<UpAxis>,
    /// Along which axis of the mesh file the figure looks: x, -x, y, -y, z or -z [default: told from the drawing]
    #[arg(long, value_name = "AXIS", value_parser = super::heading, allow_hyphen_values = true)]
    pub(super) facing: Option<Heading>,
    /// Name of the mesh's unit of length
    #[arg(long, value_name = "LABEL")]
    pub(super) unit: Option<String>,
    /// Settings kept in a file, made by `drawntrue setup`; options on the command line win over it
    #[arg(long, value_name = "FILE")]
    pub(super) setup: Option<PathBuf>,
    /// Height of the overlay pictures in pixels; text and lines grow with it
    #[arg(long, value_name = "PIXELS", value_parser = picture_height, default_value_t = PICTURE_HEIGHT)]
    pub(super) picture_height: u32,
    /// Name of this version in the history, for instance "week 3"
    #[arg(long = "as", value_name = "NAME", value_parser = version_name)]
    pub(super) version_name: Option<String>,
    /// Add no line to history.jsonl, the one result that carries the time
    #[arg(long)]
    pub(super) no_history: bool,
    /// Also write contact.png, 1920 pixels wide, for a chat or a review: the mesh softly shaded beside the drawing, at
    /// one scale on one ground line, with the verdict and the worst findings in words
    #[arg(long)]
    pub(super) contact: bool,
    /// Leave out report.html, the page with everything in one file
    #[arg(long)]
    pub(super) no_page: bool,
    /// Print the table of landmarks too: heights of crown, chin, neck and so on in drawing and mesh, also in heads
    #[arg(long)]
    pub(super) landmarks: bool,
    /// Say for each finding which loops to move where, by how much and over what distance it should fade out; also as
    /// arrows in the pictures and, vertex by vertex, in moves.csv
    #[arg(long)]
    pub(super) advise: bool,
    /// Hold the landmarks against a canon (segments, survey-men, survey-women, seven-and-a-half-heads, eight-heads) or
    /// against another character's landmarks.csv: information, no finding [default: none]
    #[arg(long, value_name = "NAME|FILE")]
    pub(super) canon: Option<String>,
    #[command(flatten)]
    pub(super) pictures: PictureLimit,
    #[command(flatten)]
    pub(super) meshes: MeshArguments,
    /// Print nothing but errors
    #[arg(long)]
    pub(super) quiet: bool,
}

pub(super) fn positive(text: &str) -> std::result::Result<f64, String> {
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

/// A check that was done and written.
pub(super) struct Done {
    /// What it found.
    pub(super) report: Report,
    /// The files that it wrote.
    pub(super) written: Vec<PathBuf>,
}

/// Results that are not options of the command.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Wanted {
    /// The figures for a cast's line-up.
    pub(super) figures: bool,
}

/// `drawntrue check`, of one character or of a cast.
#[derive(Debug)]
pub(super) enum CheckCommand {
    /// One character.
    One(Box<CheckArguments>),
    /// A list of them.
    Cast(CastArguments, Told),
}

/// The arguments of one check and of a cast's, of which the one kind need not be given where the other is.
impl Args for CheckCommand {
    fn augment_args(command: Command) -> Command {
        CastArguments::augment_args(CheckArguments::augment_args(command))
            .mut_arg("mesh", |a| a.required(false).required_unless_present("cast"))
            .mut_arg("sheet", |a| a.required_unless_present_any(["cast"]))
    }

    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}

impl FromArgMatches for CheckCommand {
    fn from_arg_matches(matches: &ArgMatches) -> std::result::Result<Self, clap::Error> {
        if !matches.contains_id("cast") {
            return CheckArguments::from_arg_matches(matches).map(|a| Self::One(Box::new(a)));
        }
        let out = matches.get_one::<PathBuf>("out").cloned().unwrap_or_default();
        let told = Told {
            out,
            quiet: matches.get_flag("quiet"),
            typed: Typed::new(matches),
        };
        Ok(Self::Cast(CastArguments::from_arg_matches(matches)?, told))
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> std::result::Result<(), clap::Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}

pub(super) fn run(command: &CheckCommand) -> Result<u8> {
    match command {
        CheckCommand::One(arguments) => one(arguments),
        CheckCommand::Cast(arguments, told) => super::cast::run(arguments, told),
    }
}

fn one(arguments: &CheckArguments) -> Result<u8> {
    let progress = Progress::new(!arguments.quiet);
    let case = arguments.case()?;
    let Done { report, written } = perform(arguments, &case, Wanted::default(), &progress)?;
    progress.done();
    if !arguments.quiet {
        let style = super::style();
        let names: Vec<String> = written
            .iter()
            .filter_map(|p| p.file_name())
            .map(|n| n.to_string_lossy().into_owned())
            .collect();
        super::print(&summary(&report, style))?;
        super::print(&terminal::proportions(&report, style))?;
        if arguments.landmarks {
            super::print(&terminal::landmarks(&report, style))?;
        }
        super::print(&format!("{}\n", terminal::written(&arguments.out, &names)))?;
    }
    Ok(status(report.verdict))
}

/// The exit status of a verdict.
pub(super) fn status(verdict: Verdict) -> u8 {
    if verdict == Verdict::OnModel {
        EXIT_WITHIN
    } else {
        EXIT_OFF
    }
}

impl Case {
    /// Checks a mesh against read images; `surface` says that the compared surface is wanted with the result, `ahead` is
    /// what was told of the mesh before.
    pub(super) fn check(
        &self,
        mesh: &MeshRead,
        images: &[ImageRead],
        held: Option<&Held>,
        settled: Option<&Settled>,
        surface: bool,
        ahead: Option<&Ahead>,
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
            surface,
            ahead,
        };
        let request = self.request(&mesh.input.sha256, images.iter().map(|i| i.input.sha256.as_str()))?;
        let mut checked = check_with(
            &mesh.mesh,
            mesh.input.clone(),
            images,
            settings,
            mesh.notes.clone(),
            &kept,
        )?;
        let report = &mut checked.report;
        report.program.request_sha256 = request;
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
    let held = Held::parse(&bytes::placement(&kept)?).map_err(|e| e.in_file(&kept))?;
    Ok(Some(held))
}

/// What a check looks at, opened and read.
pub(super) struct Opened {
    pub(super) mesh: MeshRead,
    /// What was told of the mesh while the drawing was read.
    pub(super) ahead: Ahead,
    pub(super) pictures: Vec<Picture>,
    pub(super) images: Vec<ImageRead>,
}

/// Opens what a check looks at.
pub(super) fn opened(arguments: &CheckArguments, case: &Case, progress: &Progress) -> Result<Opened> {
    progress.step("reading mesh and drawing");
    let (mesh, sheets) = rayon::join(
        || -> Result<_> {
            let mesh = arguments.read_mesh(&case.settings)?;
            let ahead = Ahead::of(&mesh.mesh, &case.settings);
            Ok((mesh, ahead))
        },
        || {
            let read = case.images.iter().map(|i| arguments.read_image(i));
            read.collect::<Result<Vec<_>>>()
        },
    );
    let ((mesh, ahead), sheets) = (mesh?, sheets?);
    let (pictures, images) = sheets.into_iter().unzip();
    Ok(Opened {
        mesh,
        ahead,
        pictures,
        images,
    })
}

/// Does a check and writes its results; prints nothing.
pub(super) fn perform(
    arguments: &CheckArguments,
    case: &Case,
    wanted: Wanted,
    progress: &Progress,
) -> Result<Done> {
    let inputs = arguments.inputs(case);
    files::prepare(&arguments.out)?;
    if !arguments.no_history {
        files::may_be_added_to(&arguments.out.join(HISTORY_FILE), &inputs)?;
    }
    let Opened {
        mesh,
        ahead,
        pictures,
        images,
    } = opened(arguments, case, progress)?;
    progress.step("comparing");
    let held = kept_placement(&arguments.out, &case.settings)?;
    let surface = wanted.figures || arguments.contact;
    let mut checked = case.check(&mesh, &images, held.as_ref(), None, surface, Some(&ahead))?;
    if arguments.advise {
        progress.step("looking for moves");
        advise(&mesh, &mut checked)?;
    }
    progress.step("drawing overlays");
    let outputs = outputs(&checked, &pictures, &images, arguments, wanted)?;
    // Giving a large sheet's memory back takes as long as writing the files.
    let (written, ()) = rayon::join(
        || write(arguments, &outputs, &inputs),
        || drop((mesh, ahead, pictures, images)),
    );
    Ok(Done {
        written: written?,
        report: checked.report,
    })
}

/// Adds to a check the moves that would mend its findings.
fn advise(mesh: &MeshRead, checked: &mut Checked) -> Result<()> {
    let ask = FitAsk {
        only: Only::default(),
        most_move_pct: 100.0 * MOST_MOVE,
        amount: 1.0,
        progress: &|_| (),
    };
    if checked.report.verdict == Verdict::Undecided {
        let note = "no moves are advised: the check is undecided".to_string();
        checked.report.notes.push(note);
        return Ok(());
    }
    let found = fitted(&mesh.mesh, checked, &ask)?;
    checked.advise(&found, mesh.input.vertices);
    Ok(())
}

/// Writes all files of a check, and its line in the history; their paths.
pub(super) fn write(
    arguments: &CheckArguments,
    outputs: &[files::Output],
    inputs: &[&Path],
) -> Result<Vec<PathBuf>> {
    let mut written = files::write(&arguments.out, outputs, inputs)?;
    if let Some((_, report)) = outputs.first().filter(|_| !arguments.no_history) {
        let log = arguments.out.join(HISTORY_FILE);
        let name = arguments.version_name.as_deref();
        history::append(&log, &Entry::new(report, name, SystemTime::now())?)?;
        written.push(log);
    }
    Ok(written)
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
    open::mesh_of(bytes, path, settings, &reading.wanted())
}

/// The picture of a file's bytes, read.
pub(super) fn image_of(bytes: &[u8], image: &Image, limit: PictureLimit) -> Result<(Picture, ImageRead)> {
    let of = open::image_of(bytes, &image.path, image.asked, &image.setup, limit.max_pixels)?;
    Ok((of.picture, of.read))
}

/// The course over the earlier checks of the folder, up to this one. A history that cannot be read is no reason not to
/// check.
fn course(arguments: &CheckArguments, report_json: &[u8]) -> Option<Course> {
    if arguments.no_page || arguments.no_history {
        return None;
    }
    let log = history::read(&arguments.out.join(HISTORY_FILE)).ok()?;
    if log.entries.is_empty() {
        return None;
    }
    let now = Short::read(report_json).ok()?;
    course_of(&log.entries, &now, arguments.version_name.as_deref()).ok()
}

/// All files of a check.
pub(super) fn outputs(
    checked: &Checked,
    pictures: &[Picture],
    images: &[ImageRead],
    arguments: &CheckArguments,
    wanted: Wanted,
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
            let course = course(arguments, &report_json);
            let page = || page_with(&subjects, course.as_ref());
            let report_html = (!arguments.no_page).then(page).transpose()?;
            Ok((report_json, csv::write(report)?, report_html))
        },
    );
    let ((all, single), (report_json, rows_csv, report_html)) = (pictures?, written?);
    let names = subjects
        .iter()
        .map(|s| files::overlay_name(&report.views[s.view].name));
    let mut out = vec![
        (files::REPORT.to_string(), report_json),
        ("rows.csv".to_string(), rows_csv),
        ("landmarks.csv".to_string(), csv::landmarks(report)?),
        (files::overlay_name("all"), all),
    ];
    if let Some(moves) = &checked.moves {
        out.push(("moves.csv".to_string(), csv::moves(moves)?));
    }
    out.extend(names.zip(single));
    if let Some(surface) = &checked.surface {
        if arguments.contact {
            out.push((files::CONTACT.to_string(), contact(&subjects, surface)?));
        }
        if wanted.figures {
            out.push((files::FIGURES.to_string(), figures(&subjects, surface)?));
        }
    }
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
