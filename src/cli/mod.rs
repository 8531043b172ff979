//! The command line: arguments as typed, settings as resolved, one file a command, exit status.

mod about;
mod audit;
mod cast;
mod check;
mod course;
mod fit;
mod limits;
mod pose;
mod progress;
mod repair;
mod setup;
mod sheet;
mod smooth;
mod watch;

use std::path::Path;
use std::process::ExitCode;

use clap::{Parser, Subcommand};

use crate::error::{Error, Result};
use crate::mesh::{Axes, Heading, UpAxis};
use crate::report::model::{ArmsMode, Lead, LineEdge, Smoothing, Stage};
use crate::report::terminal::Style;
use crate::setup::{Setup, SetupFile};

/// Everything is within tolerance.
const EXIT_WITHIN: u8 = 0;
/// Measured, and something is outside tolerance or could not be decided.
const EXIT_OFF: u8 = 1;
/// The input or the command line cannot be used.
const EXIT_UNUSABLE: u8 = 2;

/// Measures a character mesh against its turnaround drawing: where it is off, how much, and on which edge.
#[derive(Debug, Parser)]
#[command(name = "drawntrue", version, about)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Check a mesh against its turnaround drawing
    Check(check::CheckCommand),
    /// Move a mesh's vertices so that it matches its drawing, topology untouched, and check the result
    Fit(Box<fit::FitArguments>),
    /// Keep a check open while modelling: checks again at every save and shows it in a page on this machine
    Watch(Box<watch::WatchArguments>),
    /// Show the course of a character over its checks: table, chart, what got better and what worse
    Progress(course::ProgressArguments),
    /// Compare two reports: what got better, worse, stayed, is gone or new. Exit status 1: something is worse or new
    Compare(course::CompareArguments),
    /// Check whether a mesh is sound: centre line, mirror halves, borders, faces, joints
    Audit(audit::AuditArguments),
    /// Repair what needs no taste: centre line, coincident borders, faces inside or the wrong way round
    Repair(repair::RepairArguments),
    /// Write the surface that smoothing makes of a cage
    Smooth(smooth::SmoothArguments),
    /// Turn the arms of a mesh about their shoulder joints, found without a rig or names
    Pose(pose::PoseArguments),
    /// Read a drawing only: which views it shows, their outlines, how sure the reading is
    Sheet(sheet::SheetArguments),
    /// Write what was found in a drawing as a setup file, with which `check` and `sheet` can be overruled
    Setup(setup::SetupArguments),
    /// Print the JSON Schema of a result
    Schema(about::SchemaArguments),
    /// Print what a shell needs to complete commands and options
    Completions(about::CompletionsArguments),
    /// Print a manual page, or write all of them
    Manual(about::ManualArguments),
}

/// Runs the program with the process's arguments.
pub fn run() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(e) => return refused(&e),
    };
    std::panic::set_hook(Box::new(complain));
    let done = std::panic::catch_unwind(|| match &arguments.command {
        Command::Check(a) => check::run(a),
        Command::Fit(a) => fit::run(a),
        Command::Watch(a) => watch::run(a),
        Command::Progress(a) => course::progress(a),
        Command::Compare(a) => course::compare(a),
        Command::Audit(a) => audit::run(a),
        Command::Repair(a) => repair::run(a),
        Command::Smooth(a) => smooth::run(a),
        Command::Pose(a) => pose::run(a),
        Command::Sheet(a) => sheet::run(a),
        Command::Setup(a) => setup::run(a),
        Command::Schema(a) => about::schema(a),
        Command::Completions(a) => about::completions(a),
        Command::Manual(a) => about::manual(a),
    });
    match done {
        Ok(Ok(status)) => ExitCode::from(status),
        Ok(Err(e)) => {
            anstream::eprintln!("drawntrue: {e}");
            ExitCode::from(EXIT_UNUSABLE)
        }
        // `complain` has said so.
        Err(_) => ExitCode::from(EXIT_UNUSABLE),
    }
}

/// Says in one line what is wrong with a command line; help and version, which come the same way, are printed as they are.
fn refused(error: &clap::Error) -> ExitCode {
    use clap::error::ErrorKind;
    let help = error.kind() == ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand;
    if help || !error.use_stderr() {
        error.exit();
    }
    let text = error.to_string();
    let said: Vec<&str> = text
        .lines()
        .map(str::trim)
        .take_while(|l| !l.starts_with("Usage:") && !l.starts_with("For more information"))
        .filter(|l| !l.is_empty())
        .collect();
    // What a colon introduces stands in lines of its own.
    let line = said.join("; ").replace(":; ", ": ");
    let line = line.strip_prefix("error: ").unwrap_or(&line);
    anstream::eprintln!("drawntrue: {line}; see --help");
    ExitCode::from(EXIT_UNUSABLE)
}

/// Says in one line that the program itself is at fault. A library that gave up on a file is no such fault: the library
/// turns that into an error that names the file.
fn complain(panic: &std::panic::PanicHookInfo<'_>) {
    if crate::caught::is_caught() {
        return;
    }
    let what = panic
        .payload_as_str()
        .unwrap_or("without a message")
        .replace(char::is_control, " ");
    let place = panic
        .location()
        .map(|l| format!(" at {}:{}", l.file(), l.line()))
        .unwrap_or_default();
    anstream::eprintln!(
        "drawntrue: a fault of the program itself{place}: {what}; nothing was written, please report it with the files"
    );
}

/// Colours on a terminal, unless `NO_COLOR` is set.
fn style() -> Style {
    use std::io::IsTerminal as _;
    if std::io::stdout().is_terminal() && std::env::var_os("NO_COLOR").is_none() {
        Style::Colour
    } else {
        Style::Plain
    }
}

/// The setup of a file; an empty one without a file.
fn setup_of(path: Option<&Path>) -> Result<Setup> {
    path.map_or_else(|| Ok(Setup::default()), |p| Ok(SetupFile::read(p)?.setup))
}

/// Borders that are meant: the command line's and the setup's.
fn meant_borders(typed: &[u32], setup: &Setup) -> Vec<u32> {
    let named = setup.mesh.borders.iter().flatten();
    typed.iter().chain(named).copied().collect()
}

/// How a mesh stands by the command line, else by the setup.
fn axes_of(up: Option<UpAxis>, setup: &Setup) -> Axes {
    let up = up.or(setup.mesh.up).unwrap_or_default();
    let told = setup.mesh.facing.and_then(|facing| Axes::new(up, facing));
    told.unwrap_or(Axes::usual(up))
}

/// Prints a text. A reader that has seen enough and closed its end is no failure; a full disk is one.
fn print(text: &str) -> Result<()> {
    use std::io::{ErrorKind, Write as _};
    let mut out = anstream::stdout();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() != ErrorKind::BrokenPipe => {
            Err(Error::new(format!("cannot write to standard output ({e})"))
                .advise("make room, or use --quiet"))
        }
        _ => Ok(()),
    }
}

/// Prints what was done to a mesh on the way in, and what its format loses on the way out.
fn print_notes(notes: &[String], lost: Option<&str>) -> Result<()> {
    for note in notes.iter().map(String::as_str).chain(lost) {
        print(&format!("{note}\n"))?;
    }
    Ok(())
}

/// Parses `--up`.
fn up_axis(text: &str) -> std::result::Result<UpAxis, String> {
    match text {
        "y" => Ok(UpAxis::Y),
        "z" => Ok(UpAxis::Z),
        _ => Err("use y or z".to_string()),
    }
}

/// Parses `--facing`.
fn heading(text: &str) -> std::result::Result<Heading, String> {
    Heading::parse(text).ok_or_else(|| "use x, -x, y, -y, z or -z".to_string())
}

/// Parses `--smooth` and `--steps`.
fn smoothing(text: &str) -> std::result::Result<Smoothing, String> {
    Smoothing::parse(text).ok_or_else(|| "use a whole number from 1 to 5, or limit".to_string())
}

/// Parses `--arms`.
fn arms_mode(text: &str) -> std::result::Result<ArmsMode, String> {
    ArmsMode::parse(text).ok_or_else(|| {
        "use as-modelled, drop, ignore, or degrees below the horizontal, -90 to 90".to_string()
    })
}

/// Parses `--lead`.
fn lead(text: &str) -> std::result::Result<Lead, String> {
    Lead::parse(text).ok_or_else(|| "use front or side".to_string())
}

/// Parses `--stage`.
fn stage(text: &str) -> std::result::Result<Stage, String> {
    Stage::parse(text).ok_or_else(|| "use block-in, refine or final".to_string())
}

/// Parses a number.
fn finite(text: &str) -> std::result::Result<f64, String> {
    match text.parse::<f64>() {
        Ok(v) if v.is_finite() => Ok(v),
        _ => Err("a number is needed".to_string()),
    }
}

/// Parses `--line-edge`.
fn line_edge(text: &str) -> std::result::Result<LineEdge, String> {
    match text {
        "centre" => Ok(LineEdge::Centre),
        "outer" => Ok(LineEdge::Outer),
        "inner" => Ok(LineEdge::Inner),
        _ => Err("use centre, outer or inner".to_string()),
    }
}
