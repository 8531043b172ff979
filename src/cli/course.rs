//! `drawntrue progress`: the course of a character over its checks. `drawntrue compare`: two reports.

use std::path::{Path, PathBuf};

use clap::Args;

use super::{EXIT_OFF, EXIT_WITHIN};
use crate::error::{Error, Result};
use crate::report::changes::{Changes, How, Outcome, Version, changes};
use crate::report::files::REPORT;
use crate::report::history::{Entry, HISTORY_FILE, read};
use crate::report::progress::{Chosen, between, changed, course, points};

/// Arguments of `drawntrue progress`.
#[derive(Debug, Args)]
pub(super) struct ProgressArguments {
    /// The folder of results, where history.jsonl is
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    /// Also what changed since this check: a name given with --as (the latest of it), or a number [default: the first]
    #[arg(long, value_name = "NAME|N")]
    since: Option<String>,
    /// Print the figures and what changed as JSON instead
    #[arg(long)]
    json: bool,
}

/// Arguments of `drawntrue compare`.
#[derive(Debug, Args)]
pub(super) struct CompareArguments {
    /// The earlier report.json, or its folder
    #[arg(value_name = "EARLIER")]
    was: PathBuf,
    /// The later one
    #[arg(value_name = "LATER")]
    now: PathBuf,
    /// Print what changed as JSON instead
    #[arg(long)]
    json: bool,
}

/// Most bytes of a report: some thousand rows of some hundred bytes in six views.
const REPORT_BYTES: u64 = 1 << 28;

pub(super) fn progress(arguments: &ProgressArguments) -> Result<u8> {
    let path = arguments.folder.join(HISTORY_FILE);
    if !arguments.folder.is_dir() {
        return Err(Error::new("there is no such folder")
            .in_file(&arguments.folder)
            .advise("give the folder that drawntrue check wrote to"));
    }
    let log = read(&path)?;
    let entries = &log.entries;
    let Some(last) = entries.last() else {
        return Err(Error::new("there are no checks yet")
            .in_file(&path)
            .advise("each drawntrue check adds one, unless --no-history is given"));
    };
    let chosen = match &arguments.since {
        None => Chosen::Number(1),
        Some(text) => named(text, entries),
    };
    let mut compared: Vec<(usize, Changes)> = Vec::new();
    let alone = entries.len() == 1 && arguments.since.is_none();
    let places = if alone {
        Vec::new()
    } else {
        vec![Chosen::Last.find(entries)?, chosen.find(entries)?]
    };
    for i in places {
        if compared.iter().all(|(k, _)| *k != i) {
            compared.push((i, between(&entries[i].short, &last.short)?));
        }
    }
    if arguments.json {
        let since: Vec<_> = compared
            .iter()
            .map(|(i, c)| serde_json::json!({ "number": i + 1, "changes": c }))
            .collect();
        let value = serde_json::json!({ "points": points(entries), "since": since });
        super::print(&format!("{value:#}\n"))?;
        return Ok(EXIT_WITHIN);
    }
    let style = super::style();
    super::print(&course(&points(entries), style))?;
    for (n, (i, c)) in compared.iter().enumerate() {
        let entry = &entries[*i];
        let called = entry
            .name
            .as_ref()
            .map_or_else(String::new, |name| format!(" “{name}”"));
        let which = if n == 0 { "since the last one, " } else { "since " };
        let day = entry.time.get(..10).unwrap_or_default();
        super::print(&format!(
            "\n{}",
            changed(&format!("{which}no. {}{called} ({day})", i + 1), c, style)
        ))?;
    }
    if !log.unread.is_empty() {
        let lines: Vec<String> = log.unread.iter().map(ToString::to_string).collect();
        super::print(&format!(
            "\nlines of the history that cannot be read: {}\n",
            lines.join(", ")
        ))?;
    }
    Ok(EXIT_WITHIN)
}

/// A name that some check has, else a number, else a name that is not there.
fn named(text: &str, entries: &[Entry]) -> Chosen {
    if entries.iter().any(|e| e.name.as_deref() == Some(text)) {
        return Chosen::Named(text.to_string());
    }
    text.parse()
        .map_or_else(|_| Chosen::Named(text.to_string()), Chosen::Number)
}

pub(super) fn compare(arguments: &CompareArguments) -> Result<u8> {
    let [was, now] = [&arguments.was, &arguments.now].map(|p| version(p));
    let changes = changes(&was?, &now?);
    if arguments.json {
        let text = serde_json::to_string_pretty(&changes)
            .map_err(|e| Error::new(format!("the comparison cannot be written ({e})")))?;
        super::print(&format!("{text}\n"))?;
    } else {
        let title = format!("{} after {}", arguments.now.display(), arguments.was.display());
        super::print(&changed(&title, &changes, super::style()))?;
    }
    let worse = changes.count(How::Worse) + changes.count(How::New) + changes.others_new.len();
    Ok(if worse > 0 { EXIT_OFF } else { EXIT_WITHIN })
}

/// A report made ready to be compared.
fn version(path: &Path) -> Result<Version> {
    let path = if path.is_dir() {
        path.join(REPORT)
    } else {
        path.to_path_buf()
    };
    let json = crate::open::bytes::read_file(&path, REPORT_BYTES, "a report has")?;
    Ok(Version::new(Outcome::read(&json).map_err(|e| e.in_file(&path))?))
}
