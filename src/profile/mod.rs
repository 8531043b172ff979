//! The shared currency: an outline (closed rings) and the spans that rows cut out of it, in a named space.
//!
//! Both inputs, the mesh and the drawing, end as these, so that they can be compared. Knows nothing of
//! where an outline came from.

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

impl RowSpans {
    /// The spans of row `i`.
    pub fn row(&self, i: usize) -> &[Span] {
        &self.spans[self.starts[i] as usize..self.starts[i + 1] as usize]
    }
}
