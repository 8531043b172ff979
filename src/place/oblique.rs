//! The turn of a view from between front and side: the one whose silhouette fits best.
//!
//! Method: scale and ground are known from the other views. Turns are tried coarsely to either side, then in smaller
//! steps around the best, and in the end the costs of three neighbours give the lowest point of a parabola through them.
//! A view from between front and side has the mirrored silhouette of one from between back and side; in a symmetric
//! figure the two cannot be told apart, and the front is taken unless the back fits distinctly better.

use super::assign::{Assigned, DISTINCT, Figured, modelled};
use super::fit::{Care, Fit, shifts};
use super::placing::Look;
use crate::error::{Error, Result};
use crate::silhouette::Azimuth;

/// Turns that are tried first, degrees, to either side: drawn three-quarter views lie about 45 degrees. Common practice,
/// no source.
const FIRST: [f64; 4] = [25.0, 40.0, 55.0, 70.0];
/// Steps of the finer rounds, degrees: each reaches from one neighbour of the round before to the other.
const ROUNDS: [f64; 3] = [7.5, 3.0, 1.5];
/// Steps to either side in a finer round.
const REACH: i32 = 2;

/// A turn in degrees with the fit that it gives.
type Tried = (f64, Fit);

/// Tries turns; those that were tried already are not tried again.
fn try_turns(
    figure: &Figured<'_>,
    look: &Look<'_>,
    (units_per_px, zero_px): (f64, f64),
    degrees: &[f64],
    tried: &mut Vec<Tried>,
) -> Result<()> {
    let new: Vec<f64> = degrees
        .iter()
        .copied()
        .filter(|d| tried.iter().all(|t| t.0 != *d))
        .collect();
    let views: Vec<Azimuth> = new.iter().copied().map(Azimuth::from_degrees).collect();
    for (d, m) in new.into_iter().zip(modelled(look, &views)?) {
        tried.push((d, shifts(&[figure.pair(&m)], units_per_px, zero_px, Care::Fine)));
    }
    Ok(())
}

fn best(tried: &[Tried]) -> Result<&Tried> {
    tried
        .iter()
        .min_by(|a, b| a.1.cost.total_cmp(&b.1.cost).then(a.0.total_cmp(&b.0)))
        .ok_or_else(|| Error::new("the mesh has no views"))
}

/// The best turn and how the figure lies on it.
pub(super) fn turned(figure: &Figured<'_>, look: &Look<'_>, at: (f64, f64)) -> Result<Assigned> {
    let mut tried: Vec<Tried> = Vec::new();
    let first: Vec<f64> = FIRST.iter().flat_map(|a| [*a, -a]).collect();
    try_turns(figure, look, at, &first, &mut tried)?;
    for step in ROUNDS {
        let middle = best(&tried)?.0;
        let around: Vec<f64> = (-REACH..=REACH).map(|k| middle + f64::from(k) * step).collect();
        try_turns(figure, look, at, &around, &mut tried)?;
    }
    let middle = best(&tried)?.0;
    let step = ROUNDS[ROUNDS.len() - 1];
    try_turns(figure, look, at, &[middle - step, middle + step], &mut tried)?;
    let cost = |d: f64| tried.iter().find(|t| t.0 == d).map_or(1.0, |t| t.1.cost);
    let (left, here, right) = (cost(middle - step), cost(middle), cost(middle + step));
    let bend = left - 2.0 * here + right;
    let off = if bend > 0.0 {
        (0.5 * (left - right) / bend).clamp(-0.5, 0.5)
    } else {
        0.0
    };
    let found = middle + off * step;
    // The same view from behind.
    let behind = (180.0 - found.abs()).copysign(found);
    let mut last: Vec<Tried> = Vec::new();
    try_turns(figure, look, at, &[found, behind], &mut last)?;
    let (front, back) = (last.swap_remove(0), last.pop());
    let (degrees, fit) = match back {
        Some(b) if b.1.cost < DISTINCT * front.1.cost => b,
        _ => front,
    };
    Ok((Azimuth::from_degrees(degrees), fit))
}

/// The best of front and both sides, for a figure that is lower than the others.
pub(super) fn upright(figure: &Figured<'_>, look: &Look<'_>, at: (f64, f64)) -> Result<Assigned> {
    let mut tried: Vec<Tried> = Vec::new();
    try_turns(figure, look, at, &[0.0, 90.0, -90.0], &mut tried)?;
    let (degrees, fit) = best(&tried)?.clone();
    Ok((Azimuth::from_degrees(degrees), fit))
}
