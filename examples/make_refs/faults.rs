//! The three deliberate faults of the demo cage: smooth displacements of single coordinates, so that each
//! shows in one view only (a move along z leaves the front silhouette as it was, a move along x the side).

use crate::cage::{Cage, V3};

/// Full strength between `full`, none outside `none`, a smooth step (3 t^2 - 2 t^3) between.
struct Window {
    none: [f64; 2],
    full: [f64; 2],
}

impl Window {
    fn weight(&self, v: f64) -> f64 {
        let up = (v - self.none[0]) / (self.full[0] - self.none[0]);
        let down = (self.none[1] - v) / (self.none[1] - self.full[1]);
        let t = up.min(down).clamp(0.0, 1.0);
        t * t * (3.0 - 2.0 * t)
    }
}

/// Side view: the thighs are too thick, they bulge to the back by this much, cm.
const THIGH_DEPTH: f64 = 3.6;
const THIGH_ROWS: Window = Window {
    none: [33.0, 57.5],
    full: [41.5, 49.5],
};
/// Front view: the waist is too thin, drawn in by this much on each side, cm.
const WAIST_SIDE: f64 = 2.8;
const WAIST_ROWS: Window = Window {
    none: [60.5, 86.0],
    full: [68.0, 78.0],
};
/// Side view: jaw and face sit too far to the front by this much, nape and back of the head with them, cm.
const HEAD_FORWARD: f64 = 3.6;
const HEAD_ROWS: Window = Window {
    none: [104.0, 138.5],
    full: [108.5, 128.0],
};

/// The cage that the demo checks: the figure with the three faults.
pub(crate) fn off_model(on_model: &Cage) -> Cage {
    let mut cage = on_model.clone();
    for p in &mut cage.positions {
        *p = displaced(*p);
    }
    cage
}

fn displaced([x, y, z]: V3) -> V3 {
    /// Distance from the middle over which a move of one side grows from nothing, cm.
    const SIDE: f64 = 9.0;
    let toward_back = (-z / SIDE).clamp(0.0, 1.0);
    let thigh = -THIGH_DEPTH * THIGH_ROWS.weight(y) * toward_back;
    let head = HEAD_FORWARD * HEAD_ROWS.weight(y);
    let waist = -WAIST_SIDE * WAIST_ROWS.weight(y) * (x / SIDE).clamp(-1.0, 1.0);
    [x + waist, y, z + thigh + head]
}
