//! The shared currency: an outline (closed rings) and the spans that rows cut out of it, in a named space.
//!
//! Both inputs, the mesh and the drawing, end as these, so that they can be compared. Knows nothing of
//! where an outline came from.

mod across;
mod band;
mod contour;
mod distance;
mod net;
mod overlap;
mod rings;
pub(crate) mod scan;
mod trace;

pub use across::Across;
pub use band::{band_spans, boundary_iou};
pub use contour::{ContourDistances, contour_distances};
pub use distance::DistanceIndex;
pub use overlap::{Overlap, overlap};
pub use rings::ring_area;
pub use trace::trace;

use crate::space::{Point, Space};

/// A closed polygon; the last point joins the first and is not repeated.
pub type Ring<S> = Vec<Point<S>>;

/// Closed rings: outer ones counter-clockwise as seen, holes clockwise (see [`crate::space`]).
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Outline<S: Space> {
    /// The rings, in no particular order.
    pub rings: Vec<Ring<S>>,
}

/// An interval that a row cuts out of a figure, `x0 <= x1`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Left end.
    pub x0: f64,
    /// Right end.
    pub x1: f64,
}

/// The spans of many rows, each row's spans left to right and not touching.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RowSpans {
    /// Height of each row, in the order that was asked for.
    pub ys: Vec<f64>,
    /// Row `i` owns `spans[starts[i]..starts[i + 1]]`; one longer than `ys`.
    pub starts: Vec<u32>,
    /// All spans, row after row.
    pub spans: Vec<Span>,
}

impl Span {
    /// `x1 - x0`.
    pub fn width(&self) -> f64 {
        self.x1 - self.x0
    }
}

impl RowSpans {
    /// No rows yet, with room for some.
    pub fn with_capacity(rows: usize, spans: usize) -> Self {
        let mut starts = Vec::with_capacity(rows + 1);
        starts.push(0);
        Self {
            ys: Vec::with_capacity(rows),
            starts,
            spans: Vec::with_capacity(spans),
        }
    }

    /// Appends a row; its spans left to right and not touching.
    pub fn push_row(&mut self, y: f64, spans: &[Span]) {
        self.begin_row(y);
        self.spans.extend_from_slice(spans);
        self.end_row();
    }

    pub(crate) fn begin_row(&mut self, y: f64) {
        if self.starts.is_empty() {
            self.starts.push(0);
        }
        self.ys.push(y);
    }

    pub(crate) fn end_row(&mut self) {
        self.starts.push(self.spans.len() as u32);
    }

    /// Number of rows.
    pub fn len(&self) -> usize {
        self.ys.len()
    }

    /// Whether there are no rows.
    pub fn is_empty(&self) -> bool {
        self.ys.is_empty()
    }

    /// Sum of the span lengths of row `i`.
    pub fn solid_width(&self, i: usize) -> f64 {
        self.row(i).iter().map(Span::width).sum()
    }

    /// From the first left end to the last right end of row `i`; `None` for a row without spans.
    pub fn outer(&self, i: usize) -> Option<Span> {
        let row = self.row(i);
        Some(Span {
            x0: row.first()?.x0,
            x1: row.last()?.x1,
        })
    }

    /// The spans of row `i`.
    pub fn row(&self, i: usize) -> &[Span] {
        &self.spans[self.starts[i] as usize..self.starts[i + 1] as usize]
    }
}
