//! `drawntrue check --cast FILE`: the characters of a list, some at once, each into a folder of its own; one summary.
//!
//! Whatever becomes of one, the others go on. Results whose request (files, options, version) is the same as before are
//! kept. Of a finished character only a few words are kept in memory: what the summary shows is read from its folder.

mod bar;
mod file;
mod work;

use std::path::PathBuf;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use clap::Args;

use super::{EXIT_UNUSABLE, EXIT_WITHIN};
use crate::error::{Error, Result};
use crate::report::cast::{self, CAST_PAGE, Character, LINEUP};
use crate::report::files;
use bar::Bar;

pub(super) use file::Typed;

/// Names of results of the whole cast, in small letters.
const RESULTS: [&str; 2] = [CAST_PAGE, LINEUP];
/// Stack of a worker, bytes: that of a main thread.
const STACK: usize = 8 << 20;

/// Arguments of `drawntrue check` that are about a cast.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "A cast")]
pub(super) struct CastArguments {
    /// Check all characters that a TOML file lists: [[character]] with name, mesh, sheet (or front, side, back, or setup)
    /// and any option of this command as a key. Results go into a folder of each name in --out, with cast.html and
    /// lineup.png beside them; other options given here win over the file's
    #[arg(long, value_name = "FILE", conflicts_with_all = ["mesh", "sheet", "front", "side", "back", "top", "setup"])]
    pub(super) cast: Option<PathBuf>,
    /// Characters that are checked at once [default: one for each processor]
    #[arg(long, value_name = "N", requires = "cast", value_parser = clap::value_parser!(u16).range(1..=256))]
    at_once: Option<u16>,
    /// Check again also what is up to date: same files, options and version as its results
    #[arg(long, requires = "cast")]
    again: bool,
    /// Print one line of JSON for each character as soon as it is done, and nothing else, on standard output
    #[arg(long, requires = "cast")]
    json_lines: bool,
}

/// What a cast's run is told besides its file.
#[derive(Debug)]
pub(super) struct Told {
    pub(super) out: PathBuf,
    pub(super) quiet: bool,
    pub(super) typed: Typed,
}

pub(super) fn run(arguments: &CastArguments, told: &Told) -> Result<u8> {
    let path = arguments
        .cast
        .as_deref()
        .ok_or_else(|| Error::new("no cast is given").advise("give --cast FILE"))?;
    let characters = file::read(path, &told.typed, &told.out)?;
    files::prepare(&told.out)?;
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let workers = arguments.at_once.map_or(cores, usize::from).min(characters.len());
    let bar = Bar::new(characters.len(), !told.quiet);
    let next = AtomicUsize::new(0);
    let done: Mutex<Vec<Option<Character>>> = Mutex::new(characters.iter().map(|_| None).collect());
    let printed: Mutex<Result<()>> = Mutex::new(Ok(()));
    let work = || {
        loop {
            let i = next.fetch_add(1, Ordering::Relaxed);
            let Some(character) = characters.get(i) else {
                return;
            };
            bar.begins(&character.name);
            let finished = work::check(character, arguments.again);
            bar.ended(&finished);
            if arguments.json_lines {
                let line = cast::line(&finished);
                let mut printed = held(&printed);
                if printed.is_ok() {
                    *printed = super::print(&line);
                }
            }
            held(&done)[i] = Some(finished);
        }
    };
    std::thread::scope(|scope| -> Result<()> {
        for _ in 0..workers {
            std::thread::Builder::new()
                .stack_size(STACK)
                .spawn_scoped(scope, work)
                .map_err(|e| {
                    Error::new(format!("no thread can be started ({e})")).advise("use --at-once 1")
                })?;
        }
        Ok(())
    })?;
    bar.over();
    printed.into_inner().unwrap_or(Ok(()))?;
    // Every number below that of characters was taken, and each worker puts in what it took.
    let done: Vec<Character> = done
        .into_inner()
        .unwrap_or_default()
        .into_iter()
        .flatten()
        .collect();
    let inputs = [path];
    let lineup = cast::lineup(&done, |write| {
        files::write_streamed(&told.out, LINEUP, &inputs, write)
    })?;
    let page = cast::page(&done, lineup.as_deref())?;
    files::write_one(&told.out, CAST_PAGE, &page, &inputs)?;
    if !told.quiet && !arguments.json_lines {
        super::print(&cast::summary(&done, &told.out, super::style()))?;
    }
    Ok(done
        .iter()
        .map(|c| c.status)
        .max()
        .unwrap_or(EXIT_WITHIN)
        .min(EXIT_UNUSABLE))
}

/// A worker that panicked has not left anything half done: what it holds is set in one step.
fn held<T>(of: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    of.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
}
