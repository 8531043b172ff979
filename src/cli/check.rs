//! `drawntrue check`: a mesh against its turnaround drawing.

mod arguments;
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
use crate::error::Result;
use crate::fit::MOST_MOVE;
use crate::open::{self, bytes};
use crate::report::history::{self, Entry, HISTORY_FILE, Short};
use crate::report::model::{Report, Settings, Verdict};
use crate::report::overlay::{Subject, contact, figures, overlays};
use crate::report::page::page_with;
use crate::report::progress::{Course, course_of};
use crate::report::terminal::{self, summary};
use crate::report::{csv, files, json};
use crate::sheet::picture::Picture;

pub(super) use crate::open::OpenMesh as MeshRead;
pub(super) use arguments::{CheckArguments, Image, positive};
pub(super) use request::Case;

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

/// Does a check and writes its results; prints nothing. A folder that was made for results goes again if there are none.
pub(super) fn perform(
    arguments: &CheckArguments,
    case: &Case,
    wanted: Wanted,
    progress: &Progress,
) -> Result<Done> {
    let made = !arguments.out.exists();
    let done = performed(arguments, case, wanted, progress);
    if made && done.is_err() {
        // Only an empty one goes; one that cannot is in nobody's way.
        let _ = std::fs::remove_dir(&arguments.out);
    }
    done
}

fn performed(arguments: &CheckArguments, case: &Case, wanted: Wanted, progress: &Progress) -> Result<Done> {
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
