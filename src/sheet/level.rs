//! Between the upright picture and the levelled sheet.

use crate::space::{Level, Point, Upright};

/// The turn that levels a sheet, about the middle of the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Levelling {
    /// Middle of the picture, pixels.
    pub centre: (f64, f64),
    /// Turn of the file's picture, counter-clockwise as seen, in radians.
    pub skew: f64,
}

impl Levelling {
    /// A levelling for a picture of this size, in pixels, turned by `skew_deg` degrees.
    pub fn new(width: usize, height: usize, skew_deg: f64) -> Self {
        Self {
            centre: (width as f64 / 2.0, height as f64 / 2.0),
            skew: skew_deg.to_radians(),
        }
    }

    /// Where a point of the picture lies on the levelled sheet.
    pub fn level(&self, p: Point<Upright>) -> Point<Level> {
        // Seen with y down, a counter-clockwise turn by `skew` maps (x, y) to (x cos + y sin, -x sin + y cos);
        // this is its inverse.
        let (s, c) = self.skew.sin_cos();
        let (x, y) = (p.x - self.centre.0, p.y - self.centre.1);
        Point::new(self.centre.0 + x * c - y * s, self.centre.1 + x * s + y * c)
    }

    /// The inverse of [`Levelling::level`].
    pub fn unlevel(&self, p: Point<Level>) -> Point<Upright> {
        let (s, c) = self.skew.sin_cos();
        let (x, y) = (p.x - self.centre.0, p.y - self.centre.1);
        Point::new(self.centre.0 + x * c + y * s, self.centre.1 - x * s + y * c)
    }
}
