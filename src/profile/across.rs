//! Lines laid across an outline, square to a way through it: where each one enters and leaves the figure.
//!
//! The counterpart of rows for what does not stand upright. Even-odd: rings of an outline do not overlap.

use super::{Outline, Span};
use crate::space::Space;

/// An outline in the frame of a line: `s` along it, `t` across it, to the left of the way.
#[derive(Debug, Clone)]
pub struct Across {
    /// Ends of the outline's segments, `[s0, t0, s1, t1]`.
    segments: Vec<[f64; 4]>,
}

impl Across {
    /// Lays the frame: its origin at `at`, the way along the unit vector `along`; only what lies between two places of
    /// the way is looked at.
    pub fn new<S: Space>(
        outline: &Outline<S>,
        at: [f64; 2],
        along: [f64; 2],
        between: std::ops::RangeInclusive<f64>,
    ) -> Self {
        let frame = |x: f64, y: f64| {
            let (dx, dy) = (x - at[0], y - at[1]);
            [dx * along[0] + dy * along[1], dy * along[0] - dx * along[1]]
        };
        let mut segments = Vec::new();
        for ring in &outline.rings {
            for (i, p) in ring.iter().enumerate() {
                let q = ring[(i + 1) % ring.len()];
                let ([s0, t0], [s1, t1]) = (frame(p.x, p.y), frame(q.x, q.y));
                if s0.max(s1) >= *between.start() && s0.min(s1) <= *between.end() {
                    segments.push([s0, t0, s1, t1]);
                }
            }
        }
        Self { segments }
    }

    /// The spans of the line square to the way at `s`, from right to left, in units of `t`.
    pub fn spans(&self, s: f64) -> Vec<Span> {
        let mut cuts: Vec<f64> = self
            .segments
            .iter()
            .filter(|g| (g[0] < s) != (g[2] < s))
            .map(|g| g[1] + (g[3] - g[1]) * (s - g[0]) / (g[2] - g[0]))
            .collect();
        cuts.sort_by(f64::total_cmp);
        cuts.chunks_exact(2)
            .map(|c| Span { x0: c[0], x1: c[1] })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::{Point, ViewUnits};

    /// A square of side 2 that stands on its corner, cut along its diagonal: at a distance d from the middle it is
    /// 2 (√2 − d) wide.
    #[test]
    fn a_square_across_its_diagonal() {
        let ring = [(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0)];
        let outline = Outline {
            rings: vec![ring.iter().map(|p| Point::<ViewUnits>::new(p.0, p.1)).collect()],
        };
        let along = [0.5f64.sqrt(), 0.5f64.sqrt()];
        let cut = Across::new(&outline, [1.0, 1.0], along, -2.0..=2.0);
        for d in [-1.2, -0.3, 0.0, 0.7] {
            let spans = cut.spans(d);
            assert_eq!(spans.len(), 1);
            assert!((spans[0].width() - 2.0 * (2f64.sqrt() - d.abs())).abs() < 1e-12);
        }
        assert!(cut.spans(1.5).is_empty());
    }
}
