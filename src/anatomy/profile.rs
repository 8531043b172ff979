//! Landmarks that a side view shows.

use super::frontal::{DENT, of_legs};
use super::rows::Rows;
use super::turns::turns;
use super::{FLAT, Frame, Landmark, at_turn, ends, seen, sure};
use crate::profile::Span;

/// A neck of a side view lies within this share of the height of the front view's.
const NECK_NEAR: f64 = 0.06;
/// Without a front view it is the highest dent as deep as this share of the height; the brim of a hat is shallower.
const NECK_DENT: f64 = 0.012;
/// A chin juts out in front of the throat by this share of the height.
const CHIN: f64 = 0.004;
/// And lies in this lower part of what is above the neck: higher up, it is the nose.
const CHIN_BELOW: f64 = 0.36;
/// The chest lies above this share of the way from crotch (or half the height) to neck.
const CHEST: f64 = 0.45;

/// Crown, chin, neck, chest, waist, knee, ankle, ground. The crotch is another view's and none of this one's.
pub(super) fn landmarks(rows: &Rows, frame: &Frame, forward: f64) -> Vec<Landmark> {
    let least = DENT * frame.height;
    let flat = FLAT * frame.height;
    let mut out = ends(rows, frame);
    // How far the row reaches forward.
    let front = |i: usize| {
        rows.spans(i)
            .iter()
            .flat_map(|s: &Span| [s.x0 * forward, s.x1 * forward])
            .fold(f64::NEG_INFINITY, f64::max)
    };
    let depth: Vec<f64> = (0..rows.len()).map(|i| rows.outer(i)).collect();
    let neck = neck(rows, &depth, frame);
    if let Some((n, by)) = neck {
        out.push(at_turn("neck", (&depth, |i| rows.y(i)), n, flat, sure(by, least)));
        // From the neck up: the first place that juts out.
        let head: Vec<f64> = (0..=n).rev().map(front).collect();
        let lowest = rows.y(n);
        let below = lowest + CHIN_BELOW * (rows.top() - lowest);
        let chin = turns(&head, CHIN * frame.height).into_iter().find(|t| t.high);
        if let Some(chin) = chin.filter(|c| rows.y(n - c.at) <= below) {
            out.push(seen(
                "chin",
                rows.y(n - chin.at),
                sure(chin.by, CHIN * frame.height),
            ));
        }
    }
    let low = frame.crotch.unwrap_or(frame.ground + 0.5 * frame.height);
    let shoulders = neck.map_or(frame.ground + 0.82 * frame.height, |n| rows.y(n.0));
    let trunk = rows.between(low, shoulders);
    let y_of = |i: usize| rows.y(trunk.start + i);
    let reach: Vec<f64> = trunk.clone().map(front).collect();
    let chest = turns(&reach, least)
        .into_iter()
        .filter(|t| t.high && y_of(t.at) > low + CHEST * (shoulders - low))
        .max_by(|a, b| reach[a.at].total_cmp(&reach[b.at]));
    if let Some(c) = chest {
        out.push(at_turn("chest", (&reach, y_of), c.at, flat, sure(c.by, least)));
    }
    // The waist of a side view is its narrowest place between chest and seat.
    let depth = &depth[trunk.clone()];
    let waist = turns(depth, least)
        .into_iter()
        .filter(|t| !t.high)
        .min_by(|a, b| depth[a.at].total_cmp(&depth[b.at]));
    if let Some(w) = waist {
        out.push(at_turn("waist", (depth, y_of), w.at, flat, sure(w.by, least)));
    }
    if let Some(crotch) = frame.crotch {
        out.extend(of_legs(rows, frame, crotch, |spans| {
            spans.iter().map(Span::width).sum()
        }));
    }
    out
}

/// The row of the neck and how deep its dent is.
fn neck(rows: &Rows, depth: &[f64], frame: &Frame) -> Option<(usize, f64)> {
    let dents = turns(depth, DENT * frame.height);
    let dents = dents.iter().filter(|t| !t.high);
    let found = match frame.neck {
        Some(y) => dents
            .filter(|t| (rows.y(t.at) - y).abs() <= NECK_NEAR * frame.height)
            .min_by(|a, b| (rows.y(a.at) - y).abs().total_cmp(&(rows.y(b.at) - y).abs())),
        None => dents
            .filter(|t| frame.share(rows.y(t.at)) > 0.5)
            .find(|t| t.by >= NECK_DENT * frame.height),
    };
    found.map(|t| (t.at, t.by))
}
