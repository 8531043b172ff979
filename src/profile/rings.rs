//! Rings to spans, and what follows from rings alone: area, bounds, perimeter.
//!
//! The spans are those of the non-zero winding rule with positive winding counting as inside, so overlapping outer
//! rings unite and clockwise rings cut holes. The area is the shoelace sum, hence exact for rings that do not overlap.

use super::scan::{Edge, Ends, scan};
use super::{Outline, Ring, RowSpans};
use crate::space::{Bounds, Point, Space};

impl<S: Space> Outline<S> {
    /// The spans that rows at the heights `ys` (unit of the space, any order) cut out of the figure.
    ///
    /// Exact up to a few roundings. Rows are half-open: a row at a ring's smallest y meets it, one at its largest y
    /// does not, whichever way y points. Heights that are not numbers get no spans.
    pub fn row_spans(&self, ys: &[f64]) -> RowSpans {
        scan(&self.edges(), ys, Ends::Above)
    }

    pub(crate) fn edges(&self) -> Vec<Edge> {
        let times = if S::UP > 0.0 { 1 } else { -1 };
        self.segments()
            .filter(|(p, q)| p.x.is_finite() && q.x.is_finite() && p.y.is_finite() && q.y.is_finite())
            .filter_map(|(p, q)| Edge::walked((p.x, p.y), (q.x, q.y), times))
            .collect()
    }

    /// All segments of all rings, in ring order, the closing ones included.
    pub fn segments(&self) -> impl Iterator<Item = (Point<S>, Point<S>)> + '_ {
        self.rings.iter().flat_map(|ring| {
            let next = ring.iter().cycle().skip(1);
            ring.iter().copied().zip(next.copied())
        })
    }

    /// Signed area in squared units: outer rings count positive, holes negative, in every space.
    pub fn area(&self) -> f64 {
        self.rings.iter().map(|ring| ring_area(ring)).sum()
    }

    /// Length of all rings.
    pub fn perimeter(&self) -> f64 {
        self.segments().map(|(p, q)| p.distance(q)).sum()
    }

    /// The smallest box around all rings; `None` for an outline without points.
    pub fn bounds(&self) -> Option<Bounds<S>> {
        Bounds::around(self.rings.iter().flatten().copied())
    }
}

/// Area of one ring, positive if it runs counter-clockwise as seen.
pub fn ring_area<S: Space>(ring: &Ring<S>) -> f64 {
    let Some(&origin) = ring.first() else {
        return 0.0;
    };
    // About the first point, so that a ring far from zero loses no digits.
    let doubled: f64 = ring
        .iter()
        .zip(ring.iter().skip(1))
        .map(|(p, q)| (p.x - origin.x) * (q.y - origin.y) - (q.x - origin.x) * (p.y - origin.y))
        .sum();
    S::UP * doubled / 2.0
}
