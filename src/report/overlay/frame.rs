//! Where things lie in the picture: the figure's pane and the columns beside it.
//!
//! Pixels of the picture, x right, y down.

use crate::error::{Error, Result};
use crate::report::look::{
    BOTTOM, CHART, CHART_GAP, DISC_ROOM, FIGURE_PX, GAP, LABELS, LEADERS, LEAST_FIGURE_PX, MARGIN, NOTES,
    PAD, TOP, WIDEST_FIGURE_PX,
};
use crate::space::{Bounds, ViewUnits};

/// The layout of one picture.
pub(super) struct Frame {
    /// Size of the picture.
    pub(super) width: usize,
    pub(super) height: usize,
    /// Column of view x = 0 and row of view y = 0.
    pub(super) zero: (f64, f64),
    /// Pixels a unit.
    pub(super) scale: f64,
    /// The figure's pane.
    pub(super) pane: Pane,
    /// Left side of the chart of the left and of the right edge.
    pub(super) charts: [f64; 2],
    /// Left side of the findings.
    pub(super) notes: f64,
}

/// A rectangle of whole pixels.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Pane {
    pub(super) left: usize,
    pub(super) top: usize,
    pub(super) width: usize,
    pub(super) height: usize,
}

impl Pane {
    pub(super) fn right(&self) -> f64 {
        (self.left + self.width) as f64
    }

    pub(super) fn bottom(&self) -> f64 {
        (self.top + self.height) as f64
    }
}

impl Frame {
    /// Lays out a figure of this extent.
    pub(super) fn new(extent: Bounds<ViewUnits>) -> Result<Self> {
        let scale = (FIGURE_PX / extent.height()).min(WIDEST_FIGURE_PX / extent.width());
        if !(scale.is_finite() && scale > 0.0) {
            return Err(Error::new("the view has no size, there is nothing to draw"));
        }
        let [least_width, least_height] = LEAST_FIGURE_PX;
        let (w, h) = (
            (extent.width() * scale).max(least_width),
            (extent.height() * scale).max(least_height),
        );
        let pane = Pane {
            left: (MARGIN + LABELS) as usize,
            top: TOP as usize,
            width: (w + 2.0 * DISC_ROOM).ceil() as usize,
            height: (h + 2.0 * PAD).ceil() as usize,
        };
        let middle = (
            f64::midpoint(extent.x0, extent.x1),
            f64::midpoint(extent.y0, extent.y1),
        );
        let first = pane.right() + GAP;
        let second = first + CHART + CHART_GAP;
        let notes = second + CHART + LEADERS;
        Ok(Self {
            width: (notes + NOTES + MARGIN) as usize,
            height: (pane.bottom() + BOTTOM) as usize,
            zero: (
                pane.left as f64 + pane.width as f64 / 2.0 - middle.0 * scale,
                pane.top as f64 + pane.height as f64 / 2.0 + middle.1 * scale,
            ),
            scale,
            pane,
            charts: [first, second],
            notes,
        })
    }

    /// A place of the view in the picture.
    pub(super) fn at(&self, x: f64, y: f64) -> (f64, f64) {
        (self.zero.0 + x * self.scale, self.row(y))
    }

    /// The row of a height.
    pub(super) fn row(&self, y: f64) -> f64 {
        self.zero.1 - y * self.scale
    }

    /// The height of a row.
    pub(super) fn height_at(&self, row: f64) -> f64 {
        (self.zero.1 - row) / self.scale
    }
}
