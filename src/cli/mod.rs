//! The command line: arguments as typed, settings as resolved, one file a command, exit status.

mod check;
mod progress;
mod sheet;

use std::path::Path;
use std::process::ExitCode;

use clap::{Parser, Subcommand};

use crate::error::{Error, Result};
use crate::report::model::LineEdge;

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
    Check(Box<check::CheckArguments>),
    /// Read a drawing only: which views it shows, their outlines, how sure the reading is
    Sheet(sheet::SheetArguments),
}

/// Runs the program with the process's arguments.
pub fn run() -> ExitCode {
    // `parse` prints its own message and leaves with status 2 on a bad command line.
    let arguments = Arguments::parse();
    let done = match &arguments.command {
        Command::Check(a) => check::run(a),
        Command::Sheet(a) => sheet::run(a),
    };
    match done {
        Ok(status) => ExitCode::from(status),
        Err(e) => {
            anstream::eprintln!("drawntrue: {}", one_line(&e));
            ExitCode::from(EXIT_UNUSABLE)
        }
    }
}

/// Names from files may hold line ends; the message stays one line.
fn one_line(error: &Error) -> String {
    error.to_string().replace(['\n', '\r'], " ")
}

/// Reads a whole input file.
fn read_file(path: &Path) -> Result<Vec<u8>> {
    std::fs::read(path).map_err(|e| {
        let what = match e.kind() {
            std::io::ErrorKind::NotFound => "there is no such file".to_string(),
            std::io::ErrorKind::PermissionDenied => "the file may not be read".to_string(),
            std::io::ErrorKind::IsADirectory => "this is a folder, not a file".to_string(),
            _ => format!("the file cannot be read ({e})"),
        };
        Error::new(what).in_file(path).advise("check the path")
    })
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
