//! What paper and scanner do to a drawing: shading, stains, folds, holes, borders, blur, grain.

use super::canvas::Canvas;
use super::rng::Rng;
use super::solid::P;

impl Canvas {
    /// Multiplies every pixel by what `f` gives at its place.
    fn shade(&mut self, f: impl Fn(f64, f64) -> f64) {
        for y in 0..self.height {
            for x in 0..self.width {
                let k = f(x as f64 + 0.5, y as f64 + 0.5) as f32;
                for v in &mut self.rgb[y * self.width + x] {
                    *v = (*v * k).clamp(0.0, 255.0);
                }
            }
        }
    }

    /// Uneven light of a scan or a photograph, darker by `amount` in one corner.
    pub(crate) fn uneven_light(&mut self, amount: f64) {
        let (w, h) = (self.width as f64, self.height as f64);
        self.shade(|x, y| 1.0 - amount * (0.6 * x / w + 0.4 * (y / h) * (y / h)));
    }

    /// The ring that a cup leaves: darker at its outer edge, open on one side.
    pub(crate) fn cup_ring(&mut self, at: P, radius: f64, depth: f64) {
        self.shade(|x, y| {
            let (dx, dy) = (x - at[0], y - at[1]);
            let r = dx.hypot(dy) / radius;
            let open = 0.55 + 0.45 * (dy.atan2(dx) * 1.0 + 0.7).sin();
            let edge = (-((r - 1.0) / 0.035).powi(2)).exp();
            let inside = if r < 1.0 { 0.18 } else { 0.0 };
            1.0 - depth * (edge * open.max(0.1) + inside)
        });
    }

    /// A fold across the sheet: a soft dark line with a light one beside it.
    pub(crate) fn fold(&mut self, at: f64, upright: bool, depth: f64) {
        self.shade(|x, y| {
            let d = if upright {
                x - at - 0.004 * y
            } else {
                y - at + 0.003 * x
            };
            let d = d / 5.0;
            1.0 - depth * ((-d * d).exp() - 0.5 * (-(d - 2.0) * (d - 2.0)).exp())
        });
    }

    /// The dark of the scanner's lid around the paper: `[left, top, right, bottom]` in pixels.
    pub(crate) fn scanner_border(&mut self, widths: [f64; 4], colour: f32) {
        let (w, h) = (self.width as f64, self.height as f64);
        for y in 0..self.height {
            for x in 0..self.width {
                let (px, py) = (x as f64 + 0.5, y as f64 + 0.5);
                // The paper lies a little askew.
                let lean = 0.006;
                let out = (widths[0] + lean * py - px)
                    .max(widths[1] + lean * px - py)
                    .max(px - (w - widths[2] + lean * (py - h)))
                    .max(py - (h - widths[3] + lean * (px - w)));
                let t = (out / 3.0 + 0.5).clamp(0.0, 1.0) as f32;
                if t > 0.0 {
                    self.rgb[y * self.width + x] =
                        self.rgb[y * self.width + x].map(|v| v * (1.0 - t) + colour * t);
                }
            }
        }
    }

    /// Holes of a binder along the left edge: the lid shows through.
    pub(crate) fn punch_holes(&mut self, x: f64, radius: f64, colour: [u8; 3]) {
        let h = self.height as f64;
        for share in [0.2, 0.4, 0.6, 0.8] {
            let dot = vec![
                ([x, share * h], radius, 1.0),
                ([x + 0.01, share * h], radius, 1.0),
            ];
            let mask = self.strokes(&[dot]);
            self.lay(&mask, colour, 1.0);
        }
    }

    /// Gaussian blur of all channels, `sigma` in pixels.
    pub(crate) fn blur(&mut self, sigma: f64) {
        let reach = (3.0 * sigma).ceil() as usize;
        let weights: Vec<f32> = (0..=2 * reach)
            .map(|k| (-((k as f64 - reach as f64) / sigma).powi(2) / 2.0).exp() as f32)
            .collect();
        let sum: f32 = weights.iter().sum();
        let (w, h) = (self.width, self.height);
        for along in [true, false] {
            let source = self.rgb.clone();
            for y in 0..h {
                for x in 0..w {
                    let mut v = [0.0_f32; 3];
                    for (k, g) in weights.iter().enumerate() {
                        let (sx, sy) = if along {
                            ((x + k).saturating_sub(reach).min(w - 1), y)
                        } else {
                            (x, (y + k).saturating_sub(reach).min(h - 1))
                        };
                        for c in 0..3 {
                            v[c] += g * source[sy * w + sx][c];
                        }
                    }
                    self.rgb[y * w + x] = v.map(|v| v / sum);
                }
            }
        }
    }

    /// Grain of paper and sensor, the same in all channels but for a tenth.
    pub(crate) fn grain(&mut self, deviation: f64, rng: &mut Rng) {
        for p in &mut self.rgb {
            let g = rng.normal() * deviation;
            let c = rng.normal() * deviation * 0.1;
            *p = [p[0] + (g + c) as f32, p[1] + g as f32, p[2] + (g - c) as f32].map(|v| v.clamp(0.0, 255.0));
        }
    }

    /// Specks of dust and hairs.
    pub(crate) fn dust(&mut self, count: usize, rng: &mut Rng) {
        let mut strokes = Vec::new();
        for _ in 0..count {
            let p = [
                rng.range(0.0, self.width as f64),
                rng.range(0.0, self.height as f64),
            ];
            let q = [p[0] + rng.range(-6.0, 6.0), p[1] + rng.range(-6.0, 6.0)];
            let r = rng.range(0.4, 1.3);
            strokes.push(vec![(p, r, 0.7), (q, r, 0.5)]);
        }
        let mask = self.strokes(&strokes);
        self.lay(&mask, [90, 88, 84], 1.0);
    }
}
