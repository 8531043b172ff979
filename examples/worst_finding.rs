//! Checks a mesh against its turnaround drawing and prints what is most off:
//! `cargo run --release --example worst_finding -- refs/tamsel.obj refs/tamsel-sheet.png`

use std::path::Path;

use drawntrue::check::check;
use drawntrue::mesh::formats::Wanted;
use drawntrue::open;
use drawntrue::place::assign::Asked;
use drawntrue::report::model::{Settings, Verdict};
use drawntrue::setup::ImageSetup;
use drawntrue::sheet::decode::DEFAULT_MAX_PIXELS;

/// The verdict, and the finding that is farthest off in any view, in words.
pub(crate) fn worst(mesh: &Path, sheet: &Path) -> drawntrue::Result<(Verdict, Option<String>)> {
    // What is not said here is as on the command line: scale, ground and views are found.
    let settings = Settings {
        tolerance_pct: 1.0,
        unit: "cm".to_string(),
        ..Settings::default()
    };
    let mesh = open::mesh(mesh, &settings, &Wanted::default())?;
    let sheet = open::image(sheet, Asked::Any, &ImageSetup::default(), DEFAULT_MAX_PIXELS)?;
    let report = check(&mesh.mesh, mesh.input, &[sheet.read], settings, mesh.notes)?.report;
    let all = report
        .views
        .iter()
        .flat_map(|v| v.findings.iter().map(move |f| (v, f)));
    let worst = all.min_by_key(|(_, finding)| finding.number);
    Ok((
        report.verdict,
        worst.map(|(view, finding)| format!("{}: {}", view.name, finding.text)),
    ))
}

#[allow(dead_code, clippy::print_stdout, reason = "an example prints")]
fn main() -> drawntrue::Result<()> {
    let files: Vec<String> = std::env::args().skip(1).collect();
    let [mesh, sheet] = &files[..] else {
        return Err(drawntrue::Error::new("two files are needed").advise("give a mesh and a sheet"));
    };
    let (verdict, worst) = worst(Path::new(mesh), Path::new(sheet))?;
    println!(
        "{verdict:?}: {}",
        worst.as_deref().unwrap_or("nothing to correct")
    );
    Ok(())
}
