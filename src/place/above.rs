//! Where a view from above lies: at which quarter turn on the page it is drawn, and how it is shifted.
//!
//! Its scale is that of the other views of its image; alone on an image it has one of its own. It says nothing of heights
//! and takes no part in scale and ground. Coordinates: see [`Azimuth::from_above`].

use super::assign::{Assigned, Figured, modelled};
use super::fit::{Care, Fit, Known, afloat, everything};
use super::placing::Look;
use crate::error::{Error, Result};
use crate::silhouette::Azimuth;

/// Facing down the page, up the page, right and left. Common practice, no source: down the page, below the front view.
const TURNS: [Azimuth; 4] = [
    Azimuth::FRONT,
    Azimuth::BACK,
    Azimuth::FACING_RIGHT,
    Azimuth::FACING_LEFT,
];
/// A later turn must fit better than an earlier one by this ratio of costs: a figure that is the same from front and
/// back faces down the page.
const BETTER: f64 = 0.98;

/// The best turn, and how the figure lies on it, at a scale that is known or found.
pub(super) fn placed(figure: &Figured<'_>, look: &Look<'_>, units_per_px: Option<f64>) -> Result<Assigned> {
    let turns = TURNS.map(Azimuth::from_above);
    let mut best: Option<(Azimuth, Fit)> = None;
    for (a, m) in turns.into_iter().zip(modelled(look, &turns)?) {
        let pair = figure.pair(&m);
        let fit = match units_per_px {
            Some(u) => afloat(&pair, u),
            None => everything(
                &[pair],
                &Known::default(),
                super::fit::Effort::Heights,
                Care::Fine,
            )
            .ok_or_else(|| Error::new("the view from above cannot be laid onto the mesh"))?,
        };
        if best.as_ref().is_none_or(|b| fit.cost < BETTER * b.1.cost) {
            best = Some((a, fit));
        }
    }
    best.ok_or_else(|| Error::new("the mesh has no view from above"))
}
