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

/// How much of a pixel a hatch line covers, 0 to 1, with soft edges.
pub(super) fn line(x: usize, y: usize, lean: Lean) -> f32 {
    let (x, y) = (x as f32, y as f32);
    let along = match lean {
        Lean::Up => x + y,
        Lean::Down => x - y,
    } * std::f32::consts::FRAC_1_SQRT_2;
    let off = (along.rem_euclid(HATCH) - HATCH / 2.0).abs();
    (HATCH_LINE / 2.0 + 0.5 - off).clamp(0.0, 1.0)
}

/// A pixel with a hatching over it; `cover` is the share of the pixel that is hatched, `strength` 1 at full weight.
#[inline]
pub(super) fn over(
    base: Light,
    x: usize,
    y: usize,
    lean: Lean,
    colour: Light,
    cover: f32,
    strength: f32,
) -> Light {
    let density = HATCH_TINT + (1.0 - HATCH_TINT) * line(x, y, lean);
    mix(base, colour, cover * strength * density)
}
