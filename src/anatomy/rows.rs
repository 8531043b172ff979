//! A figure's rows from the crown down, as landmarks are read off them.

use crate::profile::{Outline, RowSpans, Span};
use crate::space::ViewUnits;

/// Rows of a figure: a landmark is then known to a seventh of a percent of its height.
const ROWS: usize = 720;

/// Rows of one outline, from the top down.
#[derive(Debug, Clone)]
pub(super) struct Rows {
    spans: RowSpans,
    step: f64,
}

impl Rows {
    pub(super) fn of(outline: &Outline<ViewUnits>) -> Self {
        let (top, bottom) = outline.bounds().map_or((0.0, 0.0), |b| (b.y1, b.y0));
        let step = (top - bottom) / ROWS as f64;
        let ys: Vec<f64> = (0..ROWS).map(|i| top - (i as f64 + 0.5) * step).collect();
        Self {
            spans: outline.row_spans(&ys),
            step,
        }
    }

    pub(super) fn len(&self) -> usize {
        self.spans.len()
    }

    pub(super) fn y(&self, i: usize) -> f64 {
        self.spans.ys[i]
    }

    /// Units between two rows.
    pub(super) fn step(&self) -> f64 {
        self.step
    }

    pub(super) fn spans(&self, i: usize) -> &[Span] {
        self.spans.row(i)
    }

    /// From the first left end to the last right end; 0 for an empty row.
    pub(super) fn outer(&self, i: usize) -> f64 {
        self.spans.outer(i).map_or(0.0, |s| s.width())
    }

    /// Height of the crown.
    pub(super) fn top(&self) -> f64 {
        self.y(0) + self.step / 2.0
    }

    /// Height of the ground.
    pub(super) fn bottom(&self) -> f64 {
        self.y(self.len() - 1) - self.step / 2.0
    }

    /// The figure's axis: the median of the rows' middles.
    pub(super) fn axis(&self) -> f64 {
        let mut middles: Vec<f64> = (0..self.len())
            .filter_map(|i| self.spans.outer(i))
            .map(|s| f64::midpoint(s.x0, s.x1))
            .collect();
        middles.sort_by(f64::total_cmp);
        middles.get(middles.len() / 2).copied().unwrap_or(0.0)
    }

    /// Indices of the rows between two heights.
    pub(super) fn between(&self, low: f64, high: f64) -> std::ops::Range<usize> {
        let at = |y: f64| self.spans.ys.partition_point(|v| *v > y);
        at(high)..at(low).max(at(high))
    }
}
