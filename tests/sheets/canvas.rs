//! The picture that a sheet is drawn on: exact coverage of areas, strokes by distance to their middle.
//!
//! Everything is given in levelled pixels and turned about the middle of the picture as it is drawn, so the truth
//! stays exact. A general rasteriser would not do: its coverage is off by up to a quarter of a pixel.

use super::solid::{P, Ring};

/// A point of a stroke: where, half the width there (pixels), how strong (0 to 1).
pub(crate) type Nib = (P, f64, f64);

pub(crate) struct Canvas {
    pub(crate) width: usize,
    pub(crate) height: usize,
    pub(crate) skew_deg: f64,
    /// Red, green, blue, 0 to 255.
    pub(crate) rgb: Vec<[f32; 3]>,
    /// Opacity, where the paper is transparent.
    pub(crate) alpha: Option<Vec<f32>>,
}

/// How much of each pixel is covered, 0 to 1, and which rows are touched.
pub(crate) struct Mask {
    pub(crate) values: Vec<f32>,
    width: usize,
    /// From and to, of rows and of columns.
    rows: (usize, usize),
    columns: (usize, usize),
}

/// Rows a pixel for the coverage of areas; the ends of a row are exact.
const SUB_ROWS: usize = 8;

impl Canvas {
    pub(crate) fn new(width: usize, height: usize, paper: [u8; 3], skew_deg: f64) -> Self {
        let paper = paper.map(f32::from);
        Self {
            width,
            height,
            skew_deg,
            rgb: vec![paper; width * height],
            alpha: None,
        }
    }

    /// From the levelled sheet to the picture: counter-clockwise as seen, by the skew, about the middle.
    pub(crate) fn to_file(&self, p: P) -> P {
        let (s, c) = self.skew_deg.to_radians().sin_cos();
        let (mx, my) = (self.width as f64 / 2.0, self.height as f64 / 2.0);
        let (x, y) = (p[0] - mx, p[1] - my);
        [mx + x * c + y * s, my - x * s + y * c]
    }

    fn empty(&self) -> Mask {
        Mask {
            values: vec![0.0; self.width * self.height],
            width: self.width,
            rows: (self.height, 0),
            columns: (self.width, 0),
        }
    }

    /// Coverage of the area inside the rings (odd crossings).
    pub(crate) fn area(&self, rings: &[Ring]) -> Mask {
        let mut mask = self.empty();
        let edges: Vec<(P, P)> = rings
            .iter()
            .flat_map(|r| (0..r.len()).map(|i| (self.to_file(r[i]), self.to_file(r[(i + 1) % r.len()]))))
            .collect();
        let n = SUB_ROWS as f64;
        let mut cuts: Vec<Vec<f64>> = vec![Vec::new(); self.height * SUB_ROWS];
        for (a, b) in edges {
            let (a, b) = if a[1] < b[1] { (a, b) } else { (b, a) };
            let from = (a[1] * n - 0.5).ceil().max(0.0) as usize;
            for (row, cut) in cuts.iter_mut().enumerate().skip(from) {
                let y = (row as f64 + 0.5) / n;
                if y >= b[1] {
                    break;
                }
                cut.push(a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0]));
            }
        }
        for (sub, row) in cuts.iter_mut().enumerate() {
            row.sort_by(f64::total_cmp);
            for pair in row.chunks_exact(2) {
                mask.span(sub / SUB_ROWS, pair[0], pair[1], 1.0 / SUB_ROWS as f32);
            }
        }
        mask
    }

    /// Coverage of strokes: round nibs, width and strength run evenly from point to point.
    pub(crate) fn strokes(&self, strokes: &[Vec<Nib>]) -> Mask {
        let mut mask = self.empty();
        for stroke in strokes {
            for w in stroke.windows(2) {
                let ((a, ra, ta), (b, rb, tb)) = (w[0], w[1]);
                mask.segment((self.to_file(a), ra, ta), (self.to_file(b), rb, tb));
            }
        }
        mask
    }

    /// Lays a colour over the picture.
    pub(crate) fn lay(&mut self, mask: &Mask, colour: [u8; 3], strength: f64) {
        let colour = colour.map(f32::from);
        let (from, to) = mask.columns;
        let touched = (mask.rows.0..mask.rows.1).flat_map(|y| (from..to).map(move |x| y * mask.width + x));
        for i in touched {
            let m = mask.values[i].min(1.0) * strength as f32;
            if m <= 0.0 {
                continue;
            }
            match &mut self.alpha {
                None => self.rgb[i] = [0, 1, 2].map(|k| self.rgb[i][k] * (1.0 - m) + colour[k] * m),
                Some(alpha) => {
                    let out = m + alpha[i] * (1.0 - m);
                    self.rgb[i] =
                        [0, 1, 2].map(|k| (colour[k] * m + self.rgb[i][k] * alpha[i] * (1.0 - m)) / out);
                    alpha[i] = out;
                }
            }
        }
    }
}

impl Mask {
    fn touch(&mut self, x0: usize, x1: usize, y0: usize, y1: usize) {
        self.rows = (self.rows.0.min(y0), self.rows.1.max(y1));
        self.columns = (self.columns.0.min(x0), self.columns.1.max(x1));
    }

    /// Adds the part of a row between two ends.
    fn span(&mut self, y: usize, x0: f64, x1: f64, weight: f32) {
        let (x0, x1) = (x0.max(0.0), x1.min(self.width as f64));
        if x1 <= x0 {
            return;
        }
        let (from, to) = (x0.floor() as usize, x1.ceil() as usize);
        self.touch(from, to, y, y + 1);
        for x in from..to {
            let share = (x1.min(x as f64 + 1.0) - x0.max(x as f64)) as f32;
            self.values[y * self.width + x] += weight * share;
        }
    }

    fn segment(&mut self, (a, ra, ta): Nib, (b, rb, tb): Nib) {
        let reach = ra.max(rb) + 1.0;
        let height = self.values.len() / self.width;
        let cut = |v: f64, most: usize| (v.max(0.0) as usize).min(most);
        let (x0, x1) = (
            cut(a[0].min(b[0]) - reach, self.width),
            cut(a[0].max(b[0]) + reach + 1.0, self.width),
        );
        let (y0, y1) = (
            cut(a[1].min(b[1]) - reach, height),
            cut(a[1].max(b[1]) + reach + 1.0, height),
        );
        if x0 >= x1 || y0 >= y1 {
            return;
        }
        self.touch(x0, x1, y0, y1);
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let len2 = (dx * dx + dy * dy).max(1e-12);
        for y in y0..y1 {
            for x in x0..x1 {
                let (px, py) = (x as f64 + 0.5 - a[0], y as f64 + 0.5 - a[1]);
                let t = ((px * dx + py * dy) / len2).clamp(0.0, 1.0);
                let d = (px - t * dx).hypot(py - t * dy);
                let (r, tone) = (ra + (rb - ra) * t, ta + (tb - ta) * t);
                // A line thinner than a pixel is paler, not wider.
                let cover = ((r - d + 0.5).clamp(0.0, 1.0).min(2.0 * r) * tone) as f32;
                let v = &mut self.values[y * self.width + x];
                *v = v.max(cover);
            }
        }
    }

    /// What both cover.
    pub(crate) fn and(mut self, other: &Self) -> Self {
        for (v, o) in self.values.iter_mut().zip(&other.values) {
            *v = v.min(*o);
        }
        self
    }

    /// What the other one does not cover.
    pub(crate) fn without(mut self, other: &Self) -> Self {
        for (v, o) in self.values.iter_mut().zip(&other.values) {
            *v = (*v - *o).max(0.0);
        }
        self
    }
}
