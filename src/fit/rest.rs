//! What a fit leaves, and why.

use super::wanted::{Seen, Wanted};
use super::{Ask, Target};
use crate::mesh::vector::{Vector, norm};

/// Less than this share of the tolerance is not told.
const WORTH_TELLING: f64 = 0.5;
/// Places of a stretch are at most so many steps of the outline apart.
const STEPS: f64 = 3.0;
/// Fewer places are a corner, no stretch.
const FEWEST: usize = 3;
/// A move of this share of the largest one has reached it.
const AT_LIMIT: f64 = 0.99;
/// A direction counts as up or down from this share on.
const UPRIGHT: f64 = 0.7;
/// Heights of two views count as the same within this share of the height.
const SAME_HEIGHT: f64 = 0.02;

/// Why a stretch is still off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Reason {
    /// The drawing is not symmetric, the mesh takes the mean of its sides.
    NotSymmetric,
    /// Another view asks for another height.
    ViewsDisagree,
    /// It is farther than the largest move.
    TooFar,
    /// It was not asked for.
    NotAsked,
    /// The cage has too few loops there, or moving on would fold it.
    CageTooCoarse,
}

/// A stretch of an outline that is still off.
#[derive(Debug, Clone, PartialEq)]
pub struct Rest {
    /// Index of the target.
    pub view: usize,
    /// Lowest and highest place, in units.
    pub y_from: f64,
    /// See `y_from`.
    pub y_to: f64,
    /// How far the drawing lies beyond the mesh at the worst place, in units.
    pub off: f64,
    /// Why.
    pub reason: Reason,
}

/// The stretches that are left, those of each view in the order of the outline.
pub(super) fn rest(seen: &[Seen], moves: &[Vector], targets: &[Target<'_>], ask: &Ask<'_>) -> Vec<Rest> {
    let mut out = Vec::new();
    let near = STEPS * super::wanted::STEP * ask.height;
    for (view, own) in seen.iter().enumerate() {
        let is_off = |w: &&Wanted| w.off.abs() > WORTH_TELLING * ask.tolerance;
        let all: Vec<&Wanted> = own.wanted.iter().filter(is_off).collect();
        let goes_on = |a: &&Wanted, b: &&Wanted| {
            a.at.distance(b.at) <= near && a.off.signum() == b.off.signum() && a.spared == b.spared
        };
        for stretch in all.chunk_by(goes_on).filter(|s| s.len() >= FEWEST) {
            let worst = stretch
                .iter()
                .copied()
                .max_by(|a, b| a.off.abs().total_cmp(&b.off.abs()))
                .expect("a chunk has an element");
            let ys = || stretch.iter().map(|w| w.at.y);
            out.push(Rest {
                view,
                y_from: ys().fold(f64::INFINITY, f64::min),
                y_to: ys().fold(f64::NEG_INFINITY, f64::max),
                off: worst.off,
                reason: reason(worst, view, seen, moves, targets, ask),
            });
        }
    }
    out
}

fn reason(
    worst: &Wanted,
    view: usize,
    seen: &[Seen],
    moves: &[Vector],
    targets: &[Target<'_>],
    ask: &Ask<'_>,
) -> Reason {
    if worst.spared {
        return Reason::NotAsked;
    }
    let at_limit =
        |s: (u32, f64)| s.1 >= super::wanted::MAIN && norm(moves[s.0 as usize]) > AT_LIMIT * ask.most_move;
    if worst.shares().any(at_limit) {
        return Reason::TooFar;
    }
    let against = |w: &Wanted| w.off.signum() != worst.off.signum() && w.off.abs() > 0.5 * worst.off.abs();
    let mirrored: Vec<u32> = worst
        .shares()
        .filter(|s| s.1 >= super::wanted::MAIN)
        .map(|s| ask.partners[s.0 as usize])
        .collect();
    let is_image = |w: &Wanted| {
        w.shares()
            .any(|s| s.1 >= super::wanted::MAIN && mirrored.contains(&s.0))
            && w.at.distance(worst.at) > super::wanted::STEP * ask.height
    };
    if seen
        .iter()
        .flat_map(|s| &s.wanted)
        .any(|w| is_image(w) && against(w))
    {
        return Reason::NotSymmetric;
    }
    let lifts = |w: &Wanted| w.out[1].abs() > UPRIGHT;
    let disagrees = |w: &Wanted| {
        lifts(w)
            && (w.at.y - worst.at.y).abs() < SAME_HEIGHT * ask.height
            && (w.off * w.out[1]).signum() != (worst.off * worst.out[1]).signum()
            && w.off.abs() > 0.5 * worst.off.abs()
    };
    let others = seen
        .iter()
        .enumerate()
        .filter(|(v, _)| targets[*v].azimuth != targets[view].azimuth);
    if lifts(worst) && others.flat_map(|(_, s)| &s.wanted).any(disagrees) {
        return Reason::ViewsDisagree;
    }
    Reason::CageTooCoarse
}
