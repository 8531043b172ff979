//! From rows to findings: runs of rows of one kind that are tall and deviate far enough to be worth a modeller's time.

use super::rows::Measured;
use crate::report::model::Kind;

/// Rows of another kind may interrupt a band for this share of the figure's height.
const INTERRUPTION: f64 = 0.004;
/// A finding is taller than this share of the figure's height: a smaller place is within a pencil's breadth.
pub(super) const LEAST_HEIGHT: f64 = 0.02;
/// And deviates by more than this many tolerances somewhere: what merely grazes the tolerance is not pointed at.
pub(super) const LEAST_PEAK: f64 = 1.5;
/// In an unfinished mesh an edge that falls short by more than this many tolerances is a limb that is not there yet.
const LIMB_MISSING: f64 = 5.0;

/// A run of rows of one kind.
#[derive(Debug, Clone)]
pub struct Band {
    /// What is wrong.
    pub kind: Kind,
    /// Lower end.
    pub y_from: f64,
    /// Upper end.
    pub y_to: f64,
    /// Index of the worst row.
    pub worst: usize,
    /// Largest distance of a span's end from the other outline.
    pub peak: f64,
    /// Not held against an unfinished mesh.
    pub excused: bool,
}

/// The bands of a view that are findings, worst first. `height` and `tolerance` are in units.
pub fn bands(rows: &[Measured], height: f64, tolerance: f64, unfinished: bool) -> Vec<Band> {
    let step = rows.windows(2).next().map_or(height, |w| w[0].row.y - w[1].row.y);
    let patience = (INTERRUPTION * height / step).round() as usize;
    let mut out: Vec<Band> = Vec::new();
    let mut i = 0;
    while i < rows.len() {
        let Some(kind) = rows[i].kind else {
            i += 1;
            continue;
        };
        let mut last = i;
        let mut j = i + 1;
        while j < rows.len() && j - last <= patience + 1 {
            if rows[j].kind == Some(kind) {
                last = j;
            }
            j += 1;
        }
        let members: Vec<usize> = (i..=last).filter(|&k| rows[k].kind == Some(kind)).collect();
        let peak = members.iter().map(|&k| rows[k].deviation).fold(0.0, f64::max);
        let strength = members.iter().map(|&k| rows[k].strength).fold(0.0, f64::max);
        let tall = rows[i].row.y - rows[last].row.y + step;
        if tall > LEAST_HEIGHT * height && strength > LEAST_PEAK {
            let worst = members
                .iter()
                .copied()
                .max_by(|&a, &b| {
                    severity(&rows[a], kind)
                        .total_cmp(&severity(&rows[b], kind))
                        .then(b.cmp(&a))
                })
                .unwrap_or(i);
            let lacking = kind == Kind::Missing || (kind == Kind::Thin && peak > LIMB_MISSING * tolerance);
            out.push(Band {
                kind,
                y_from: rows[last].row.y - step / 2.0,
                y_to: rows[i].row.y + step / 2.0,
                worst,
                peak,
                excused: unfinished && lacking,
            });
        }
        i = last + 1;
    }
    out.sort_by(|a, b| b.peak.total_cmp(&a.peak).then(b.y_to.total_cmp(&a.y_to)));
    out
}

/// What makes a row of a band the worst: the contract asks for the largest outer difference of the kind's sign, for
/// gaps the largest inner one.
fn severity(row: &Measured, kind: Kind) -> f64 {
    let outer = row.row.outer_diff.unwrap_or(0.0);
    match kind {
        Kind::Thick => outer,
        Kind::Thin => -outer,
        Kind::GapClosed | Kind::GapOpen => row.inner,
        Kind::Shifted | Kind::Missing | Kind::Extra => row.deviation,
    }
}
