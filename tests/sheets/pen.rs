//! How a hand draws along a path: ink, brush, pencil; swelling, tapering, doubled, broken.

use super::canvas::Nib;
use super::curve::{between, dense, distance, length};
use super::rng::Rng;
use super::solid::{P, Ring};

#[derive(Clone, Copy)]
pub(crate) struct Pen {
    pub(crate) colour: [u8; 3],
    /// Width in pixels.
    pub(crate) width: f64,
    /// The width varies by this share.
    pub(crate) swell: f64,
    /// Length of one stroke as a share of the figure's height; 0: one stroke all round.
    pub(crate) stroke: f64,
    /// Strokes taper at their ends.
    pub(crate) taper: bool,
    /// How often a line is drawn over, each time a little beside.
    pub(crate) passes: usize,
    /// How far beside, in widths.
    pub(crate) beside: f64,
    /// Strength, from and to.
    pub(crate) tone: (f64, f64),
    /// Number of gaps in a figure's outline.
    pub(crate) gaps: usize,
    /// Widest gap, share of the figure's height.
    pub(crate) gap: f64,
}

impl Pen {
    pub(crate) const fn ink(width: f64) -> Self {
        Self {
            colour: [24, 22, 26],
            width,
            swell: 0.0,
            stroke: 0.0,
            taper: false,
            passes: 1,
            beside: 0.0,
            tone: (1.0, 1.0),
            gaps: 0,
            gap: 0.0,
        }
    }

    pub(crate) const fn pencil(width: f64) -> Self {
        Self {
            colour: [70, 70, 74],
            width,
            swell: 0.25,
            stroke: 0.22,
            taper: true,
            passes: 2,
            beside: 0.35,
            tone: (0.55, 0.9),
            gaps: 0,
            gap: 0.0,
        }
    }

    pub(crate) const fn colour(mut self, colour: [u8; 3]) -> Self {
        self.colour = colour;
        self
    }

    pub(crate) const fn broken(mut self, gaps: usize, gap: f64) -> Self {
        self.gaps = gaps;
        self.gap = gap;
        self
    }

    pub(crate) const fn brush(mut self, swell: f64, stroke: f64) -> Self {
        self.swell = swell;
        self.stroke = stroke;
        self.taper = true;
        self
    }
}

/// A closed path as stretches between its gaps.
fn stretches(ring: &Ring, figure: f64, pen: &Pen, rng: &mut Rng) -> Vec<Ring> {
    let total = length(ring);
    let mut closed = ring.clone();
    closed.push(ring[0]);
    let closed = dense(&closed, 1.0);
    let n = closed.len() - 1;
    let step = total / n as f64;
    let mut open = vec![false; n];
    let count = if total > 2.0 * figure {
        pen.gaps
    } else {
        pen.gaps.min(1)
    };
    let (mut made, mut tries) = (0, 0);
    while made < count && tries < 400 {
        tries += 1;
        let wide = rng.range(0.4, 1.0) * pen.gap * figure;
        let at = rng.below(n);
        let half = (wide / step / 2.0) as usize;
        let clear = (0.05 * figure / step) as usize;
        let near = |i: usize| open[i % n];
        let taken = (0..=2 * (half + clear)).any(|k| near(at + n + k - half - clear));
        // Where another part of the outline is near, nobody could tell what was meant.
        let far = (3.0 * wide / step) as usize;
        let narrow = (0..n).step_by(4).any(|i| {
            let along = (i + n - at) % n;
            along.min(n - along) > far.max(clear) && distance(closed[i], closed[at]) < 1.6 * wide
        });
        if taken || narrow {
            continue;
        }
        for k in 0..=2 * half {
            open[(at + n + k - half) % n] = true;
        }
        made += 1;
    }
    if made == 0 {
        return vec![closed];
    }
    let first = (0..n).find(|i| open[*i]).unwrap_or(0);
    let mut out: Vec<Ring> = Vec::new();
    let mut run: Ring = Vec::new();
    for k in 0..=n {
        let i = (first + k) % n;
        if k < n && !open[i] {
            run.push(closed[i]);
        } else if run.len() > 1 {
            out.push(std::mem::take(&mut run));
        }
    }
    out
}

/// Strokes along closed rings, `figure` the height in pixels.
pub(crate) fn around(rings: &[Ring], figure: f64, pen: &Pen, rng: &mut Rng) -> Vec<Vec<Nib>> {
    let mut out = Vec::new();
    for ring in rings {
        for line in stretches(ring, figure, pen, rng) {
            out.extend(along(&line, figure, pen, rng));
        }
    }
    out
}

/// Strokes along one open line.
pub(crate) fn along(line: &[P], figure: f64, pen: &Pen, rng: &mut Rng) -> Vec<Vec<Nib>> {
    let points = dense(line, 1.5);
    let n = points.len();
    let mut out = Vec::new();
    for pass in 0..pen.passes {
        let per = if pen.stroke > 0.0 {
            (pen.stroke * figure / 1.5) as usize
        } else {
            n
        };
        let overlap = (0.02 * figure / 1.5) as usize;
        let mut start = 0;
        while start < n - 1 {
            let len = if per >= n {
                n
            } else {
                (per as f64 * rng.range(0.7, 1.3)) as usize + 2
            };
            let end = (start + len).min(n);
            // The last stroke takes a short rest along.
            let end = if n - end < 2 * overlap + 4 { n } else { end };
            let side = if pass == 0 { 0.0 } else { rng.range(-1.0, 1.0) } * pen.beside * pen.width;
            out.push(stroke(&points[start..end], side, pen, rng));
            if end == n {
                break;
            }
            start = end - overlap.min(end - start - 1);
        }
    }
    out
}

fn stroke(points: &[P], side: f64, pen: &Pen, rng: &mut Rng) -> Vec<Nib> {
    let n = points.len();
    let waves = rng.waves(n, 60);
    let tone = rng.range(pen.tone.0, pen.tone.1);
    (0..n)
        .map(|i| {
            let (a, b) = (points[i.saturating_sub(1)], points[(i + 1).min(n - 1)]);
            let l = distance(a, b).max(1e-9);
            let p = between(points[i], points[i], 0.0);
            let at = [p[0] + side * (b[1] - a[1]) / l, p[1] - side * (b[0] - a[0]) / l];
            let end = (i.min(n - 1 - i) as f64 / 14.0).min(1.0);
            let taper = if pen.taper { 0.45 + 0.55 * end } else { 1.0 };
            (
                at,
                pen.width / 2.0 * taper * (1.0 + pen.swell * waves[i].clamp(-1.0, 1.0)),
                tone,
            )
        })
        .collect()
}
