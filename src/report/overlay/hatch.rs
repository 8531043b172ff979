//! Hatching: what is over leans one way, what is under the other, so that the two differ also without colour.

use super::canvas::Cells;
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

/// How densely the pixels of a box are hatched.
pub(super) struct Densities {
    /// From one corner of the box to the opposite one, across the lines.
    along: Vec<f32>,
    lean: Lean,
    height: usize,
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

    /// How densely each pixel of a box is hatched, 0 to 1.
    pub(super) fn densities(self, cells: Cells) -> Densities {
        // Along a line nothing changes: the pixels of the top row and of one of the columns at its ends stand for all.
        let Cells {
            left,
            top,
            width,
            height,
        } = cells;
        let density = |x: usize, y: usize| HATCH_TINT + (1.0 - HATCH_TINT) * self.line(x, y);
        let (right, bottom) = (left + width, top + height);
        let along: Vec<f32> = match self.lean {
            Lean::Up => (left..right)
                .map(|x| density(x, top))
                .chain((top + 1..bottom).map(|y| density(right - 1, y)))
                .collect(),
            Lean::Down => (top..bottom)
                .rev()
                .map(|y| density(left, y))
                .chain((left + 1..right).map(|x| density(x, top)))
                .collect(),
        };
        Densities {
            along,
            lean: self.lean,
            height,
        }
    }
}

impl Densities {
    /// The densities of one row of the box.
    pub(super) fn row(&self, j: usize) -> &[f32] {
        match self.lean {
            Lean::Up => &self.along[j..],
            Lean::Down => &self.along[self.height - 1 - j..],
        }
    }
}
