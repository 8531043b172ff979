//! From triangles to what each pixel sees: a depth buffer with three by three samples a pixel, band by band, so that memory
//! grows with the picture's width only.

use rayon::prelude::*;

use super::{Place, Triangle, Window};

/// Samples across and down a pixel.
pub(super) const SAMPLES: usize = 3;
/// Rows of pixels that are worked on at once.
const BAND: usize = 24;
/// Nothing is seen.
const FAR: f32 = f32::NEG_INFINITY;

/// What a pixel sees.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Seen {
    /// Samples that see the surface, of `SAMPLES * SAMPLES`.
    pub(super) count: u8,
    /// Mean normal of those, of length 1 or less.
    pub(super) normal: Place,
    /// Mean distance of those towards the viewer, units.
    pub(super) depth: f32,
}

/// A triangle in sample units, y down.
struct Flat {
    at: [[f32; 3]; 3],
    normals: [Place; 3],
}

/// Pixels row by row.
pub(super) fn raster(triangles: &[Triangle], window: &Window) -> Vec<Seen> {
    let bands = window.height.div_ceil(BAND);
    let mut within: Vec<Vec<u32>> = vec![Vec::new(); bands];
    for (i, t) in triangles.iter().enumerate() {
        let rows = t.at.map(|p| window.zero.1 - f64::from(p[1]) * window.scale);
        let (low, high) = (
            rows.into_iter().fold(f64::MAX, f64::min),
            rows.into_iter().fold(f64::MIN, f64::max),
        );
        if high < 0.0 || low >= window.height as f64 {
            continue;
        }
        let band = |row: f64| (row.max(0.0) as usize / BAND).min(bands - 1);
        for list in &mut within[band(low)..=band(high)] {
            list.push(i as u32);
        }
    }
    let mut out = vec![Seen::default(); window.width * window.height];
    out.par_chunks_mut(BAND * window.width.max(1))
        .zip(&within)
        .enumerate()
        .for_each(|(band, (pixels, list))| {
            let first = (band * BAND * SAMPLES) as f64;
            let flat = list.iter().map(|i| flat(&triangles[*i as usize], window, first));
            fill(pixels, window.width, flat);
        });
    out
}

/// A triangle in samples, its rows counted from the band's first.
fn flat(t: &Triangle, window: &Window, first: f64) -> Flat {
    let n = SAMPLES as f64;
    Flat {
        at: t.at.map(|[x, y, z]| {
            [
                ((window.zero.0 + f64::from(x) * window.scale) * n) as f32,
                ((window.zero.1 - f64::from(y) * window.scale) * n - first) as f32,
                z,
            ]
        }),
        normals: t.normals,
    }
}

/// Draws triangles into a band of pixels.
fn fill(pixels: &mut [Seen], width: usize, triangles: impl Iterator<Item = Flat>) {
    let (columns, rows) = (width * SAMPLES, pixels.len() / width.max(1) * SAMPLES);
    let mut depths = vec![FAR; columns * rows];
    let mut normals = vec![[0.0f32; 3]; columns * rows];
    for t in triangles {
        draw(&t, columns, rows, &mut depths, &mut normals);
    }
    for (i, pixel) in pixels.iter_mut().enumerate() {
        let (x, y) = (i % width * SAMPLES, i / width * SAMPLES);
        let mut sum = Seen::default();
        for at in (0..SAMPLES * SAMPLES).map(|k| (y + k / SAMPLES) * columns + x + k % SAMPLES) {
            if depths[at] > FAR {
                sum.count += 1;
                sum.depth += depths[at];
                sum.normal = std::array::from_fn(|k| sum.normal[k] + normals[at][k]);
            }
        }
        if sum.count > 0 {
            let share = 1.0 / f32::from(sum.count);
            sum.depth *= share;
            sum.normal = sum.normal.map(|v| v * share);
            *pixel = sum;
        }
    }
}

/// Draws one triangle: samples whose middles it covers (edge functions, Pineda 1988), the nearest of all.
fn draw(t: &Flat, columns: usize, rows: usize, depths: &mut [f32], normals: &mut [Place]) {
    let [a, b, c] = t.at;
    let twice = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
    if twice == 0.0 || !twice.is_finite() {
        return;
    }
    let range = |k: usize, most: usize| {
        let (low, high) = (a[k].min(b[k]).min(c[k]), a[k].max(b[k]).max(c[k]));
        let first = (low - 0.5).ceil().max(0.0) as usize;
        first..((high - 0.5).floor() + 1.0).clamp(0.0, most as f32) as usize
    };
    let share = twice.recip();
    for y in range(1, rows) {
        let py = y as f32 + 0.5;
        for x in range(0, columns) {
            let px = x as f32 + 0.5;
            let edge = |p: [f32; 3], q: [f32; 3]| (q[0] - p[0]) * (py - p[1]) - (q[1] - p[1]) * (px - p[0]);
            let [u, v, w] = [edge(b, c) * share, edge(c, a) * share, edge(a, b) * share];
            // Samples on a common edge are drawn by both of its triangles: the nearer one stays.
            if u < 0.0 || v < 0.0 || w < 0.0 {
                continue;
            }
            let depth = u * a[2] + v * b[2] + w * c[2];
            let at = y * columns + x;
            if depth > depths[at] {
                depths[at] = depth;
                let [na, nb, nc] = t.normals;
                let n: Place = std::array::from_fn(|k| u * na[k] + v * nb[k] + w * nc[k]);
                let length = (n[0] * n[0] + n[1] * n[1] + n[2] * n[2]).sqrt();
                // The side that is seen faces the viewer.
                let turn = if n[2] < 0.0 { -1.0 } else { 1.0 } / length.max(f32::MIN_POSITIVE);
                normals[at] = n.map(|v| v * turn);
            }
        }
    }
}
