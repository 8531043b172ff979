//! Makes the demo in `refs/`: an invented character as a quad cage with three deliberate faults, and the
//! turnaround sheet that the character should match. Everything is computed from tables and fixed seeds:
//! the same bytes on every run.
//!
//! `cargo run --release --example make_refs` writes the files, with `-- --check` it only compares them with
//! what is there and fails where they differ. `-- --look DIR` also writes the cage without faults to DIR.

mod cage;
mod details;
mod faults;
mod figure;
mod files;
mod ink;
mod lettering;
mod noise;
mod picture;
mod sheet;
mod view;

use files::{Files, made};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// The folder of the made files, beside `Cargo.toml`.
const FOLDER: &str = "refs";

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(FOLDER);
    let outcome = match words.as_slice() {
        [] => made().and_then(|files| write(&folder, &files)),
        ["--check"] => made().and_then(|files| check(&folder, &files)),
        ["--look", look] => made()
            .and_then(|files| write(&folder, &files))
            .and_then(|()| write(Path::new(look), &looks())),
        _ => Err("give no argument, `--check`, or `--look DIR`".to_owned()),
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(message) => {
            eprintln!("make_refs: {message}");
            ExitCode::FAILURE
        }
    }
}

/// What helps to judge the files and is not kept.
fn looks() -> Files {
    let obj = figure::on_model().to_obj("tamsel", &["the cage without its faults"]);
    vec![("on-model.obj", obj.into_bytes())]
}

fn write(folder: &Path, files: &Files) -> Result<(), String> {
    std::fs::create_dir_all(folder).map_err(|e| format!("{}: {e}", folder.display()))?;
    for (name, bytes) in files {
        let path: PathBuf = folder.join(name);
        std::fs::write(&path, bytes).map_err(|e| format!("{}: {e}", path.display()))?;
    }
    Ok(())
}

fn check(folder: &Path, files: &Files) -> Result<(), String> {
    for (name, bytes) in files {
        let path = folder.join(name);
        let there = std::fs::read(&path).map_err(|e| format!("{}: {e}", path.display()))?;
        if there != *bytes {
            return Err(format!(
                "{}: differs from what the generator makes ({} bytes there, {} made)",
                path.display(),
                there.len(),
                bytes.len()
            ));
        }
    }
    Ok(())
}
