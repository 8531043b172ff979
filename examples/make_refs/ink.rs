//! Pen strokes: polylines drawn as chains of tapering pieces with round joints, with the small wobble and the
//! change of weight that a hand gives a line. Coverage comes from tiny-skia, one mask a pass.

use crate::noise;
use crate::view::V2;
use tiny_skia::{FillRule, Mask, Path, PathBuilder, Transform};

/// How a stroke is drawn.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Pen {
    /// Mean width, px.
    pub(crate) width: f64,
    /// Largest change of the width to either side, px.
    pub(crate) swell: f64,
    /// Largest distance from the true line, px.
    pub(crate) wobble: f64,
    /// Length over which the ends thin out, px; 0 leaves them blunt.
    pub(crate) taper: f64,
}

/// Strokes that are inked in one pass.
#[derive(Default)]
pub(crate) struct Strokes {
    builder: PathBuilder,
}

/// Distance of the points that a stroke is resampled to, px: below the width of the thinnest line.
const STEP: f64 = 1.5;
/// Lengths of the slow and of the quick part of the wobble and of the swell, px; found by eye.
const SLOW: f64 = 95.0;
const QUICK: f64 = 31.0;
const SWELL: f64 = 140.0;
/// Thinnest width a taper ends with, px.
const THIN: f64 = 0.5;

impl Strokes {
    /// Draws an open polyline (pixels).
    pub(crate) fn open(&mut self, points: &[V2], pen: Pen, seed: u64) {
        let p = resampled(points, false);
        self.draw(&p, pen, seed, false, |_| 0.0);
    }

    /// Draws a closed ring (pixels); `heavier` adds to the width by the direction of the normal.
    pub(crate) fn closed(&mut self, points: &[V2], pen: Pen, seed: u64, heavier: impl Fn(V2) -> f64) {
        let p = resampled(points, true);
        self.draw(&p, pen, seed, true, heavier);
    }

    fn draw(&mut self, p: &[V2], pen: Pen, seed: u64, closed: bool, heavier: impl Fn(V2) -> f64) {
        let n = p.len();
        if n < 2 {
            return;
        }
        let length = n as f64 * STEP;
        // On a ring the noise has to come back to where it began: blend into a copy one turn earlier.
        let turn = |s: f64, scale: f64, seed: u64| {
            let here = noise::along(s / scale, seed);
            if closed {
                let t = s / length;
                here * (1.0 - t) + noise::along((s - length) / scale, seed) * t
            } else {
                here
            }
        };
        let mut line = Vec::with_capacity(n);
        for i in 0..n {
            let (before, after) = if closed {
                (p[(i + n - 1) % n], p[(i + 1) % n])
            } else {
                (p[i.saturating_sub(1)], p[(i + 1).min(n - 1)])
            };
            let (dx, dy) = (after[0] - before[0], after[1] - before[1]);
            let l = dx.hypot(dy).max(f64::MIN_POSITIVE);
            let normal = [dy / l, -dx / l];
            let s = i as f64 * STEP;
            let off = pen.wobble * (0.7 * turn(s, SLOW, seed) + 0.3 * turn(s, QUICK, seed + 1));
            let mut width = pen.width
                + heavier(normal)
                + pen.swell * (0.7 * turn(s, SWELL, seed + 2) + 0.3 * turn(s, QUICK, seed + 3));
            if !closed && pen.taper > 0.0 {
                let end = s.min(length - s) / pen.taper;
                width *= end.clamp(0.0, 1.0).sqrt();
            }
            line.push((
                [p[i][0] + off * normal[0], p[i][1] + off * normal[1]],
                width.max(THIN),
            ));
        }
        for i in 0..if closed { n } else { n - 1 } {
            self.piece(line[i], line[(i + 1) % n]);
        }
    }

    /// A quad between two discs, all wound the same way.
    fn piece(&mut self, (a, wa): (V2, f64), (b, wb): (V2, f64)) {
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let l = dx.hypot(dy);
        if l > 0.0 {
            let (nx, ny) = (-dy / l / 2.0, dx / l / 2.0);
            self.ring(&[
                [a[0] - nx * wa, a[1] - ny * wa],
                [b[0] - nx * wb, b[1] - ny * wb],
                [b[0] + nx * wb, b[1] + ny * wb],
                [a[0] + nx * wa, a[1] + ny * wa],
            ]);
        }
        self.dot(a, wa);
        self.dot(b, wb);
    }

    /// A round dot of the given width.
    pub(crate) fn dot(&mut self, c: V2, width: f64) {
        const CORNERS: usize = 12;
        let disc: Vec<V2> = (0..CORNERS)
            .map(|k| {
                let (s, co) = (std::f64::consts::TAU * k as f64 / CORNERS as f64).sin_cos();
                [c[0] + co * width / 2.0, c[1] + s * width / 2.0]
            })
            .collect();
        self.ring(&disc);
    }

    /// A filled shape.
    pub(crate) fn ring(&mut self, points: &[V2]) {
        for (i, p) in points.iter().enumerate() {
            let (x, y) = (p[0] as f32, p[1] as f32);
            if i == 0 {
                self.builder.move_to(x, y);
            } else {
                self.builder.line_to(x, y);
            }
        }
        self.builder.close();
    }

    /// The coverage of all strokes, 0..1 a pixel.
    pub(crate) fn coverage(self, width: u32, height: u32) -> Vec<f64> {
        let path: Option<Path> = self.builder.finish();
        let mask = Mask::new(width, height).map(|mut m| {
            if let Some(path) = &path {
                m.fill_path(path, FillRule::Winding, true, Transform::identity());
            }
            m
        });
        mask.map_or_else(Vec::new, |m| {
            m.data().iter().map(|&c| f64::from(c) / 255.0).collect()
        })
    }
}

/// Points at equal distances along a polyline.
pub(crate) fn resampled(points: &[V2], closed: bool) -> Vec<V2> {
    let mut p = points.to_vec();
    if closed && let Some(&first) = points.first() {
        p.push(first);
    }
    if p.len() < 2 {
        return p;
    }
    let mut sums = vec![0.0];
    for w in p.windows(2) {
        let d = (w[1][0] - w[0][0]).hypot(w[1][1] - w[0][1]);
        sums.push(sums[sums.len() - 1] + d);
    }
    let total = sums[sums.len() - 1];
    let n = (total / STEP).round().max(2.0);
    let mut at = 0;
    let count = n as usize + usize::from(!closed);
    (0..count)
        .map(|i| {
            let s = total * i as f64 / n;
            while at + 2 < sums.len() && sums[at + 1] < s {
                at += 1;
            }
            let t = (s - sums[at]) / (sums[at + 1] - sums[at]).max(f64::MIN_POSITIVE);
            let (a, b) = (p[at], p[at + 1]);
            [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]
        })
        .collect()
}

/// A smooth curve through the points (Catmull and Rom 1974, uniform).
pub(crate) fn curve(points: &[V2]) -> Vec<V2> {
    const PIECES: usize = 10;
    let n = points.len();
    let mut out = Vec::new();
    for i in 0..n.saturating_sub(1) {
        let (b, c) = (points[i], points[i + 1]);
        let (a, d) = (points[i.saturating_sub(1)], points[(i + 2).min(n - 1)]);
        for k in 0..PIECES {
            let t = k as f64 / PIECES as f64;
            out.push([0, 1].map(|j| {
                0.5 * (2.0 * b[j]
                    + (c[j] - a[j]) * t
                    + (2.0 * a[j] - 5.0 * b[j] + 4.0 * c[j] - d[j]) * t * t
                    + (3.0 * b[j] - a[j] - 3.0 * c[j] + d[j]) * t * t * t)
            }));
        }
    }
    out.extend(points.last());
    out
}

/// Repeated averages with the neighbours: evens out the small corners of a chain; ends stay.
pub(crate) fn evened(points: &[V2], times: usize) -> Vec<V2> {
    let mut p = points.to_vec();
    for _ in 0..times {
        let old = p.clone();
        for i in 1..p.len().saturating_sub(1) {
            p[i] = [0, 1].map(|j| 0.25 * old[i - 1][j] + 0.5 * old[i][j] + 0.25 * old[i + 1][j]);
        }
    }
    p
}

/// A closed ring whose small corners are rounded; no point moves farther than `limit`.
pub(crate) fn rounded(ring: &[V2], limit: f64) -> Vec<V2> {
    /// Rounds of averaging: a spread of about four pixels at the distance of the points, found by eye.
    const ROUNDS: usize = 14;
    let exact = resampled(ring, true);
    let n = exact.len();
    let mut p = exact.clone();
    for _ in 0..ROUNDS {
        let old = p.clone();
        for i in 0..n {
            let (a, b) = (old[(i + n - 1) % n], old[(i + 1) % n]);
            p[i] = [0, 1].map(|j| 0.25 * a[j] + 0.5 * old[i][j] + 0.25 * b[j]);
        }
    }
    for (q, e) in p.iter_mut().zip(&exact) {
        let (dx, dy) = (q[0] - e[0], q[1] - e[1]);
        let share = (limit / dx.hypot(dy).max(f64::MIN_POSITIVE)).min(1.0);
        *q = [e[0] + share * dx, e[1] + share * dy];
    }
    p
}
