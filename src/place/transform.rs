//! From pixels of the levelled sheet to units of a view, and back.

use crate::space::{Level, Point, ViewUnits};

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
