//! `report.json`: the one result, with lengths rounded to what they can mean.

use serde_json::Value;

use crate::error::{Error, Result};
use crate::report::model::Report;

/// Lengths are written to this share of the figure's height: a tenth of the error that spans may have.
const RESOLUTION: f64 = 1e-7;

/// Writes a report on one line.
///
/// # Errors
/// A number is not finite.
pub fn write(report: &Report) -> Result<Vec<u8>> {
    let mut rounded = report.clone();
    let digits = (-(RESOLUTION * report.figure_height.abs().max(1e-9)).log10())
        .ceil()
        .clamp(0.0, 15.0);
    let factor = 10f64.powf(digits);
    let round = |v: f64| (v * factor).round() / factor;
    for view in &mut rounded.views {
        for row in &mut view.rows {
            row.y = round(row.y);
            for s in row.drawing.iter_mut().chain(&mut row.mesh) {
                *s = s.map(round);
            }
            for d in [
                &mut row.outer_diff,
                &mut row.solid_diff,
                &mut row.left_diff,
                &mut row.right_diff,
            ] {
                *d = d.map(round);
            }
        }
    }
    let failed = |e: serde_json::Error| Error::new(format!("report.json cannot be made ({e})"));
    // serde_json writes a number that is not finite as null: only the differences of one-sided rows may be that.
    let text = serde_json::to_vec(&rounded).map_err(failed)?;
    debug_assert!(serde_json::from_slice::<Value>(&text).is_ok());
    Ok(text)
}
