//! Writes a sheet and the rings of truth and reading to a folder, for a person to look at.

use std::fmt::Write as _;
use std::path::Path;

use drawntrue::sheet::decode::{DEFAULT_MAX_PIXELS, decode};
use drawntrue::sheet::edge::LineEdge;
use drawntrue::sheet::read::read;

use super::measure::turner;
use super::page::Sheet;

/// The folder that the sheets are written to, if it is named.
const FOLDER: &str = "SHEETS_TO_LOOK_AT";

/// Writes `NAME` (the picture as it is) and `NAME.rings`: one ring a line, `t` of the truth, `r` of the reading,
/// in pixels of the file.
pub(crate) fn write(name: &str, sheet: &Sheet) {
    let Some(folder) = std::env::var_os(FOLDER) else {
        return;
    };
    let folder = Path::new(&folder);
    let mut text = String::new();
    let mut line = |mark: char, points: &mut dyn Iterator<Item = [f64; 2]>| {
        text.push(mark);
        for p in points {
            let _ = write!(text, " {:.1},{:.1}", p[0], p[1]);
        }
        text.push('\n');
    };
    let turn = turner(&sheet.truth);
    for ring in sheet.truth.figures.iter().flat_map(|f| &f.rings) {
        line('t', &mut ring.iter().map(|p| turn.to_file(*p)));
    }
    if let Ok(reading) = decode(&sheet.bytes, DEFAULT_MAX_PIXELS).and_then(|p| read(&p, LineEdge::Centre)) {
        for ring in reading.figures.iter().flat_map(|f| &f.upright.rings) {
            line('r', &mut ring.iter().map(|p| [p.x, p.y]));
        }
    }
    std::fs::write(folder.join(name), &sheet.bytes).expect("a folder that can be written");
    std::fs::write(folder.join(format!("{name}.rings")), text).expect("a folder that can be written");
}
