//! One character of a cast: whether its results are up to date, else its check; whatever happens becomes a result.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::time::SystemTime;

use super::file;
use crate::cli::EXIT_UNUSABLE;
use crate::cli::check::{CheckArguments, Wanted, perform, status};
use crate::cli::progress::Progress;
use crate::error::{Error, Result};
use crate::report::cast::Character;
use crate::report::files::{self, CONTACT, FIGURES, PAGE, overlay_name};
use crate::report::history::{self, Entry, HISTORY_FILE, Short};

/// Checks a character, or finds that its results are up to date.
pub(super) fn check(character: &file::Character, again: bool) -> Character {
    let folder = file::folder(character);
    let done = catch_unwind(AssertUnwindSafe(|| result(&character.arguments, again)));
    // The panic's own words are on standard error.
    let done = done.unwrap_or_else(|_| {
        Err(Error::new("a fault of the program itself").advise("please report it with the files"))
    });
    match done {
        Ok((short, computed)) => {
            Character::of(&character.name, folder, &short, status(short.verdict), computed)
        }
        Err(e) => Character::failed(&character.name, folder, EXIT_UNUSABLE, &e),
    }
}

/// The report in short, and whether it was made now.
fn result(arguments: &CheckArguments, again: bool) -> Result<(Short, bool)> {
    let case = arguments.case()?;
    let digest = arguments.request(&case)?;
    let kept = if again {
        None
    } else {
        up_to_date(arguments, &digest)
    };
    if let Some((short, report)) = kept {
        if !arguments.no_history {
            catch_up(arguments, &digest, &report)?;
        }
        return Ok((short, false));
    }
    let wanted = Wanted { figures: true };
    perform(arguments, &case, wanted, &Progress::new(false))?;
    let report = std::fs::read(arguments.out.join(files::REPORT))
        .map_err(|e| Error::new(format!("the report cannot be read back ({e})")).in_file(&arguments.out))?;
    Ok((Short::read(&report)?, true))
}

/// The results in the folder, where they are those of this request and all there. The report is put in its place last,
/// so what a killed run left is never taken for whole.
fn up_to_date(arguments: &CheckArguments, digest: &str) -> Option<(Short, Vec<u8>)> {
    let report = std::fs::read(arguments.out.join(files::REPORT)).ok()?;
    let short = Short::read(&report)
        .ok()
        .filter(|s| s.program.request_sha256 == digest)?;
    let views = short.views.iter().map(|v| overlay_name(&v.name));
    let fixed = ["rows.csv", "landmarks.csv", FIGURES].map(str::to_string);
    let asked = [
        (!arguments.no_page).then_some(PAGE),
        arguments.contact.then_some(CONTACT),
    ];
    let mut all = views
        .chain(fixed)
        .chain([overlay_name("all")])
        .chain(asked.into_iter().flatten().map(str::to_string));
    all.all(|name| arguments.out.join(name).is_file())
        .then_some((short, report))
}

/// Adds the line that a run which was killed after its results did not come to write.
fn catch_up(arguments: &CheckArguments, digest: &str, report: &[u8]) -> Result<()> {
    let path = arguments.out.join(HISTORY_FILE);
    let log = history::read(&path)?;
    let last = log
        .entries
        .last()
        .map(|e| e.short.program.request_sha256.as_str());
    if last == Some(digest) && !log.torn {
        return Ok(());
    }
    let when = modified(&arguments.out.join(files::REPORT));
    history::append(
        &path,
        &Entry::new(report, arguments.version_name.as_deref(), when)?,
    )
}

/// When the results were written.
fn modified(path: &Path) -> SystemTime {
    let time = std::fs::metadata(path).and_then(|m| m.modified());
    time.unwrap_or_else(|_| SystemTime::now())
}
