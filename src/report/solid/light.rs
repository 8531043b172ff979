//! From what a pixel sees to its light.
//!
//! Light is diffuse: a key from the upper left (Lambert's cosine), sky above and ground below, each by how much of its
//! half of the world the surface faces. What lies behind its surroundings is darkened by the difference of its depth and
//! the mean depth around it (Luft, Colditz and Deussen 2006, "Image enhancement by unsharp masking the depth buffer").

use rayon::prelude::*;

use super::Window;
use super::raster::{SAMPLES, Seen};

/// The surface: the grey of clay, a little warm, in linear light.
const CLAY: [f32; 3] = [0.60, 0.575, 0.545];
/// Where the key comes from (right, up, towards the viewer), of length 1.
const KEY: [f32; 3] = [-0.46, 0.56, 0.69];
/// Light of the key, of the sky and of the ground, in linear light.
const KEY_LIGHT: [f32; 3] = [0.92, 0.89, 0.83];
const SKY_LIGHT: [f32; 3] = [0.46, 0.49, 0.54];
const GROUND_LIGHT: [f32; 3] = [0.17, 0.155, 0.14];
/// Surfaces seen edge-on lose so much: form is then read without an outline.
const GRAZING: f32 = 0.34;
/// How far around depths are compared, share of the figure's height.
const AROUND: f64 = 0.022;
/// Strength of what lies behind being darkened, and the most that it loses.
const BEHIND: [f32; 2] = [0.55, 0.5];
/// Rounds of averaging: three boxes are nearly a bell.
const ROUNDS: usize = 3;

/// A shaded picture: linear light of the surface, and the share of each pixel that it covers, row by row.
pub(crate) struct Shaded {
    width: usize,
    lights: Vec<[f32; 4]>,
}

impl Shaded {
    /// Light of the surface in a pixel, and how much of the pixel it covers, 0 to 1.
    #[inline]
    pub(crate) fn at(&self, column: usize, row: usize) -> ([f32; 4], f32) {
        let [r, g, b, share] = self.lights[row * self.width + column];
        ([r, g, b, 0.0], share)
    }
}

pub(super) fn shade(seen: &[Seen], window: &Window, figure: f64) -> Shaded {
    let reach = (AROUND * figure * window.scale).round().max(1.0) as usize;
    let around = blurred(seen, window.width, reach);
    // Depths count in parts of what is around.
    let near = (AROUND * figure) as f32;
    let lights = seen
        .par_iter()
        .zip(&around)
        .map(|(pixel, mean)| {
            if pixel.count == 0 {
                return [0.0; 4];
            }
            let behind = ((mean - pixel.depth) / near.max(f32::MIN_POSITIVE)).max(0.0);
            let open = 1.0 - (BEHIND[0] * behind).min(BEHIND[1]);
            let [r, g, b] = light(pixel.normal, open);
            [r, g, b, f32::from(pixel.count) / (SAMPLES * SAMPLES) as f32]
        })
        .collect();
    Shaded {
        width: window.width,
        lights,
    }
}

/// The light of a surface; `open` is how much of its surroundings it sees.
fn light(n: [f32; 3], open: f32) -> [f32; 3] {
    let key = (n[0] * KEY[0] + n[1] * KEY[1] + n[2] * KEY[2]).max(0.0);
    let sky = 0.5 * (1.0 + n[1]);
    let form = 1.0 - GRAZING * (1.0 - n[2].clamp(0.0, 1.0)).powi(2);
    std::array::from_fn(|k| {
        let all = (SKY_LIGHT[k] * sky + GROUND_LIGHT[k] * (1.0 - sky)) * open
            + KEY_LIGHT[k] * key * (0.5 + 0.5 * open);
        (CLAY[k] * all * form).clamp(0.0, 1.0)
    })
}

/// Mean depth around each pixel, of those that see the surface.
fn blurred(seen: &[Seen], width: usize, reach: usize) -> Vec<f32> {
    let mut sums: Vec<[f32; 2]> = seen
        .iter()
        .map(|p| if p.count > 0 { [p.depth, 1.0] } else { [0.0; 2] })
        .collect();
    if width == 0 {
        return Vec::new();
    }
    let height = sums.len() / width;
    let box_reach = (reach / 2).max(1);
    for _ in 0..ROUNDS {
        sums.par_chunks_mut(width).for_each(|row| boxed(row, box_reach));
        let mut columns = transposed(&sums, width, height);
        columns.par_chunks_mut(height).for_each(|c| boxed(c, box_reach));
        sums = transposed(&columns, height, width);
    }
    sums.iter()
        .map(|[depth, weight]| if *weight > 1e-6 { depth / weight } else { 0.0 })
        .collect()
}

/// Means over so many neighbours to both sides; beyond the ends there is nothing.
fn boxed(line: &mut [[f32; 2]], reach: usize) {
    let before = line.to_vec();
    // Sums in double precision: nothing adds up that would depend on where the line begins.
    let mut sum = [0.0f64; 2];
    let add = |sum: &mut [f64; 2], v: [f32; 2], sign: f64| {
        for k in 0..2 {
            sum[k] += sign * f64::from(v[k]);
        }
    };
    for v in before.iter().take(reach) {
        add(&mut sum, *v, 1.0);
    }
    let share = 1.0 / (2 * reach + 1) as f64;
    for (i, mean) in line.iter_mut().enumerate() {
        if let Some(v) = before.get(i + reach) {
            add(&mut sum, *v, 1.0);
        }
        if let Some(v) = i.checked_sub(reach + 1).and_then(|k| before.get(k)) {
            add(&mut sum, *v, -1.0);
        }
        *mean = sum.map(|v| (v * share) as f32);
    }
}

fn transposed(of: &[[f32; 2]], width: usize, height: usize) -> Vec<[f32; 2]> {
    let mut out = Vec::with_capacity(of.len());
    for x in 0..width {
        out.extend((0..height).map(|y| of[y * width + x]));
    }
    out
}
