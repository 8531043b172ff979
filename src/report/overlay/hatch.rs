//! Hatching: what is over leans one way, what is under the other, so that the two differ also without colour.

use super::light::{Light, mix};
use crate::report::look::{HATCH, HATCH_LINE, HATCH_TINT};

/// Which way a hatching leans.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Lean {
    /// Upwards to the right: the mesh is over.
    Up,
    /// Downwards to the right: the mesh is under.
    Down,
}

/// The lines of a hatching, in pixels.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Hatching {
    lean: Lean,
    /// Distance of two lines, square to them.
    apart: f32,
    /// Thickness of a line.
    thick: f32,
}

impl Hatching {
    /// The hatching of a picture with `unit` pixels a point.
    pub(super) fn new(lean: Lean, unit: f64) -> Self {
        let (unit, kind) = (unit as f32, usize::from(lean == Lean::Down));
        Self {
            lean,
            apart: HATCH[kind] * unit,
            thick: HATCH_LINE[kind] * unit,
        }
    }

    /// How much of a pixel a line covers, 0 to 1, with soft edges.
    fn line(self, x: usize, y: usize) -> f32 {
        let (x, y) = (x as f32, y as f32);
        let along = match self.lean {
            Lean::Up => x + y,
            Lean::Down => x - y,
        } * std::f32::consts::FRAC_1_SQRT_2;
        let off = (along.rem_euclid(self.apart) - self.apart / 2.0).abs();
        (self.thick / 2.0 + 0.5 - off).clamp(0.0, 1.0)
    }

    /// A pixel with the hatching over it; `share` is how much of it is hatched, times how strongly.
    #[inline]
    pub(super) fn over(self, base: Light, x: usize, y: usize, colour: Light, share: f32) -> Light {
        let density = HATCH_TINT + (1.0 - HATCH_TINT) * self.line(x, y);
        mix(base, colour, share * density)
    }
}
