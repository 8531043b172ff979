//! Outlines as rows of places at equal steps, each with the direction that points away from the figure.

use crate::profile::{Outline, Ring};
use crate::space::{Point, ViewUnits};

/// A place on an outline.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place {
    pub(super) at: Point<ViewUnits>,
    /// Away from the figure, of length 1.
    pub(super) outward: [f64; 2],
}

/// Rings of places; the places of one ring follow each other, the first follows the last.
#[derive(Debug, Clone, Default)]
pub(super) struct Traced {
    pub(super) places: Vec<Place>,
    /// Ring `r` has the places `starts[r]..starts[r + 1]`.
    pub(super) starts: Vec<usize>,
    /// Length of outline that each place stands for, in units of the view.
    pub(super) stands_for: Vec<f64>,
}

/// Fewest places of a ring: a smaller one is passed over.
const FEWEST: usize = 6;

impl Traced {
    /// The rings of an outline, a place about every `step` units.
    pub(super) fn of(outline: &Outline<ViewUnits>, step: f64) -> Self {
        let mut out = Self {
            starts: vec![0],
            ..Self::default()
        };
        for ring in &outline.rings {
            let long: f64 = sides(ring).map(|(p, q)| p.distance(q)).sum();
            let count = (long / step).round() as usize;
            if count < FEWEST {
                continue;
            }
            let own = equal_steps(ring, long / count as f64, count);
            for i in 0..count {
                let (before, after) = (own[(i + count - 1) % count], own[(i + 1) % count]);
                let (dx, dy) = (after.x - before.x, after.y - before.y);
                let chord = dx.hypot(dy).max(f64::MIN_POSITIVE);
                // Outer rings run counter-clockwise, holes clockwise: the figure is on the left of both.
                out.places.push(Place {
                    at: own[i],
                    outward: [dy / chord, -dx / chord],
                });
                out.stands_for.push(long / count as f64);
            }
            out.starts.push(out.places.len());
        }
        out
    }

    /// The places of each ring.
    pub(super) fn rings(&self) -> impl Iterator<Item = std::ops::Range<usize>> + '_ {
        self.starts.windows(2).map(|w| w[0]..w[1])
    }

    /// For each place the next one on its ring.
    pub(super) fn onward(&self) -> Vec<usize> {
        let mut next = Vec::with_capacity(self.places.len());
        for ring in self.rings() {
            next.extend(ring.clone().skip(1));
            next.extend(ring.clone().next());
        }
        next
    }
}

fn sides(ring: &Ring<ViewUnits>) -> impl Iterator<Item = (Point<ViewUnits>, Point<ViewUnits>)> + '_ {
    let next = ring.iter().cycle().skip(1);
    ring.iter().copied().zip(next.copied())
}

fn equal_steps(ring: &Ring<ViewUnits>, step: f64, count: usize) -> Vec<Point<ViewUnits>> {
    let mut out = Vec::with_capacity(count);
    let mut passed = 0.0;
    for (p, q) in sides(ring) {
        let long = p.distance(q);
        while out.len() < count && out.len() as f64 * step < passed + long {
            let t = (out.len() as f64 * step - passed) / long;
            out.push(Point::new(p.x + t * (q.x - p.x), p.y + t * (q.y - p.y)));
        }
        passed += long;
    }
    // The last step may fall on the end by rounding.
    while out.len() < count {
        out.push(ring[0]);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_square_with_a_hole_is_walked_at_equal_steps_and_faces_away() {
        let ring = |points: &[[f64; 2]]| points.iter().map(|p| Point::new(p[0], p[1])).collect();
        let outline = Outline {
            rings: vec![
                ring(&[[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0]]),
                ring(&[[1.0, 1.0], [1.0, 3.0], [3.0, 3.0], [3.0, 1.0]]),
            ],
        };
        let traced = Traced::of(&outline, 0.25);
        assert_eq!(traced.starts, [0, 64, 96]);
        let middle = Point::<ViewUnits>::new(2.0, 2.0);
        for (i, p) in traced.places.iter().enumerate() {
            let away = [p.at.x - middle.x, p.at.y - middle.y];
            let out = p.outward[0] * away[0] + p.outward[1] * away[1];
            assert_eq!(out > 0.0, i < 64, "{p:?}");
        }
        assert_eq!(traced.onward()[63], 0);
        assert_eq!(traced.onward()[95], 64);
    }
}
