//! A coarse table of distances to a drawn outline, for searches that ask many thousand times.

use crate::profile::{DistanceIndex, Outline};
use crate::space::{Level, Point};

/// Cells over the figure's height; a cell is then a third of the usual tolerance across two.
const CELLS: f64 = 160.0;
/// Margin around the figure in shares of its height.
const MARGIN: f64 = 0.12;

/// Distances in pixels at the corners of a grid around one figure.
pub struct Field {
    x0: f64,
    y0: f64,
    cell: f64,
    width: usize,
    height: usize,
    values: Vec<f32>,
    far: f64,
}

impl Field {
    /// Tabulates the distance to an outline; `None` for an empty one.
    pub fn new(outline: &Outline<Level>, index: &DistanceIndex<Level>) -> Option<Self> {
        let b = outline.bounds()?;
        let cell = (b.height() / CELLS).max(1e-6);
        let margin = MARGIN * b.height();
        let (x0, y0) = (b.x0 - margin, b.y0 - margin);
        let width = ((b.width() + 2.0 * margin) / cell).ceil() as usize + 1;
        let height = ((b.height() + 2.0 * margin) / cell).ceil() as usize + 1;
        let mut values = Vec::with_capacity(width * height);
        for j in 0..height {
            let mut hint = usize::MAX;
            for i in 0..width {
                let p = Point::new(x0 + i as f64 * cell, y0 + j as f64 * cell);
                values.push(index.distance_near(p, &mut hint) as f32);
            }
        }
        Some(Self {
            x0,
            y0,
            cell,
            width,
            height,
            values,
            far: margin,
        })
    }

    /// Distance at a point, from the nearest tabulated one; the margin's width plus the way to the table outside.
    pub fn at(&self, x: f64, y: f64) -> f64 {
        let (fx, fy) = ((x - self.x0) / self.cell + 0.5, (y - self.y0) / self.cell + 0.5);
        if fx < 0.0 || fy < 0.0 || fx >= self.width as f64 || fy >= self.height as f64 {
            return self.far;
        }
        f64::from(self.values[fy as usize * self.width + fx as usize])
    }
}
