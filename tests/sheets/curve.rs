//! Closed and open curves: even spacing, rounding, a hand's unsteadiness, inside or outside.

use super::rng::Rng;
use super::solid::{P, Ring};

pub(crate) fn distance(a: P, b: P) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

pub(crate) fn between(a: P, b: P, t: f64) -> P {
    [a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t]
}

pub(crate) fn length(ring: &[P]) -> f64 {
    (0..ring.len())
        .map(|i| distance(ring[i], ring[(i + 1) % ring.len()]))
        .sum()
}

/// Points along a closed ring, about `step` apart.
pub(crate) fn even(ring: &[P], step: f64) -> Ring {
    let total = length(ring);
    let n = ((total / step).round() as usize).max(8);
    let mut out = Vec::with_capacity(n);
    let (mut i, mut start) = (0, 0.0);
    for k in 0..n {
        let want = k as f64 * total / n as f64;
        loop {
            let (a, b) = (ring[i % ring.len()], ring[(i + 1) % ring.len()]);
            let l = distance(a, b);
            if start + l >= want && l > 0.0 {
                out.push(between(a, b, (want - start) / l));
                break;
            }
            start += l;
            i += 1;
        }
    }
    out
}

/// Points along an open line, about `step` apart, both ends kept.
pub(crate) fn dense(line: &[P], step: f64) -> Ring {
    let mut out = vec![line[0]];
    for w in line.windows(2) {
        let n = (distance(w[0], w[1]) / step).ceil().max(1.0) as usize;
        out.extend((1..=n).map(|k| between(w[0], w[1], k as f64 / n as f64)));
    }
    out
}

/// A closed ring with its corners rounded: Gaussian of `sigma` along the line; points stay evenly spaced.
pub(crate) fn rounded(ring: &[P], step: f64, sigma: f64) -> Ring {
    let points = even(ring, step);
    let reach = (3.0 * sigma / step).ceil() as i64;
    let weights: Vec<f64> = (-reach..=reach)
        .map(|k| (-(k as f64 * step / sigma).powi(2) / 2.0).exp())
        .collect();
    let sum: f64 = weights.iter().sum();
    let n = points.len() as i64;
    (0..n)
        .map(|i| {
            let mut p = [0.0; 2];
            for (k, w) in weights.iter().enumerate() {
                let q = points[(i + k as i64 - reach).rem_euclid(n) as usize];
                p[0] += w / sum * q[0];
                p[1] += w / sum * q[1];
            }
            p
        })
        .collect()
}

/// A closed ring moved along its normal by up to about `reach`, in waves no shorter than `shortest` points.
pub(crate) fn unsteady(ring: &[P], reach: f64, shortest: usize, rng: &mut Rng) -> Ring {
    let n = ring.len();
    let waves = rng.waves(n, shortest);
    (0..n)
        .map(|i| {
            let (a, b) = (ring[(i + n - 1) % n], ring[(i + 1) % n]);
            let l = distance(a, b).max(1e-12);
            let off = reach * waves[i];
            [
                ring[i][0] + off * (b[1] - a[1]) / l,
                ring[i][1] - off * (b[0] - a[0]) / l,
            ]
        })
        .collect()
}

/// Whether a point lies inside the rings (odd number of crossings).
pub(crate) fn inside(rings: &[Ring], p: P) -> bool {
    let mut odd = false;
    for ring in rings {
        for i in 0..ring.len() {
            let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
            if (a[1] > p[1]) != (b[1] > p[1]) && p[0] < a[0] + (p[1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0]) {
                odd = !odd;
            }
        }
    }
    odd
}

/// `[x0, y0, x1, y1]` around all points.
pub(crate) fn bounds(rings: &[Ring]) -> [f64; 4] {
    rings
        .iter()
        .flatten()
        .fold([f64::MAX, f64::MAX, f64::MIN, f64::MIN], |b, p| {
            [b[0].min(p[0]), b[1].min(p[1]), b[2].max(p[0]), b[3].max(p[1])]
        })
}
