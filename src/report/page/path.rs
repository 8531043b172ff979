//! An outline as the text of an SVG path: whole steps, relative, and only the points that are seen.
//!
//! Method: from a kept point on, following points are left out for as long as one straight line passes all of them closer
//! than [`SEEN`], told by the cone of directions that does so (Williams 1978, "An efficient algorithm for the piecewise
//! linear approximation of planar curves"). Numbers of the page come from the rows, not from here.

use std::fmt::Write as _;

use crate::profile::Outline;
use crate::space::{Point, ViewUnits};

/// Steps in the figure's height: a step is a fortieth of a pixel where the figure is 1,200 pixels high.
pub(super) const STEPS: f64 = 50_000.0;
/// How far a point may lie off the path, in steps: an eighth of a pixel where the figure is 2,000 pixels high.
const SEEN: f64 = 3.0;

/// From units of a view to steps: x right, y down, both from the view's upper left corner.
#[derive(Debug, Clone, Copy)]
pub(super) struct Steps {
    /// Upper left corner.
    pub(super) origin: (f64, f64),
    /// Units a step.
    pub(super) step: f64,
}

impl Steps {
    fn at(self, p: Point<ViewUnits>) -> (f64, f64) {
        (
            ((p.x - self.origin.0) / self.step).round(),
            ((self.origin.1 - p.y) / self.step).round(),
        )
    }
}

/// The path of an outline; empty for an empty one. Holds digits, signs, blanks and the letters `M`, `l` and `z` only.
pub(super) fn path(outline: &Outline<ViewUnits>, steps: Steps) -> String {
    let mut out = String::new();
    let mut kept = Vec::new();
    for ring in &outline.rings {
        thin(ring.iter().map(|p| steps.at(*p)), &mut kept);
        let [first, rest @ ..] = kept.as_slice() else {
            continue;
        };
        if rest.len() < 2 {
            continue;
        }
        let _ = write!(out, "M{} {}l", first.0, first.1);
        let mut last = *first;
        for (i, p) in rest.iter().enumerate() {
            for (k, by) in [p.0 - last.0, p.1 - last.1].into_iter().enumerate() {
                // A minus sign parts two numbers as well as a blank does.
                if (i, k) != (0, 0) && by >= 0.0 {
                    out.push(' ');
                }
                // A zero may carry a sign.
                let _ = write!(out, "{}", by as i64);
            }
            last = *p;
        }
        out.push('z');
    }
    out
}

/// Keeps the points of a ring that are seen.
fn thin(ring: impl Iterator<Item = (f64, f64)>, kept: &mut Vec<(f64, f64)>) {
    kept.clear();
    let mut last: Option<(f64, f64)> = None;
    // Directions that pass all points since the kept one: from `right` counter-clockwise to `left`.
    let mut cone: Option<[(f64, f64); 2]> = None;
    let cross = |a: (f64, f64), b: (f64, f64)| a.0 * b.1 - a.1 * b.0;
    for p in ring {
        let (Some(from), Some(before)) = (kept.last().copied(), last) else {
            kept.push(p);
            last = Some(p);
            continue;
        };
        let to = (p.0 - from.0, p.1 - from.1);
        let inside = cone.is_none_or(|[right, left]| cross(right, to) >= 0.0 && cross(to, left) >= 0.0);
        // The chain must not turn back either.
        let onward = {
            let way = (before.0 - from.0, before.1 - from.1);
            way.0 * to.0 + way.1 * to.1 >= way.0 * way.0 + way.1 * way.1
        };
        let to = if (inside && onward) || before == from {
            to
        } else {
            kept.push(before);
            cone = None;
            (p.0 - before.0, p.1 - before.1)
        };
        let length = to.0.hypot(to.1);
        if length > SEEN {
            let square = (SEEN / length, (1.0 - (SEEN / length).powi(2)).sqrt());
            let turned = |s: f64| {
                (
                    to.0 * square.1 - s * to.1 * square.0,
                    to.1 * square.1 + s * to.0 * square.0,
                )
            };
            let (right, left) = (turned(-1.0), turned(1.0));
            cone = Some(cone.map_or([right, left], |[r, l]| {
                [
                    if cross(r, right) > 0.0 { right } else { r },
                    if cross(left, l) > 0.0 { left } else { l },
                ]
            }));
        }
        last = Some(p);
    }
    if let Some(p) = last.filter(|p| kept.last() != Some(p)) {
        kept.push(p);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const STEP: Steps = Steps {
        origin: (0.0, 0.0),
        step: 1.0,
    };

    fn outline(points: &[(f64, f64)]) -> Outline<ViewUnits> {
        Outline {
            rings: vec![points.iter().map(|(x, y)| Point::new(*x, *y)).collect()],
        }
    }

    /// A square of 100 steps with points along its sides: its corners are left. The start is kept.
    #[test]
    fn points_on_a_straight_line_are_left_out() {
        let side = |k: i32| f64::from(k) * 10.0;
        let points: Vec<(f64, f64)> = (0..10)
            .map(|k| (side(k), 0.0))
            .chain((0..10).map(|k| (100.0, -side(k))))
            .chain((0..10).map(|k| (100.0 - side(k), -100.0)))
            .chain((0..10).map(|k| (0.0, side(k) - 100.0)))
            .collect();
        assert_eq!(path(&outline(&points), STEP), "M0 0l100 0 0 100-100 0 0-90z");
    }

    /// Every point of a circle of radius 20,000 lies within the limit of the path, and few points are needed: a chord of
    /// a circle is off by r (1 − cos(a/2)), so that 3 steps of 20,000 allow 182 chords at least; the cone takes up to
    /// twice as many.
    #[test]
    fn a_circle_keeps_its_form() {
        const R: f64 = 20_000.0;
        let at = |k: f64| {
            let a = std::f64::consts::TAU * k / 6000.0;
            (R * a.cos(), R * a.sin())
        };
        let mut kept = Vec::new();
        thin((0..6000).map(|k| at(f64::from(k))), &mut kept);
        assert!((180..380).contains(&kept.len()), "{}", kept.len());
        let off = |p: (f64, f64)| {
            kept.windows(2)
                .map(|w| {
                    let (a, b) = (w[0], w[1]);
                    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
                    let t = (((p.0 - a.0) * dx + (p.1 - a.1) * dy) / (dx * dx + dy * dy)).clamp(0.0, 1.0);
                    (a.0 + t * dx - p.0).hypot(a.1 + t * dy - p.1)
                })
                .fold(f64::MAX, f64::min)
        };
        let worst = (0..5999).map(|k| off(at(f64::from(k)))).fold(0.0, f64::max);
        assert!(worst <= SEEN + 1e-6, "{worst}");
    }

    #[test]
    fn a_spike_stays() {
        let points = [
            (0.0, 0.0),
            (100.0, 0.0),
            (500.0, 0.0),
            (100.0, 0.0),
            (100.0, -80.0),
        ];
        assert_eq!(path(&outline(&points), STEP), "M0 0l500 0-400 0 0 80z");
    }
}
