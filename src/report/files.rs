//! A folder of results: every file appears whole or not at all.
//!
//! Each file is written under a temporary name beside its place and renamed when all of them are complete.

use std::io::Write as _;
use std::path::{Path, PathBuf};

use crate::error::{Error, Result};

/// A file to be written: name and content.
pub type Output = (String, Vec<u8>);

/// Makes sure that the folder exists and can be written to, before anything is computed.
///
/// # Errors
/// The folder cannot be made or is a file.
pub fn prepare(folder: &Path) -> Result<()> {
    std::fs::create_dir_all(folder).map_err(|e| unwritable(folder, &e))?;
    tempfile::Builder::new()
        .prefix(".drawntrue-")
        .tempfile_in(folder)
        .map_err(|e| unwritable(folder, &e))?;
    Ok(())
}

fn unwritable(folder: &Path, error: &std::io::Error) -> Error {
    Error::new(format!("results cannot be written here ({error})"))
        .in_file(folder)
        .advise("choose another folder with --out")
}

/// Writes all files, then removes overlays of views that an earlier run had and this one has not. No file in
/// `inputs` is ever replaced.
///
/// # Errors
/// The folder cannot be written to, or an output would replace an input.
pub fn write(folder: &Path, outputs: &[Output], inputs: &[&Path]) -> Result<Vec<PathBuf>> {
    let written = write_ready(folder, outputs, inputs)?;
    remove_stale(folder, outputs);
    Ok(written)
}

/// Writes one file into a folder, whole or not at all.
///
/// # Errors
/// As [`write()`].
pub fn write_one(folder: &Path, name: &str, content: &[u8], inputs: &[&Path]) -> Result<PathBuf> {
    write_ready(folder, &[(name.to_string(), content.to_vec())], inputs)?;
    Ok(folder.join(name))
}

fn write_ready(folder: &Path, outputs: &[Output], inputs: &[&Path]) -> Result<Vec<PathBuf>> {
    let taken: Vec<PathBuf> = inputs.iter().filter_map(|p| p.canonicalize().ok()).collect();
    let mut ready = Vec::with_capacity(outputs.len());
    for (name, content) in outputs {
        let to = folder.join(name);
        if to.canonicalize().is_ok_and(|p| taken.contains(&p)) {
            return Err(Error::new("this result would replace an input file")
                .in_file(&to)
                .advise("choose another folder with --out"));
        }
        let mut file = tempfile::Builder::new()
            .prefix(".drawntrue-")
            .tempfile_in(folder)
            .map_err(|e| unwritable(folder, &e))?;
        file.write_all(content)
            .and_then(|()| file.flush())
            .map_err(|e| unwritable(folder, &e))?;
        set_permissions(&file);
        ready.push((file, to));
    }
    let mut written = Vec::with_capacity(ready.len());
    for (file, to) in ready {
        file.persist(&to).map_err(|e| unwritable(&to, &e.error))?;
        written.push(to);
    }
    Ok(written)
}

/// Temporary files are private to their owner; results are for others too.
fn set_permissions(file: &tempfile::NamedTempFile) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        // Best effort: a file system without permissions is no reason to fail.
        let _ = file
            .as_file()
            .set_permissions(std::fs::Permissions::from_mode(0o644));
    }
    #[cfg(not(unix))]
    let _ = file;
}

fn remove_stale(folder: &Path, outputs: &[Output]) {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return;
    };
    for entry in entries.flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        let ours = ["front", "side", "back", "three-quarter", "top"]
            .iter()
            .any(|v| name.starts_with(&format!("overlay-{v}")));
        if ours && name.ends_with(".png") && !outputs.iter().any(|(n, _)| *n == name) {
            // An old picture that stays is a nuisance, not a failure.
            let _ = std::fs::remove_file(entry.path());
        }
    }
}
