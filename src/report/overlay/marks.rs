//! The numbers of findings in the figure: a disc beside the place, a leader line to it.

use super::Subject;
use super::canvas::{Canvas, Pen, Weight};
use super::chain::from_line;
use super::frame::Stage;
use crate::report::look::{DISC, FINE_LINE, INK, PAPER, SMALL};
use crate::report::model::{Finding, Kind, Row};

/// Space between a disc and what it stays clear of.
const CLEAR: f64 = 5.0;
/// Radius of the dot at the place itself.
const SPOT: f64 = 2.6;
/// Half the height of digits, times their size.
const HALF_DIGIT: f64 = 0.35;
/// A disc is moved up and down by so many of its radii at most.
const MOVES: i32 = 4;
/// A level leader line reads best: a pixel up or down counts as so many sideways.
const STEEP: f64 = 2.0;

/// Where a leader line ends in the figure, and the middle of its disc.
type Leader = ((f64, f64), (f64, f64));

/// A disc with a finding's number; hollow if it does not count for the verdict.
pub(super) fn badge(canvas: &mut Canvas, finding: &Finding, x: f64, y: f64) {
    let text = finding.number.to_string();
    canvas.disc(x, y, DISC + 1.5, PAPER);
    canvas.disc(x, y, DISC, INK);
    let mut colour = PAPER;
    if finding.excused {
        canvas.disc(x, y, DISC - 1.4, PAPER);
        colour = INK;
    }
    // Three digits still fit a disc when they are smaller.
    let size = if text.len() > 2 { SMALL - 3.0 } else { SMALL };
    canvas.text_about(&text, size, Weight::Strong, (x, y + HALF_DIGIT * size), colour);
}

pub(super) fn draw(canvas: &mut Canvas, subject: &Subject<'_>, stage: &Stage) {
    let rows = &subject.view().rows;
    let mut placed: Vec<Leader> = Vec::new();
    let mut discs = Vec::new();
    for finding in &subject.view().findings {
        for (x, y, side) in spots(rows, finding, subject.tolerance()) {
            let spot = stage.at(x, y);
            let at = free_place(rows, stage, spot, side, &placed);
            placed.push((spot, at));
            discs.push((finding, spot, at));
        }
    }
    for (_, spot, at) in &discs {
        canvas.line(&[*spot, *at], Pen::solid(FINE_LINE + 2.4, PAPER));
        canvas.line(&[*spot, *at], Pen::solid(FINE_LINE, INK));
        canvas.disc(spot.0, spot.1, SPOT + 1.2, PAPER);
        canvas.disc(spot.0, spot.1, SPOT, INK);
    }
    for (finding, _, (x, y)) in discs {
        badge(canvas, finding, x, y);
    }
}

/// Where a finding is: places of the view, and on which side each lies (−1 left, 1 right). Both edges, if both are
/// outside tolerance; in a part that only one of the two has, where it is widest.
fn spots(rows: &[Row], finding: &Finding, tolerance: f64) -> Vec<(f64, f64, f64)> {
    let outer = |spans: &[[f64; 2]]| spans.first().zip(spans.last()).map(|(a, b)| [a[0], b[1]]);
    let middle = rows
        .iter()
        .filter_map(|r| outer(&r.drawing).or(outer(&r.mesh)))
        .map(|[a, b]| f64::midpoint(a, b));
    let axis = middle.clone().sum::<f64>() / middle.count().max(1) as f64;
    let side = |x: f64| if x < axis { -1.0 } else { 1.0 };
    if matches!(finding.kind, Kind::Missing | Kind::Extra) {
        let width = |r: &&Row| outer(&r.drawing).or(outer(&r.mesh)).map_or(0.0, |[a, b]| b - a);
        return rows
            .iter()
            .filter(|r| finding.y_from <= r.y && r.y <= finding.y_to)
            .max_by(|a, b| width(a).total_cmp(&width(b)))
            .and_then(|r| {
                outer(&r.drawing)
                    .or(outer(&r.mesh))
                    .map(|[a, b]| (f64::midpoint(a, b), r.y))
            })
            .map(|(x, y)| (x, y, side(x)))
            .into_iter()
            .collect();
    }
    let off = |r: &Row| (r.y - finding.worst_y).abs();
    let Some(row) = rows.iter().min_by(|a, b| off(a).total_cmp(&off(b))) else {
        return Vec::new();
    };
    let (Some(d), Some(m)) = (outer(&row.drawing), outer(&row.mesh)) else {
        return Vec::new();
    };
    if matches!(finding.kind, Kind::GapClosed | Kind::GapOpen) {
        let x = widest_gap(row, [d[0].max(m[0]), d[1].min(m[1])]);
        return x.map(|x| (x, row.y, side(x))).into_iter().collect();
    }
    // From the outer end inwards to where the next span begins or ends: there the two differ.
    let mut ends: Vec<f64> = row.drawing.iter().chain(&row.mesh).flatten().copied().collect();
    ends.sort_by(f64::total_cmp);
    let left = (f64::midpoint(ends[0], ends[1]), row.y, -1.0);
    let right = (
        f64::midpoint(ends[ends.len() - 1], ends[ends.len() - 2]),
        row.y,
        1.0,
    );
    let (l, r) = ((d[0] - m[0]).abs(), (d[1] - m[1]).abs());
    // The right one, where the charts are, if they are alike and one is enough.
    match (l > tolerance, r > tolerance) {
        (true, true) => vec![right, left],
        (true, false) => vec![left],
        (false, true) => vec![right],
        (false, false) => vec![if l > r { left } else { right }],
    }
}

/// The middle of the widest stretch between two columns that only one of the two covers.
fn widest_gap(row: &Row, within: [f64; 2]) -> Option<f64> {
    let mut ends: Vec<f64> = row.drawing.iter().chain(&row.mesh).flatten().copied().collect();
    ends.retain(|x| within[0] <= *x && *x <= within[1]);
    ends.extend(within);
    ends.sort_by(f64::total_cmp);
    let covers = |spans: &[[f64; 2]], x: f64| spans.iter().any(|s| s[0] <= x && x <= s[1]);
    ends.windows(2)
        .map(|w| (f64::midpoint(w[0], w[1]), w[1] - w[0]))
        .filter(|(x, _)| covers(&row.drawing, *x) != covers(&row.mesh, *x))
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(x, _)| x)
}

fn apart(a: (f64, f64), b: (f64, f64)) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

/// A place for a disc beside the figure at about a row, clear of the figure and of other discs.
fn free_place(rows: &[Row], stage: &Stage, spot: (f64, f64), side: f64, placed: &[Leader]) -> (f64, f64) {
    let step = 2.0 * DISC + CLEAR;
    let (low, high) = (stage.pane.top + DISC, stage.pane.bottom() - DISC);
    let beside = |y: f64| {
        let clear = DISC + CLEAR;
        let (top, bottom) = (stage.height_at(y - clear), stage.height_at(y + clear));
        let near = rows.iter().filter(|r| bottom <= r.y && r.y <= top);
        let ends = near.flat_map(|r| r.drawing.iter().chain(&r.mesh)).flatten();
        let far = ends.map(|x| side * stage.at(*x, 0.0).0).fold(f64::MIN, f64::max);
        let edge = if side < 0.0 {
            -(stage.pane.left + DISC)
        } else {
            stage.pane.right() - DISC
        };
        // Above and below the figure a disc stands at the pane's middle.
        let far = if far == f64::MIN {
            side * (stage.pane.left + stage.pane.width / 2.0)
        } else {
            far
        };
        side * (far + clear + CLEAR).min(edge)
    };
    let (x, y) = spot;
    let mut best = (f64::MAX, (beside(y.clamp(low, high)), y.clamp(low, high)));
    for out in 0..2 {
        for k in -MOVES..=MOVES {
            let moved = (y + f64::from(k) * step / 2.0).clamp(low, high);
            let place = (beside(moved) + side * f64::from(out) * step, moved);
            let cost = (place.0 - x).abs() + STEEP * (moved - y).abs();
            let clear = placed.iter().all(|(end, disc)| {
                apart(*disc, place) >= step
                    && from_line(*disc, spot, place) >= DISC + CLEAR
                    && from_line(place, *end, *disc) >= DISC + CLEAR
            });
            if clear && cost < best.0 {
                best = (cost, place);
            }
        }
    }
    best.1
}
