//! An axis-parallel box in the space of the mesh.

/// The smallest box around some points, in the mesh's units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extent {
    /// Smallest x, y and z.
    pub min: [f64; 3],
    /// Largest x, y and z.
    pub max: [f64; 3],
}

impl Extent {
    /// The box around the points; `None` without points.
    pub fn around(points: impl IntoIterator<Item = [f64; 3]>) -> Option<Self> {
        let mut points = points.into_iter();
        let first = points.next()?;
        let mut extent = Self {
            min: first,
            max: first,
        };
        for p in points {
            // Coordinates are numbers: plain comparisons are one instruction each.
            for (axis, &c) in p.iter().enumerate() {
                if c < extent.min[axis] {
                    extent.min[axis] = c;
                }
                if c > extent.max[axis] {
                    extent.max[axis] = c;
                }
            }
        }
        Some(extent)
    }

    /// Lengths along x, y and z.
    pub fn size(&self) -> [f64; 3] {
        [0, 1, 2].map(|axis| self.max[axis] - self.min[axis])
    }

    /// The greatest of the three lengths.
    pub fn largest(&self) -> f64 {
        self.size().into_iter().fold(0.0, f64::max)
    }
}
