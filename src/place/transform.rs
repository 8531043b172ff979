//! From pixels of the sheet to units of a view, and back.

use crate::space::{Level, Point, Upright, ViewUnits};

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

/// Places one drawn view onto the mesh.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placement {
    /// Mesh units per levelled pixel.
    pub units_per_px: f64,
    /// Levelled column that lies on view x = 0.
    pub origin_px: f64,
    /// Levelled row that lies on view y = 0.
    pub zero_px: f64,
    /// The drawing is read the other way round.
    pub mirrored: bool,
}

impl Placement {
    /// From the levelled sheet to the view.
    pub fn to_view(&self, p: Point<Level>) -> Point<ViewUnits> {
        let x = (p.x - self.origin_px) * self.units_per_px;
        Point::new(
            if self.mirrored { -x } else { x },
            (self.zero_px - p.y) * self.units_per_px,
        )
    }

    /// From the view to the levelled sheet.
    pub fn to_sheet(&self, p: Point<ViewUnits>) -> Point<Level> {
        let x = if self.mirrored { -p.x } else { p.x };
        Point::new(
            self.origin_px + x / self.units_per_px,
            self.zero_px - p.y / self.units_per_px,
        )
    }
}
