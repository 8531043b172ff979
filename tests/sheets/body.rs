//! A character: its parts, what is drawn inside its outline, and the places that must not be filled.

use std::collections::HashMap;

use super::curve::{bounds, distance, even, inside, rounded, unsteady};
use super::rng::Rng;
use super::solid::{P, Ring, Solid, depth, outline};

/// Spacing of the points of a pen's path, share of the height.
const STEP: f64 = 0.002;
/// A hand is unsteady by about this much, share of the height.
const UNSTEADY: f64 = 0.0006;
/// Waves of the hand are at least this many points long.
const SHORTEST_WAVE: usize = 40;
/// An inner line begins where it is this far from the outline, then runs on until it meets it.
const CLEAR: f64 = 0.006;
/// Rings shorter than this are no holes but chinks between parts that touch.
const LEAST_RING: f64 = 0.05;

#[derive(Clone)]
pub(crate) struct Part {
    pub(crate) solid: Solid,
    pub(crate) colour: [u8; 3],
    /// Its own border is drawn where it lies on the figure.
    pub(crate) drawn: bool,
}

/// A concave place: the window `[x0, y0, x1, y1]` in which nothing may be filled, in the view at `azimuth`.
#[derive(Clone)]
pub(crate) struct Place {
    pub(crate) what: &'static str,
    pub(crate) azimuth: f64,
    pub(crate) window: [f64; 4],
}

#[derive(Clone, Default)]
pub(crate) struct Body {
    pub(crate) parts: Vec<Part>,
    /// Eyes: their places and half axes.
    pub(crate) eyes: Vec<([f64; 3], [f64; 2])>,
    /// Heights of lines across the body (belt, collar, hem).
    pub(crate) belts: Vec<f64>,
    /// Standard deviation of the rounding of corners, 0: sharp.
    pub(crate) rounding: f64,
    pub(crate) places: Vec<Place>,
}

impl Body {
    pub(crate) fn add(&mut self, solid: Solid, colour: [u8; 3], drawn: bool) {
        self.parts.push(Part { solid, colour, drawn });
    }

    pub(crate) fn place(&mut self, what: &'static str, azimuth: f64, window: [f64; 4]) {
        self.places.push(Place {
            what,
            azimuth,
            window,
        });
    }

    /// The path of the pen around the figure seen at an azimuth: this is the truth.
    pub(crate) fn path(&self, azimuth: f64, rng: &mut Rng) -> Vec<Ring> {
        outline(self.parts.iter().map(|p| &p.solid), azimuth)
            .into_iter()
            .filter(|r| super::curve::length(r) > LEAST_RING)
            .map(|r| {
                if self.rounding == 0.0 {
                    return r;
                }
                let round = rounded(&r, STEP, self.rounding);
                unsteady(&round, UNSTEADY, SHORTEST_WAVE, rng)
            })
            .collect()
    }

    /// Lines inside the outline: the borders of parts in front, belts. `cross` makes them run past the outline.
    pub(crate) fn inner_lines(&self, path: &[Ring], azimuth: f64, cross: usize) -> Vec<Ring> {
        let near = Border::new(path);
        // The border of a part lies inside or on the outline: away from the outline it is inside.
        let clear = |p: P| !near.within(p);
        let mut out = Vec::new();
        let rings: Vec<Vec<Ring>> = self.parts.iter().map(|p| p.solid.rings(azimuth)).collect();
        let boxes: Vec<[f64; 4]> = rings.iter().map(|r| bounds(r)).collect();
        let depths: Vec<f64> = self.parts.iter().map(|p| p.solid.nearest(azimuth)).collect();
        for (i, part) in self.parts.iter().enumerate() {
            if !part.drawn || depth(part.solid.middle(), azimuth) < -0.02 {
                continue;
            }
            let hidden = |p: P| {
                (0..rings.len()).any(|k| {
                    let b = boxes[k];
                    depths[k] > depths[i] + 1e-6
                        && (b[0]..b[2]).contains(&p[0])
                        && (b[1]..b[3]).contains(&p[1])
                        && inside(&rings[k], p)
                })
            };
            for ring in &rings[i] {
                let points = even(ring, 2.0 * STEP);
                let seen: Vec<bool> = points.iter().map(|p| !hidden(*p) && clear(*p)).collect();
                out.extend(runs(&points, &seen, |p| inside(path, p), cross));
            }
        }
        out.extend(self.belts.iter().filter_map(|y| belt(path, *y)));
        out
    }

    /// The places that show in a view; a side view facing left shows those of one facing right mirrored.
    pub(crate) fn places_in(&self, azimuth: f64) -> impl Iterator<Item = Place> + '_ {
        self.places.iter().filter_map(move |q| {
            let [x0, y0, x1, y1] = q.window;
            let window = if q.azimuth == azimuth {
                q.window
            } else if q.azimuth == 90.0 && azimuth == -90.0 {
                [-x1, y0, -x0, y1]
            } else {
                return None;
            };
            Some(Place { window, ..q.clone() })
        })
    }

    /// Eyes that look at the viewer: middle and half axes.
    pub(crate) fn eyes_seen(&self, azimuth: f64) -> Vec<(P, P)> {
        let (s, c) = azimuth.to_radians().sin_cos();
        self.eyes
            .iter()
            .filter(|(at, _)| depth(*at, azimuth) > 0.015 || (depth(*at, azimuth) > -0.03 && c > -0.2))
            .map(|(at, half)| {
                (
                    [at[0] * c + at[2] * s, at[1]],
                    [half[0] * (0.45 + 0.55 * c.abs()), half[1]],
                )
            })
            .collect()
    }
}

/// Points of an outline, sorted into squares of the side `CLEAR`.
struct Border(HashMap<(i32, i32), Vec<P>>);

impl Border {
    fn square(p: P) -> (i32, i32) {
        ((p[0] / CLEAR).floor() as i32, (p[1] / CLEAR).floor() as i32)
    }

    fn new(path: &[Ring]) -> Self {
        let mut out: HashMap<(i32, i32), Vec<P>> = HashMap::new();
        for p in path.iter().flat_map(|r| even(r, STEP)) {
            out.entry(Self::square(p)).or_default().push(p);
        }
        Self(out)
    }

    /// Whether the outline is nearer than `CLEAR`.
    fn within(&self, p: P) -> bool {
        let (x, y) = Self::square(p);
        (x - 1..=x + 1)
            .flat_map(|x| (y - 1..=y + 1).map(move |y| (x, y)))
            .filter_map(|square| self.0.get(&square))
            .flatten()
            .any(|q| distance(*q, p) <= CLEAR)
    }
}

/// Stretches of a closed ring that are seen, each continued to the outline and `cross` points past it.
fn runs(points: &[P], seen: &[bool], inside: impl Fn(P) -> bool, cross: usize) -> Vec<Ring> {
    let n = points.len();
    if seen.iter().all(|s| *s) {
        let mut whole = points.to_vec();
        whole.push(points[0]);
        return vec![whole];
    }
    let mut out = Vec::new();
    for start in (0..n).filter(|&i| seen[i] && !seen[(i + n - 1) % n]) {
        let end = (start..start + n).find(|&i| !seen[i % n]).unwrap_or(start + n);
        if end - start < 6 {
            continue;
        }
        let back = (1..8).find(|k| !inside(points[(start + n - k) % n])).unwrap_or(1) + cross;
        let on = (0..8).find(|k| !inside(points[(end + k) % n])).unwrap_or(0) + cross;
        out.push((start + n - back..end + n + on).map(|i| points[i % n]).collect());
    }
    out
}

/// A sagging line from one side of the trunk to the other.
fn belt(path: &[Ring], y: f64) -> Option<Ring> {
    let mut cuts: Vec<f64> = Vec::new();
    for ring in path {
        for i in 0..ring.len() {
            let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
            if (a[1] > y) != (b[1] > y) {
                cuts.push(a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0]));
            }
        }
    }
    cuts.sort_by(f64::total_cmp);
    let middle = bounds(path);
    let x = (middle[0] + middle[2]) / 2.0;
    let span = cuts.chunks_exact(2).min_by(|a, b| {
        ((a[0] + a[1]) / 2.0 - x)
            .abs()
            .total_cmp(&((b[0] + b[1]) / 2.0 - x).abs())
    })?;
    Some(
        (0..=40)
            .map(|i| {
                let t = f64::from(i) / 40.0;
                [span[0] + t * (span[1] - span[0]), y - 0.03 * t * (1.0 - t)]
            })
            .collect(),
    )
}
