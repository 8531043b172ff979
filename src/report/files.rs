//! A folder of results: every file appears whole or not at all, and no input is ever written to.
//!
//! Method: each file is written under a temporary name beside its place; when all of them are complete they are
//! renamed, which a file system does in one step. A run that fails before that leaves the folder as it was.
//! A run that is killed may leave such a file; its name begins with `.drawntrue-`, and a later run removes it.
//! Limit: a power failure within the last seconds can still lose a file, nothing is forced onto the disk.

use std::io::{Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::time::Duration;

use tempfile::NamedTempFile;

use crate::error::{Error, Result};
use crate::open::bytes::is_special;

/// A file to be written: name and content.
pub type Output = (String, Vec<u8>);

/// Start of the names of temporary files; they vanish also when writing fails.
const TEMPORARY: &str = ".drawntrue-";
/// Age from which a temporary file is taken as left by a run that was killed: writing one takes seconds.
const LEFT_AFTER: Duration = Duration::from_secs(3600);
/// What overlays are called: this, the view's name, `.png`.
const OVERLAY: &str = "overlay-";
/// What the report is called.
pub const REPORT: &str = "report.json";
/// What the figures for a cast's line-up are called.
pub const FIGURES: &str = "figures.png";
/// What the page is called.
pub const PAGE: &str = "report.html";
/// What the contact picture is called.
pub const CONTACT: &str = "contact.png";
/// What a page of this program begins with, about.
const OUR_PAGE: &[u8] = br#"data-made-by="drawntrue""#;
/// What a contact picture of this program begins with, about: who made it, as PNG says it (11.3.3.2).
const OUR_PICTURE: &[u8] = b"Software\0drawntrue";
/// It stands within so many bytes.
const FILE_BEGINS: usize = 192;
/// Names that views can have; a second one has `-2` behind it.
const VIEWS: [&str; 5] = ["front", "side", "back", "three-quarter", "top"];

/// The file name of a view's overlay.
pub fn overlay_name(view: &str) -> String {
    format!("{OVERLAY}{view}.png")
}

/// Makes sure that the folder exists and can be written to, before anything is computed.
///
/// # Errors
/// The folder cannot be made, is a file, or may not be written to.
pub fn prepare(folder: &Path) -> Result<()> {
    if folder.exists() && !folder.is_dir() {
        return Err(Error::new("this is a file, results need a folder")
            .in_file(folder)
            .advise("choose another folder with --out"));
    }
    std::fs::create_dir_all(folder).map_err(|e| unwritable(folder, &e))?;
    remove_left(folder);
    temporary(folder).map(drop)
}

/// Removes what runs that were killed have left. Young files may belong to a run that is going on.
fn remove_left(folder: &Path) {
    let left = |entry: &std::fs::DirEntry| {
        let old = || entry.metadata().ok()?.modified().ok()?.elapsed().ok();
        entry.file_name().to_string_lossy().starts_with(TEMPORARY)
            && entry.file_type().is_ok_and(|t| t.is_file())
            && old().is_some_and(|age| age > LEFT_AFTER)
    };
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        if left(&entry) {
            // What cannot be removed is in nobody's way.
            let _ = std::fs::remove_file(entry.path());
        }
    }
}

/// Writes all files, and removes overlays, the page and the contact picture of an earlier run that this one has not. The first output is put
/// in its place last: where it is this run's, all the others are. Returns the paths in the order of `outputs`.
///
/// # Errors
/// The folder cannot be written to, an output would replace one of `inputs`, or a folder stands in its place; nothing
/// has been changed then, unless the very last step, renaming, fails.
pub fn write(folder: &Path, outputs: &[Output], inputs: &[&Path]) -> Result<Vec<PathBuf>> {
    let mut ready = filled_all(folder, outputs, inputs)?;
    let written = ready.iter().map(|(_, to)| to.clone()).collect();
    let first = (!ready.is_empty()).then(|| ready.remove(0));
    for (file, to) in ready {
        place(file, &to)?;
    }
    remove_stale(folder, outputs, &canonical(inputs));
    if let Some((file, to)) = first {
        place(file, &to)?;
    }
    Ok(written)
}

/// Writes all files and leaves all others alone.
///
/// # Errors
/// As [`write()`].
pub fn write_plain(folder: &Path, outputs: &[Output], inputs: &[&Path]) -> Result<Vec<PathBuf>> {
    let mut written = Vec::with_capacity(outputs.len());
    for (file, to) in filled_all(folder, outputs, inputs)? {
        place(file, &to)?;
        written.push(to);
    }
    Ok(written)
}

/// All outputs, complete under temporary names, each with its place.
fn filled_all(folder: &Path, outputs: &[Output], inputs: &[&Path]) -> Result<Vec<(NamedTempFile, PathBuf)>> {
    prepare(folder)?;
    let taken = canonical(inputs);
    let mut ready = Vec::with_capacity(outputs.len());
    for (name, content) in outputs {
        let to = folder.join(name);
        free(&to, &taken)?;
        ready.push((filled(folder, content)?, to));
    }
    Ok(ready)
}

/// Whether a file of this name may be added to: no input and no folder has its place.
///
/// # Errors
/// One has.
pub fn may_be_added_to(path: &Path, inputs: &[&Path]) -> Result<()> {
    free(path, &canonical(inputs))
}

/// Writes one file into a folder, whole or not at all.
///
/// # Errors
/// As [`write()`].
pub fn write_one(folder: &Path, name: &str, content: &[u8], inputs: &[&Path]) -> Result<PathBuf> {
    let to = folder.join(name);
    free(&to, &canonical(inputs))?;
    place(filled(folder, content)?, &to)?;
    Ok(to)
}

/// Writes a file that a person named, whole or not at all. What a link leads to is replaced, not the link; devices and pipes
/// are written into.
///
/// # Errors
/// As [`write()`]; the path has no file name.
pub fn write_to(to: &Path, content: &[u8], inputs: &[&Path]) -> Result<()> {
    if is_special(to) {
        return std::fs::OpenOptions::new()
            .write(true)
            .open(to)
            .and_then(|mut file| file.write_all(content))
            .map_err(|e| unwritable(to, &e));
    }
    // A link to nothing yet is replaced as any name is.
    let at = to.canonicalize().unwrap_or_else(|_| to.to_path_buf());
    if at.file_name().is_none() {
        return Err(Error::new("this is not the name of a file")
            .in_file(to)
            .advise("give a file name"));
    }
    let folder = at.parent().filter(|p| !p.as_os_str().is_empty());
    free(&at, &canonical(inputs))?;
    place(filled(folder.unwrap_or(Path::new(".")), content)?, &at)
}

/// Writes one file into a folder, whole or not at all, piece by piece as `fill` makes it; gives its path.
///
/// # Errors
/// As [`write()`], or what `fill` says.
pub fn write_streamed(
    folder: &Path,
    name: &str,
    inputs: &[&Path],
    fill: &mut dyn FnMut(&mut dyn std::io::Write) -> Result<()>,
) -> Result<PathBuf> {
    let to = folder.join(name);
    free(&to, &canonical(inputs))?;
    let mut file = std::io::BufWriter::new(temporary(folder)?);
    fill(&mut file)?;
    let file = file.into_inner().map_err(|e| unwritable(folder, e.error()))?;
    place(file, &to)?;
    Ok(to)
}

/// Puts a complete file in its place. Where one of that name is there already, the two are exchanged in one step and the
/// old one goes: renaming over it takes ten times as long on file systems that then begin to write the new one out.
fn place(file: NamedTempFile, to: &Path) -> Result<()> {
    #[cfg(target_os = "linux")]
    {
        use rustix::fs::{CWD, RenameFlags, renameat_with};
        if renameat_with(CWD, file.path(), CWD, to, RenameFlags::EXCHANGE).is_ok() {
            // Dropped, the temporary name goes, which is the old file's now.
            return Ok(());
        }
    }
    file.persist(to).map(drop).map_err(|e| unwritable(to, &e.error))
}

fn canonical(inputs: &[&Path]) -> Vec<PathBuf> {
    inputs.iter().filter_map(|p| p.canonicalize().ok()).collect()
}

/// Refuses a place that an input or a folder has.
fn free(to: &Path, taken: &[PathBuf]) -> Result<()> {
    let matter = if to.canonicalize().is_ok_and(|p| taken.contains(&p)) {
        "this result would replace an input file"
    } else if to.is_dir() {
        "a folder has the name of this result"
    } else if is_special(to) {
        "a device or a pipe has the name of this result"
    } else {
        return Ok(());
    };
    Err(Error::new(matter)
        .in_file(to)
        .advise("write the results to another folder"))
}

fn temporary(folder: &Path) -> Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(TEMPORARY);
    // Temporary files are private to their owner; results are for whom the user's own files are for.
    #[cfg(unix)]
    let all = {
        use std::os::unix::fs::PermissionsExt as _;
        /// Read and write for all, less what the process's mask takes away.
        const SHARED: u32 = 0o666;
        std::fs::Permissions::from_mode(SHARED)
    };
    #[cfg(unix)]
    builder.permissions(all);
    builder.tempfile_in(folder).map_err(|e| unwritable(folder, &e))
}

fn filled(folder: &Path, content: &[u8]) -> Result<NamedTempFile> {
    let mut file = temporary(folder)?;
    file.write_all(content)
        .and_then(|()| file.flush())
        .map_err(|e| unwritable(folder, &e))?;
    Ok(file)
}

/// Why something cannot be written, and what to do.
pub(super) fn unwritable(place: &Path, error: &std::io::Error) -> Error {
    use std::io::ErrorKind;
    let (why, advice) = match error.kind() {
        ErrorKind::PermissionDenied => ("it may not be written to".to_string(), "choose another folder"),
        ErrorKind::ReadOnlyFilesystem => ("its disk is read-only".to_string(), "choose another folder"),
        ErrorKind::StorageFull => (
            "the disk is full".to_string(),
            "make room or choose another folder",
        ),
        ErrorKind::NotFound => (
            "there is no such folder".to_string(),
            "make it or choose another one",
        ),
        ErrorKind::NotADirectory => (
            "a part of the path is a file".to_string(),
            "choose another folder",
        ),
        _ => (error.to_string(), "choose another folder"),
    };
    Error::new(format!("results cannot be written here: {why}"))
        .in_file(place)
        .advise(advice)
}

/// Whether a file name is one that an overlay can have.
fn is_overlay(name: &str) -> bool {
    let Some(view) = name.strip_prefix(OVERLAY).and_then(|n| n.strip_suffix(".png")) else {
        return false;
    };
    VIEWS.iter().any(|v| match view.strip_prefix(v) {
        Some("") => true,
        Some(rest) => rest
            .strip_prefix('-')
            .is_some_and(|n| !n.is_empty() && n.bytes().all(|b| b.is_ascii_digit())),
        None => false,
    })
}

/// Whether a file says that this program made it: somebody else's has a place of its own.
fn is_ours(path: &Path, sign: &[u8]) -> bool {
    let mut start = Vec::with_capacity(FILE_BEGINS);
    std::fs::File::open(path)
        .and_then(|f| f.take(FILE_BEGINS as u64).read_to_end(&mut start))
        .is_ok_and(|_| start.windows(sign.len()).any(|w| w == sign))
}

fn remove_stale(folder: &Path, outputs: &[Output], taken: &[PathBuf]) {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return;
    };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let ours = |n: &str| {
            is_overlay(n)
                || (n == PAGE && is_ours(&entry.path(), OUR_PAGE))
                || (n == CONTACT && is_ours(&entry.path(), OUR_PICTURE))
        };
        let stale = name
            .to_str()
            .is_some_and(|n| !outputs.iter().any(|(o, _)| o == n) && ours(n));
        let an_input = || entry.path().canonicalize().is_ok_and(|p| taken.contains(&p));
        if stale && entry.file_type().is_ok_and(|t| t.is_file()) && !an_input() {
            // An old picture that stays is a nuisance, not a failure.
            let _ = std::fs::remove_file(entry.path());
        }
    }
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    fn outputs(list: &[(&str, &str)]) -> Vec<Output> {
        list.iter()
            .map(|(n, c)| ((*n).to_string(), c.as_bytes().to_vec()))
            .collect()
    }

    fn names(folder: &Path) -> Vec<String> {
        let mut all: Vec<String> = fs::read_dir(folder)
            .expect("a folder")
            .map(|e| e.expect("an entry").file_name().to_string_lossy().into_owned())
            .collect();
        all.sort();
        all
    }

    #[test]
    fn a_run_that_fails_leaves_every_old_file() {
        let dir = tempfile::tempdir().expect("a folder");
        write(dir.path(), &outputs(&[("report.json", "old")]), &[]).expect("written");
        // The second output cannot be placed: a folder has its name. The first must not have been replaced.
        fs::create_dir(dir.path().join("rows.csv")).expect("made");
        let failed = write(
            dir.path(),
            &outputs(&[("report.json", "new"), ("rows.csv", "new")]),
            &[],
        );
        assert!(failed.expect_err("refused").to_string().contains("rows.csv"));
        assert_eq!(
            fs::read_to_string(dir.path().join("report.json")).expect("there"),
            "old"
        );
        assert_eq!(names(dir.path()), ["report.json", "rows.csv"]);
    }

    #[test]
    fn an_input_is_never_replaced_by_any_name() {
        let dir = tempfile::tempdir().expect("a folder");
        let input = dir.path().join("report.json");
        fs::write(&input, "mine").expect("written");
        let roundabout = dir
            .path()
            .join("..")
            .join(dir.path().file_name().expect("a name"))
            .join("report.json");
        let failed = write(
            dir.path(),
            &outputs(&[("rows.csv", "x"), ("report.json", "x")]),
            &[&roundabout],
        );
        assert!(failed.expect_err("refused").to_string().contains("input"));
        assert!(write_one(dir.path(), "report.json", b"x", &[&roundabout]).is_err());
        assert_eq!(fs::read_to_string(&input).expect("there"), "mine");
        assert_eq!(names(dir.path()), ["report.json"]);
    }

    #[test]
    fn only_overlays_of_earlier_views_go() {
        let dir = tempfile::tempdir().expect("a folder");
        for name in [
            "overlay-side-2.png",
            "overlay-back.png",
            "overlay-mine.png",
            "overlay-front.psd",
            "notes.txt",
        ] {
            fs::write(dir.path().join(name), "x").expect("written");
        }
        write(
            dir.path(),
            &outputs(&[("overlay-front.png", "x"), ("report.json", "x")]),
            &[],
        )
        .expect("written");
        assert_eq!(
            names(dir.path()),
            [
                "notes.txt",
                "overlay-front.png",
                "overlay-front.psd",
                "overlay-mine.png",
                "report.json"
            ]
        );
    }

    #[test]
    fn the_page_of_an_earlier_run_goes_and_anothers_stays() {
        for (page, stays) in [
            (
                "<!doctype html>\n<html lang=\"en\" data-made-by=\"drawntrue\">",
                false,
            ),
            ("<!doctype html>\n<html lang=\"en\">drawntrue", true),
        ] {
            let dir = tempfile::tempdir().expect("a folder");
            fs::write(dir.path().join(PAGE), page).expect("written");
            write(dir.path(), &outputs(&[("report.json", "x")]), &[]).expect("written");
            assert_eq!(names(dir.path()).contains(&PAGE.to_string()), stays, "{page}");
        }
    }

    #[test]
    fn a_file_in_the_folders_place_is_named() {
        let dir = tempfile::tempdir().expect("a folder");
        let file = dir.path().join("out");
        fs::write(&file, "x").expect("written");
        for path in [file.clone(), file.join("deeper")] {
            let text = prepare(&path).expect_err("refused").to_string();
            assert!(
                text.contains("out") && text.contains(';') && !text.contains('\n'),
                "{text}"
            );
        }
        assert_eq!(fs::read_to_string(&file).expect("there"), "x");
    }

    #[cfg(unix)]
    #[test]
    fn links_pipes_and_devices_stay_what_they_are() {
        use std::os::unix::fs::FileTypeExt as _;
        let dir = tempfile::tempdir().expect("a folder");
        let at = |name: &str| dir.path().join(name);
        fs::write(at("far"), "old").expect("written");
        std::os::unix::fs::symlink(at("far"), at("link")).expect("a link");
        write_to(&at("link"), b"new", &[]).expect("written");
        assert_eq!(fs::read_to_string(at("far")).expect("there"), "new");
        assert!(fs::symlink_metadata(at("link")).expect("there").is_symlink());
        let made = std::process::Command::new("mkfifo")
            .arg(at("report.json"))
            .status();
        assert!(made.expect("the command").success());
        let refused = write(dir.path(), &outputs(&[("report.json", "x")]), &[]);
        assert!(refused.expect_err("refused").to_string().contains("pipe"));
        let reader = std::thread::spawn({
            let pipe = at("report.json");
            move || fs::read_to_string(pipe)
        });
        write_to(&at("report.json"), b"told", &[]).expect("written");
        assert_eq!(reader.join().expect("ended").expect("read"), "told");
        let kind = fs::metadata(at("report.json")).expect("there").file_type();
        assert!(kind.is_fifo());
        write_to(Path::new("/dev/null"), b"told", &[]).expect("written");
        let kind = fs::metadata("/dev/null").expect("there").file_type();
        assert!(kind.is_char_device());
    }

    #[cfg(unix)]
    #[test]
    fn results_are_as_readable_as_any_new_file() {
        use std::os::unix::fs::PermissionsExt as _;
        let dir = tempfile::tempdir().expect("a folder");
        let plain = dir.path().join("plain");
        fs::write(&plain, "x").expect("written");
        let written = write(dir.path(), &outputs(&[("report.json", "x")]), &[]).expect("written");
        let mode = |p: &Path| fs::metadata(p).expect("there").permissions().mode();
        assert_eq!(mode(&written[0]), mode(&plain));
    }
}
