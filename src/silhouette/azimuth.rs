//! Where the viewer stands.

/// Turn of the view about the upright axis, in degrees: front 0, the figure facing right 90, back 180, facing left −90.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Azimuth {
    degrees: f64,
    cos: f64,
    sin: f64,
}

impl Azimuth {
    /// The figure looks at the viewer: view x is the mesh's x.
    pub const FRONT: Self = Self {
        degrees: 0.0,
        cos: 1.0,
        sin: 0.0,
    };
    /// The figure looks to the right: view x is the mesh's z.
    pub const FACING_RIGHT: Self = Self {
        degrees: 90.0,
        cos: 0.0,
        sin: 1.0,
    };
    /// The figure looks away: view x is the mesh's −x.
    pub const BACK: Self = Self {
        degrees: 180.0,
        cos: -1.0,
        sin: 0.0,
    };
    /// The figure looks to the left: view x is the mesh's −z.
    pub const FACING_LEFT: Self = Self {
        degrees: -90.0,
        cos: 0.0,
        sin: -1.0,
    };

    /// An azimuth in degrees; the quarter turns are exact. An angle that is not finite counts as 0.
    pub fn from_degrees(degrees: f64) -> Self {
        let turn = if degrees.is_finite() {
            degrees.rem_euclid(360.0)
        } else {
            0.0
        };
        let exact = [Self::FRONT, Self::FACING_RIGHT, Self::BACK, Self::FACING_LEFT];
        if let Some(quarter) = exact.iter().find(|q| q.degrees.rem_euclid(360.0) == turn) {
            return Self {
                degrees: if degrees.is_finite() { degrees } else { 0.0 },
                ..*quarter
            };
        }
        let (sin, cos) = turn.to_radians().sin_cos();
        Self { degrees, cos, sin }
    }

    /// The angle as it was given.
    pub fn degrees(self) -> f64 {
        self.degrees
    }

    /// View x of a mesh position: `x cos + z sin`, without rounding at quarter turns.
    pub fn view_x(self, p: [f64; 3]) -> f64 {
        p[0] * self.cos + p[2] * self.sin
    }
}

impl Default for Azimuth {
    fn default() -> Self {
        Self::FRONT
    }
}
