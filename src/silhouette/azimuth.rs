//! Where the viewer stands.

/// Turn of the view about the upright axis, in degrees: front 0, the figure facing right 90, back 180, facing left −90;
/// and whether the viewer looks from above, see [`Self::from_above`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Azimuth {
    degrees: f64,
    cos: f64,
    sin: f64,
    above: bool,
}

impl Azimuth {
    /// The figure looks at the viewer: view x is the mesh's x.
    pub const FRONT: Self = Self {
        degrees: 0.0,
        cos: 1.0,
        sin: 0.0,
        above: false,
    };
    /// The figure looks to the right: view x is the mesh's z.
    pub const FACING_RIGHT: Self = Self {
        degrees: 90.0,
        cos: 0.0,
        sin: 1.0,
        above: false,
    };
    /// The figure looks away: view x is the mesh's −x.
    pub const BACK: Self = Self {
        degrees: 180.0,
        cos: -1.0,
        sin: 0.0,
        above: false,
    };
    /// The figure looks to the left: view x is the mesh's −z.
    pub const FACING_LEFT: Self = Self {
        degrees: -90.0,
        cos: 0.0,
        sin: -1.0,
        above: false,
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
        Self {
            degrees,
            cos,
            sin,
            above: false,
        }
    }

    /// The same turn seen from straight above: what points to the right of the picture stays so, and up in the picture
    /// is where the viewer was not, that is behind the figure at 0. View coordinates are then (x, −z) at 0, the figure
    /// facing down the page; (z, x) at 90, facing right; (−x, z) at 180, facing up the page; (−z, −x) at −90, facing
    /// left.
    #[must_use]
    pub fn from_above(self) -> Self {
        Self { above: true, ..self }
    }

    /// Whether the viewer looks from above.
    pub fn is_above(self) -> bool {
        self.above
    }

    /// The angle as it was given.
    pub fn degrees(self) -> f64 {
        self.degrees
    }

    /// View x of a mesh position: `x cos + z sin`, without rounding at quarter turns.
    pub fn view_x(self, p: [f64; 3]) -> f64 {
        p[0] * self.cos + p[2] * self.sin
    }

    /// View y of a mesh position: its y, or seen from above `x sin − z cos`.
    #[inline]
    pub fn view_y(self, p: [f64; 3]) -> f64 {
        if self.above {
            p[0] * self.sin - p[2] * self.cos
        } else {
            p[1]
        }
    }
}

impl Default for Azimuth {
    fn default() -> Self {
        Self::FRONT
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The documented coordinates of the four views from above, and that none of them is a mirror image.
    #[test]
    fn from_above_the_page_is_turned_not_mirrored() {
        let p = [2.0, 5.0, 3.0];
        let seen = |degrees: f64| {
            let a = Azimuth::from_degrees(degrees).from_above();
            (a.view_x(p), a.view_y(p))
        };
        assert_eq!(seen(0.0), (2.0, -3.0));
        assert_eq!(seen(90.0), (3.0, 2.0));
        assert_eq!(seen(180.0), (-2.0, 3.0));
        assert_eq!(seen(-90.0), (-3.0, -2.0));
        assert_eq!(Azimuth::FRONT.view_y(p), 5.0);
        assert_ne!(Azimuth::FRONT, Azimuth::FRONT.from_above());
    }
}
