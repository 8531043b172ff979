//! `drawntrue setup`: writes what was found in a drawing as a setup file, to be overruled line by line.

use std::path::{Path, PathBuf};

use clap::Args;

use super::EXIT_WITHIN;
use super::limits::PictureLimit;
use crate::error::Result;
use crate::setup::{Found, FoundArea, FoundGuide, FoundView, ImageSetup, Setup, SetupFile, append, write};
use crate::sheet::decode::decode;
use crate::sheet::gaps::WIDEST_BREAK;
use crate::sheet::read::{Reading, read_overruled};
use crate::sheet::views;

/// Arguments of `drawntrue setup`.
#[derive(Debug, Args)]
pub(super) struct SetupArguments {
    /// The drawing, or one drawing a view; write the setup into the folder that you give their paths from
    #[arg(required = true)]
    images: Vec<PathBuf>,
    /// A setup that is there already: it is kept as it is, and images that it does not have are put behind
    #[arg(long, value_name = "FILE")]
    setup: Option<PathBuf>,
    #[command(flatten)]
    pictures: PictureLimit,
}

/// What a setup says of an image: that of the same path or, failing that, of the same file name.
pub(super) fn of_image(setup: &Setup, path: &Path) -> ImageSetup {
    let real = |p: &Path| std::fs::canonicalize(p).unwrap_or_else(|_| p.to_path_buf());
    let same = |i: &&ImageSetup| real(&i.file) == real(path);
    let like = |i: &&ImageSetup| i.file.file_name() == path.file_name();
    let found = setup.images.iter().find(same);
    found
        .or_else(|| setup.images.iter().find(like))
        .cloned()
        .unwrap_or_default()
}

pub(super) fn run(arguments: &SetupArguments) -> Result<u8> {
    let kept = arguments.setup.as_deref().map(SetupFile::read).transpose()?;
    let mut text = kept.as_ref().map(|k| k.text.clone());
    for path in &arguments.images {
        let known = kept.as_ref().is_some_and(|k| {
            k.setup
                .images
                .iter()
                .any(|i| i.file == *path || i.file.file_name() == path.file_name())
        });
        if known {
            continue;
        }
        let bytes = arguments.pictures.read(path)?;
        let overrules = ImageSetup::default().overrules();
        let reading = decode(&bytes, arguments.pictures.max_pixels)
            .and_then(|picture| read_overruled(&picture, &overrules))
            .map_err(|e| e.in_file(path))?;
        let found = found(path, &reading);
        text = Some(match text {
            Some(before) => before + &append(&found),
            None => write(&found),
        });
    }
    super::print(&text.unwrap_or_default())?;
    Ok(EXIT_WITHIN)
}

fn found(path: &Path, reading: &Reading) -> Found {
    let signs: Vec<_> = reading
        .figures
        .iter()
        .map(|f| views::signs(&f.level, f.face))
        .collect();
    Found {
        file: path.display().to_string(),
        threshold: reading.threshold,
        widest_gap: 100.0 * WIDEST_BREAK,
        views: reading
            .figures
            .iter()
            .zip(views::name(&signs))
            .map(|(f, (name, _))| FoundView {
                name: views::kind(&name).to_string(),
                box_px: f.box_px,
                confidence: f.confidence,
                warnings: f.warnings.clone(),
            })
            .collect(),
        guides: reading
            .guide_lines_px
            .iter()
            .map(|y_px| FoundGuide { y_px: *y_px })
            .collect(),
        areas: reading
            .figures
            .iter()
            .flat_map(|f| &f.enclosed)
            .map(|a| FoundArea {
                place: a.place,
                ground: a.ground,
            })
            .collect(),
        ..Found::default()
    }
}
