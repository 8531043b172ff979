//! The band inside an outline, and the boundary IoU made from it (Cheng, Girshick, Dollár, Berg and Kirillov 2021).
//!
//! The band of width `d` is what lies inside a figure no farther than `d` from its outline; the boundary IoU is the
//! intersection over union of both figures' bands. What lies no farther than `d` from a segment is a capsule: two discs
//! and the rectangle between them. A row cuts one interval out of each; their union, within the figure's own spans, is
//! the band.
//!
//! Exact in every row up to a few roundings; rows count by the midpoint rule. Cost: for each segment the rows within `d`
//! of it, and sorting what they cut out, which is little, as capsules of neighbouring segments overlap.

use rayon::prelude::*;

use super::{Outline, RowSpans, Span, overlap};
use crate::space::Space;

/// Boundary IoU of two figures cut by the same rows; `None` where neither has a band.
///
/// `first` and `second` are a figure's spans and its outline; `d` is the width of the band.
pub fn boundary_iou<S: Space>(
    first: (&RowSpans, &Outline<S>),
    second: (&RowSpans, &Outline<S>),
    d: f64,
) -> Option<f64> {
    let (a, b) = rayon::join(
        || band_spans(first.0, first.1, d),
        || band_spans(second.0, second.1, d),
    );
    overlap(&a, &b).iou()
}

/// The spans of the band of width `d` inside a figure, in the figure's rows.
pub fn band_spans<S: Space>(figure: &RowSpans, outline: &Outline<S>, d: f64) -> RowSpans {
    let near = if d > 0.0 {
        near_outline(&figure.ys, outline, d)
    } else {
        vec![Vec::new(); figure.len()]
    };
    let rows: Vec<Vec<Span>> = near
        .into_par_iter()
        .enumerate()
        .map(|(i, near)| within(figure.row(i), near))
        .collect();
    let mut out = RowSpans::with_capacity(rows.len(), rows.iter().map(Vec::len).sum());
    for (&y, row) in figure.ys.iter().zip(&rows) {
        out.push_row(y, row);
    }
    out
}

/// For each row the intervals no farther than `d` from the outline, in the order of the rings.
fn near_outline<S: Space>(ys: &[f64], outline: &Outline<S>, d: f64) -> Vec<Vec<Span>> {
    let mut order: Vec<usize> = (0..ys.len()).filter(|&i| ys[i].is_finite()).collect();
    order.sort_by(|&a, &b| ys[a].total_cmp(&ys[b]));
    let sorted: Vec<f64> = order.iter().map(|&i| ys[i]).collect();
    let mut out: Vec<Vec<Span>> = vec![Vec::new(); ys.len()];
    // Segments follow each other, and so do the rows that they meet.
    let mut first = 0;
    for (p, q) in outline.segments() {
        let capsule = Capsule::new([p.x, p.y], [q.x, q.y], d);
        let [low, high] = capsule.reach;
        if !(low.is_finite() && high.is_finite()) {
            continue;
        }
        while first > 0 && sorted[first - 1] >= low {
            first -= 1;
        }
        while first < sorted.len() && sorted[first] < low {
            first += 1;
        }
        let met = sorted[first..].iter().take_while(|y| **y <= high);
        for (&y, &row) in met.zip(&order[first..]) {
            let Some(cut) = capsule.cut(y) else { continue };
            match out[row].last_mut() {
                Some(last) if cut.x0 <= last.x1 && last.x0 <= cut.x1 => {
                    (last.x0, last.x1) = (last.x0.min(cut.x0), last.x1.max(cut.x1));
                }
                _ => out[row].push(cut),
            }
        }
    }
    out
}

/// What lies no farther than `d` from a segment.
struct Capsule {
    ends: [[f64; 2]; 2],
    /// From an end to its corner of the rectangle on the left of the segment; the other corner lies opposite.
    aside: [f64; 2],
    /// Change of x for a change of y along the segment.
    slope: f64,
    squared: f64,
    /// Lowest and highest y.
    reach: [f64; 2],
}

impl Capsule {
    fn new(a: [f64; 2], b: [f64; 2], d: f64) -> Self {
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let length = (dx * dx + dy * dy).sqrt();
        let aside = if length > 0.0 {
            [-dy / length * d, dx / length * d]
        } else {
            [0.0; 2]
        };
        Self {
            ends: [a, b],
            aside,
            slope: dx / dy,
            squared: d * d,
            reach: [a[1].min(b[1]) - d, a[1].max(b[1]) + d],
        }
    }

    /// What a row cuts out of it. It is convex: the outermost places on its two discs and its two long sides.
    fn cut(&self, y: f64) -> Option<Span> {
        let (mut x0, mut x1) = (f64::INFINITY, f64::NEG_INFINITY);
        let mut meet = |from: f64, to: f64| {
            x0 = if from < x0 { from } else { x0 };
            x1 = if to > x1 { to } else { x1 };
        };
        for [x, centre] in self.ends {
            let left = self.squared - (y - centre) * (y - centre);
            if left >= 0.0 {
                let half = left.sqrt();
                meet(x - half, x + half);
            }
        }
        let [[ax, ay], [_, by]] = self.ends;
        for sign in [-1.0, 1.0] {
            let (from, to) = (ay + sign * self.aside[1], by + sign * self.aside[1]);
            // Level sides end on the discs.
            if (from < y && y < to) || (to < y && y < from) {
                let x = ax + sign * self.aside[0] + (y - from) * self.slope;
                meet(x, x);
            }
        }
        (x0 <= x1).then_some(Span { x0, x1 })
    }
}

/// The parts of spans, left to right and not touching, that lie in any of some intervals.
fn within(spans: &[Span], mut intervals: Vec<Span>) -> Vec<Span> {
    intervals.sort_unstable_by(|a, b| a.x0.total_cmp(&b.x0));
    let mut joined: Vec<Span> = Vec::with_capacity(intervals.len());
    for next in intervals {
        match joined.last_mut() {
            Some(last) if next.x0 <= last.x1 => last.x1 = last.x1.max(next.x1),
            _ => joined.push(next),
        }
    }
    let mut out = Vec::new();
    for span in spans {
        let from = joined.partition_point(|i| i.x1 <= span.x0);
        let met = joined[from..].iter().take_while(|i| i.x0 < span.x1);
        out.extend(met.map(|i| Span {
            x0: i.x0.max(span.x0),
            x1: i.x1.min(span.x1),
        }));
    }
    out
}
