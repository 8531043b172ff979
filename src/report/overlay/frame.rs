//! Where things lie in a picture: a figure's stage, and the columns beside it.
//!
//! Places are in points, x right, y down: a picture of the usual height has one pixel a point, a taller one more.

use super::canvas::Cells;
use crate::error::{Error, Result};
use crate::report::look::{
    BOTTOM, CHART, CHART_GAP, DISC_ROOM, FIGURE, GAP, LABELS, LEADERS, LEAST_FIGURE, MARGIN, NOTES, PAD, TOP,
    WIDEST_FIGURE,
};
use crate::space::{Bounds, ViewUnits};

/// A rectangle.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Pane {
    pub(crate) left: f64,
    pub(crate) top: f64,
    pub(crate) width: f64,
    pub(crate) height: f64,
}

impl Pane {
    pub(crate) fn right(&self) -> f64 {
        self.left + self.width
    }

    pub(crate) fn bottom(&self) -> f64 {
        self.top + self.height
    }
}

/// Where a figure stands.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stage {
    /// Its pane.
    pub(crate) pane: Pane,
    /// Column of view x = 0 and row of view y = 0.
    pub(crate) zero: (f64, f64),
    /// Points a unit.
    pub(crate) scale: f64,
}

impl Stage {
    /// A place of the view in the picture.
    pub(crate) fn at(&self, x: f64, y: f64) -> (f64, f64) {
        (self.zero.0 + x * self.scale, self.row(y))
    }

    /// The row of a height.
    pub(crate) fn row(&self, y: f64) -> f64 {
        self.zero.1 - y * self.scale
    }

    /// The height of a row.
    pub(crate) fn height_at(&self, row: f64) -> f64 {
        (self.zero.1 - row) / self.scale
    }

    /// The same stage, its pane reaching farther down.
    pub(crate) fn lowered(mut self, by: f64) -> Self {
        self.pane.height += by;
        self
    }

    /// The same stage in pixels, of which there are `unit` a point.
    pub(crate) fn in_pixels(&self, cells: Cells, unit: f64) -> Self {
        Self {
            pane: Pane {
                left: cells.left as f64,
                top: cells.top as f64,
                width: cells.width as f64,
                height: cells.height as f64,
            },
            zero: (self.zero.0 * unit, self.zero.1 * unit),
            scale: self.scale * unit,
        }
    }
}

/// The layout of the picture of one view.
pub(crate) struct Frame {
    /// Size of the picture.
    pub(crate) width: f64,
    pub(crate) height: f64,
    /// The figure.
    pub(crate) stage: Stage,
    /// Left side of the chart of the left and of the right edge.
    pub(crate) charts: [f64; 2],
    /// Left side of the findings.
    pub(crate) notes: f64,
}

impl Frame {
    /// Lays out a figure of this extent.
    pub(crate) fn new(extent: Bounds<ViewUnits>) -> Result<Self> {
        let scale = (FIGURE / extent.height()).min(WIDEST_FIGURE / extent.width());
        if !(scale.is_finite() && scale > 0.0) {
            return Err(Error::new("the view has no size, there is nothing to draw"));
        }
        let [least_width, least_height] = LEAST_FIGURE;
        let (w, h) = (
            (extent.width() * scale).max(least_width),
            (extent.height() * scale).max(least_height),
        );
        let pane = Pane {
            left: MARGIN + LABELS,
            top: TOP,
            width: (w + 2.0 * DISC_ROOM).ceil(),
            height: (h + 2.0 * PAD).round(),
        };
        let middle = (
            f64::midpoint(extent.x0, extent.x1),
            f64::midpoint(extent.y0, extent.y1),
        );
        let first = pane.right() + GAP;
        let second = first + CHART + CHART_GAP;
        let notes = second + CHART + LEADERS;
        Ok(Self {
            width: notes + NOTES + MARGIN,
            height: pane.bottom() + BOTTOM,
            stage: Stage {
                pane,
                zero: (
                    pane.left + pane.width / 2.0 - middle.0 * scale,
                    pane.top + pane.height / 2.0 + middle.1 * scale,
                ),
                scale,
            },
            charts: [first, second],
            notes,
        })
    }
}
