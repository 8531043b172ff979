//! The sheet against itself: heights, lines and symmetry of its views, and how much of a finding they explain.

use super::landmarks::Divided;
use crate::anatomy::{Found, Landmark};
use crate::profile::Outline;
use crate::report::model::{LandmarkAgreement, Symmetry};
use crate::space::ViewUnits;

/// Landmarks that mean the same in both views; a waist seen from the side is another place than one seen from the front.
const SHARED: [&str; 5] = ["crown", "neck", "knee", "ankle", "ground"];
/// Landmarks less sure than this in one of the views do not say that the views disagree.
const SURE: f64 = 0.6;
/// Views agree on a height to this share of the figure's: a hand is true to 0.15 % at each end, a landmark is read to as
/// much.
const AGREE_PCT: f64 = 0.5;
/// Rows in which symmetry is measured.
const ROWS: usize = 400;

/// What lies farther apart than this is not the same landmark: one of the two was taken for another turn of the outline.
const MOST_PCT: f64 = 10.0;
/// Rows this far above and below a landmark, as a share of the height, show it too.
const AROUND: f64 = 0.02;

/// Heights that the front and the side view both show, from the crown down. `height` is that of the figure; `fits` says
/// whether the mesh lies on the drawing between two heights in the front (0) and in the side view (1).
///
/// Where one mesh lies on both views they do not contradict each other, whatever their outlines' turns seem to say.
pub fn landmarks(
    front: &Divided,
    side: &Divided,
    height: f64,
    fits: impl Fn(usize, [f64; 2]) -> bool,
) -> Vec<LandmarkAgreement> {
    SHARED
        .iter()
        .filter_map(|&name| {
            // What a line names has one height in all views.
            let shown = |l: &&Landmark| l.found == Found::Outline && l.confidence >= SURE;
            let both = [front, side].map(|v| v.drawing.landmark(name).filter(shown));
            let [Some(f), Some(s)] = both else { return None };
            let diff_pct = 100.0 * (s.y - f.y) / height;
            // A body's own outlines may turn at different heights from the front and from the side: what the mesh has
            // too is no contradiction of the drawing.
            let [mesh_front, mesh_side] = [front, side].map(|v| v.mesh.landmark(name).map(|l| l.y));
            let own_pct = match (mesh_front, mesh_side) {
                (Some(f), Some(s)) => 100.0 * (s - f) / height,
                _ => 0.0,
            };
            let within_pct = 100.0 * (f.within + s.within) / height;
            let open = AGREE_PCT + within_pct / 2.0;
            let between = [f.y.min(s.y) - AROUND * height, f.y.max(s.y) + AROUND * height];
            let contradicts = (open..=MOST_PCT).contains(&(diff_pct - own_pct).abs())
                && !(fits(0, between) && fits(1, between));
            let off = |mesh: Option<f64>, drawn: f64| mesh.map(|m| (m - drawn).abs());
            let nearer = match (off(mesh_front, f.y), off(mesh_side, s.y)) {
                _ if !contradicts => None,
                (Some(a), Some(b)) if b < a => Some("side"),
                (Some(_), _) => Some("front"),
                (None, Some(_)) => Some("side"),
                (None, None) => None,
            };
            Some(LandmarkAgreement {
                name,
                front: f.y,
                side: s.y,
                diff_pct,
                within_pct,
                contradicts,
                mesh_nearer: nearer,
            })
        })
        .collect()
}

/// How far the other view lies above this one at a height, units: straight between the landmarks of both, none where no
/// landmark contradicts.
pub fn other_above(agreement: &[LandmarkAgreement], this_is_front: bool, y: f64) -> f64 {
    if !agreement.iter().any(|l| l.contradicts) {
        return 0.0;
    }
    let mut known: Vec<(f64, f64)> = agreement
        .iter()
        .map(|l| {
            if this_is_front {
                (l.front, l.side - l.front)
            } else {
                (l.side, l.front - l.side)
            }
        })
        .collect();
    known.sort_by(|a, b| a.0.total_cmp(&b.0));
    let k = known.partition_point(|p| p.0 <= y);
    match (k.checked_sub(1).map(|i| known[i]), known.get(k)) {
        (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (y - a.0) / (b.0 - a.0).max(f64::MIN_POSITIVE),
        (Some(a), None) => a.1,
        (None, Some(b)) => b.1,
        (None, None) => 0.0,
    }
}

/// How much of a difference in outer width at a height goes away if the drawing is read where the other view has it,
/// percent; `None` if the views agree there. `above` is how far the other view lies above this one, units.
pub fn explained_pct(
    drawing: &Outline<ViewUnits>,
    y: f64,
    mesh_width: f64,
    above: f64,
    height: f64,
) -> Option<f64> {
    if above.abs() < AGREE_PCT / 100.0 * height {
        return None;
    }
    let rows = drawing.row_spans(&[y, y - above]);
    let here = mesh_width - rows.outer(0)?.width();
    let there = mesh_width - rows.outer(1)?.width();
    (here.abs() > 0.0).then(|| (100.0 * (1.0 - there.abs() / here.abs())).clamp(0.0, 100.0))
}

/// A front view against its own mirror image, about the median of its rows' middles.
pub fn symmetry(drawing: &Outline<ViewUnits>, height: f64) -> Option<Symmetry> {
    let b = drawing.bounds()?;
    let step = b.height() / ROWS as f64;
    let ys: Vec<f64> = (0..ROWS).map(|i| b.y1 - (i as f64 + 0.5) * step).collect();
    let rows = drawing.row_spans(&ys);
    let middles: Vec<(f64, f64)> = (0..ROWS)
        .filter_map(|i| rows.outer(i).map(|s| (ys[i], f64::midpoint(s.x0, s.x1))))
        .collect();
    let mut sorted: Vec<f64> = middles.iter().map(|m| m.1).collect();
    sorted.sort_by(f64::total_cmp);
    let axis = *sorted.get(sorted.len() / 2)?;
    let off = |m: &(f64, f64)| (m.1 - axis).abs();
    // Where an outline runs nearly level a row's middle says nothing: the worst tenth is left out of the mean, and the
    // worst place is the worst of what is left.
    let mut by_size = middles;
    by_size.sort_by(|a, b| off(a).total_cmp(&off(b)));
    by_size.truncate((by_size.len() * 9).div_ceil(10));
    let worst = by_size.last()?;
    let mean = by_size.iter().map(off).sum::<f64>() / by_size.len() as f64;
    Some(Symmetry {
        mean_pct: 100.0 * mean / height,
        worst_pct: 100.0 * off(worst) / height,
        worst_y: worst.0,
    })
}
