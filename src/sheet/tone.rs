//! Paper and departure: what colour the paper has at a place, and how far every pixel departs from it.
//!
//! The paper is the most frequent tone of the picture, followed across the sheet block by block (medians of the
//! pixels near that tone, blocks without enough of them filled from their neighbours, bilinear in between). The
//! departure of a pixel is the largest difference of a channel from the paper there, or its opacity where the
//! paper is transparent. Dark paper with light lines needs no case of its own.
//!
//! Limits: the paper must be the most frequent tone; its tone may drift slowly, not in steps.

use rayon::prelude::*;

use super::picture::{Channels, Picture};

/// Blocks across the longer side of the sheet: stains and shading are wider than a fortieth of it.
const BLOCKS: usize = 40;
/// Pixels within this many grey levels of the sheet's paper tone may be paper. Found by trial on shaded scans.
const PAPER_REACH: i32 = 34;
/// The paper's tone changes by no more than this from one block to the next (grey levels). Shading over a whole
/// sheet spreads tens of levels over forty blocks.
const DRIFT: f32 = 7.0;
/// Samples across a block: a median of some hundreds is true to a level.
const SAMPLES_ACROSS: usize = 20;
/// Pixels of the picture that its paper tone is looked for in.
const TONE_SAMPLES: f64 = 120_000.0;
/// Share of a block's pixels that must be near the paper tone for its own median to count.
const BLOCK_SHARE: usize = 4;
/// Share of fully transparent pixels (one in …) from which the paper counts as transparent.
const TRANSPARENT_SHARE: usize = 20;
/// Smallest departure that counts as drawn: compression noise of a good scan stays below it.
const MIN_THRESHOLD: f64 = 16.0;
/// Largest departure that is demanded of a mark.
const MAX_THRESHOLD: f64 = 70.0;
/// Standard deviations of the paper's noise that a mark must stand out by.
const NOISE_FACTOR: f64 = 6.0;

/// The paper of a sheet.
#[derive(Debug, Clone)]
pub struct Paper {
    /// Side of a block in pixels.
    block: usize,
    columns: usize,
    rows: usize,
    /// Paper colour at block middles.
    colours: Vec<[f32; 3]>,
    /// The paper is transparent: opacity departs from it.
    pub transparent: bool,
    /// Every block has the same colour.
    uniform: bool,
}

/// Departure of every pixel from the paper, 0 to 255, row after row, and from where on it is a mark.
#[derive(Debug, Clone)]
pub struct Departure {
    /// Width in pixels.
    pub width: usize,
    /// Height in pixels.
    pub height: usize,
    /// Values, row after row.
    pub values: Vec<u8>,
    /// At least this much is drawn.
    pub threshold: u8,
}

impl Departure {
    /// One row.
    pub fn row(&self, y: usize) -> &[u8] {
        &self.values[y * self.width..(y + 1) * self.width]
    }
}

/// Colour of a pixel, given by its channels, laid over white.
#[inline]
fn over_white(pixel: &[u8]) -> [i32; 3] {
    let (colour, a) = match *pixel {
        [r, g, b] => return [i32::from(r), i32::from(g), i32::from(b)],
        [v] => return [i32::from(v); 3],
        [v, a] => ([v; 3], a),
        [r, g, b, a, ..] => ([r, g, b], a),
        [] => return [255; 3],
    };
    let a = i32::from(a);
    colour.map(|c| (i32::from(c) * a + 255 * (255 - a) + 127) / 255)
}

/// How often each value occurs among every so many of some.
fn counts(values: &[u8], step: usize) -> [u64; 256] {
    // Most of a sheet is of one value: counting it in four places does not wait for the count before.
    let mut four = [[0u32; 256]; 4];
    let stretches = values.chunks_exact(4 * step);
    for (i, v) in stretches.remainder().iter().step_by(step).enumerate() {
        four[i][usize::from(*v)] += 1;
    }
    for stretch in stretches {
        for (k, counts) in four.iter_mut().enumerate() {
            counts[usize::from(stretch[k * step])] += 1;
        }
    }
    std::array::from_fn(|v| four.iter().map(|c| u64::from(c[v])).sum())
}

fn grey(c: [i32; 3]) -> i32 {
    (c[0] * 77 + c[1] * 150 + c[2] * 29) >> 8
}

/// The value in the middle of `count` counted ones; of an even number the higher of the two.
fn median(counts: &[u32], count: u32) -> f32 {
    let mut below = 0;
    let middle = counts.iter().position(|n| {
        below += n;
        below > count / 2
    });
    middle.unwrap_or(255) as f32
}

impl Paper {
    /// Finds the paper of a picture.
    pub fn find(picture: &Picture) -> Self {
        let (w, h) = (picture.width(), picture.height());
        let step = (((w * h) as f64 / TONE_SAMPLES).sqrt() as usize).max(1);
        let mut histogram = [0u32; 256];
        let (mut clear, mut seen) = (0usize, 0usize);
        let channels = picture.channels().count();
        let has_alpha = matches!(picture.channels(), Channels::GreyAlpha | Channels::Rgba);
        for y in (0..h).step_by(step) {
            if picture.channels() == Channels::Grey {
                seen += w.div_ceil(step);
                for (sum, n) in histogram.iter_mut().zip(counts(picture.row(y), step)) {
                    *sum += n as u32;
                }
                continue;
            }
            for pixel in picture.row(y).chunks_exact(channels).step_by(step) {
                seen += 1;
                clear += usize::from(has_alpha && pixel[channels - 1] == 0);
                histogram[grey(over_white(pixel)) as usize] += 1;
            }
        }
        let transparent = has_alpha && clear * TRANSPARENT_SHARE > seen;
        if transparent {
            let colours = vec![[255.0; 3]];
            return Self {
                block: w.max(h),
                columns: 1,
                rows: 1,
                colours,
                transparent,
                uniform: true,
            };
        }
        // The mode of a lightly smoothed histogram: grain spreads the paper over several levels.
        let smooth = |i: usize| {
            histogram[i.saturating_sub(3)..=(i + 3).min(255)]
                .iter()
                .sum::<u32>()
        };
        let tone = (0..256).max_by_key(|&i| (smooth(i), i)).unwrap_or(255) as i32;
        Self::follow(picture, tone, step)
    }

    fn follow(picture: &Picture, tone: i32, step: usize) -> Self {
        let (w, h) = (picture.width(), picture.height());
        let block = (w.max(h) / BLOCKS).max(16);
        let (columns, rows) = (w.div_ceil(block), h.div_ceil(block));
        let channels = picture.channels().count();
        let step = step.min(block / 8).max(block / SAMPLES_ACROSS).max(1);
        let found: Vec<Option<[f32; 3]>> = (0..columns * rows)
            .into_par_iter()
            .map(|i| {
                let (bx, by) = (i % columns * block, i / columns * block);
                let (across, down) = (bx..(bx + block).min(w), by..(by + block).min(h));
                if picture.channels() == Channels::Grey {
                    let seen = across.len().div_ceil(step) * down.len().div_ceil(step);
                    let mut counts = [0u32; 256];
                    for y in down.step_by(step) {
                        for v in picture.row(y)[across.clone()].iter().step_by(step) {
                            counts[usize::from(*v)] += 1;
                        }
                    }
                    let low = (tone - PAPER_REACH).max(0) as usize;
                    let near = &counts[low..=(tone + PAPER_REACH).min(255) as usize];
                    let count = near.iter().sum::<u32>();
                    return (count as usize * BLOCK_SHARE >= seen && count > 0)
                        .then(|| [low as f32 + median(near, count); 3]);
                }
                let mut seen = 0;
                let near = {
                    let mut counts = [[0u32; 256]; 3];
                    for y in down.step_by(step) {
                        let row = &picture.row(y)[across.start * channels..across.end * channels];
                        for pixel in row.chunks_exact(channels).step_by(step) {
                            seen += 1;
                            let c = over_white(pixel);
                            if (grey(c) - tone).abs() <= PAPER_REACH {
                                for k in 0..3 {
                                    counts[k][c[k] as usize] += 1;
                                }
                            }
                        }
                    }
                    counts
                };
                let count = near[0].iter().sum::<u32>();
                (count as usize * BLOCK_SHARE >= seen as usize && count > 0)
                    .then(|| near.map(|counts| median(&counts, count)))
            })
            .collect();
        let mut paper = Self {
            block,
            columns,
            rows,
            colours: Vec::new(),
            transparent: false,
            uniform: false,
        };
        paper.colours = paper.fill(&found, tone as f32);
        let (lo, hi) = paper
            .colours
            .iter()
            .flatten()
            .fold((f32::MAX, f32::MIN), |(a, b), &c| (a.min(c), b.max(c)));
        let first = paper.colours[0];
        paper.uniform = hi - lo < 0.5 || paper.colours.iter().all(|c| *c == first);
        paper
    }

    /// Follows the paper from the blocks of its most frequent colour to neighbours of nearly the same colour, and
    /// gives the rest (pale fills that pass for paper, dark areas) the mean of their neighbours, ring by ring.
    fn fill(&self, found: &[Option<[f32; 3]>], tone: f32) -> Vec<[f32; 3]> {
        let (nc, nr) = (self.columns, self.rows);
        let off = |a: [f32; 3], b: [f32; 3]| (0..3).map(|k| (a[k] - b[k]).abs()).fold(0.0, f32::max);
        // The most frequent colour: the block with the most others like it.
        // Blocks of one colour are counted together: a clean sheet has but one.
        let mut kinds: Vec<([f32; 3], usize)> = Vec::new();
        for c in found.iter().flatten() {
            match kinds.iter_mut().find(|k| k.0 == *c) {
                Some(kind) => kind.1 += 1,
                None => kinds.push((*c, 1)),
            }
        }
        let like = |c: [f32; 3]| -> usize {
            let alike = kinds.iter().filter(|k| off(c, k.0) <= DRIFT);
            alike.map(|k| k.1).sum()
        };
        let likes: Vec<usize> = kinds.iter().map(|k| like(k.0)).collect();
        let most = likes.iter().max();
        // The last of the blocks that are level with each other.
        let first = |c: &[f32; 3]| kinds.iter().position(|k| k.0 == *c).map(|i| &likes[i]);
        let Some(typical) = found.iter().rev().flatten().copied().find(|c| first(c) == most) else {
            return vec![[tone; 3]; nc * nr];
        };
        if kinds.len() == 1 {
            return vec![typical; nc * nr];
        }
        let mut paper: Vec<Option<[f32; 3]>> = found
            .iter()
            .map(|c| c.filter(|c| off(*c, typical) <= DRIFT))
            .collect();
        let around = |f: &[Option<[f32; 3]>], i: usize| {
            let (cx, cy) = (i % nc, i / nc);
            let mut seen = Vec::with_capacity(9);
            for y in cy.saturating_sub(1)..(cy + 2).min(nr) {
                for x in cx.saturating_sub(1)..(cx + 2).min(nc) {
                    seen.extend(f[y * nc + x]);
                }
            }
            seen
        };
        for own_colour in [true, false] {
            loop {
                let before = paper.clone();
                for (i, cell) in paper.iter_mut().enumerate().filter(|(_, c)| c.is_none()) {
                    let near = around(&before, i);
                    *cell = if own_colour {
                        found[i].filter(|c| near.iter().any(|n| off(*n, *c) <= DRIFT))
                    } else if near.is_empty() {
                        None
                    } else {
                        let n = near.len() as f32;
                        Some([0, 1, 2].map(|k| near.iter().map(|c| c[k]).sum::<f32>() / n))
                    };
                }
                if paper == before {
                    break;
                }
            }
        }
        paper.into_iter().map(|c| c.unwrap_or(typical)).collect()
    }

    /// Paper colour at a pixel, over white.
    pub fn at(&self, x: f64, y: f64) -> [f32; 3] {
        if self.uniform {
            return self.colours[0];
        }
        let b = self.block as f64;
        let (fx, fy) = (
            (x / b - 0.5).clamp(0.0, (self.columns - 1) as f64),
            (y / b - 0.5).clamp(0.0, (self.rows - 1) as f64),
        );
        let (x0, y0) = (fx as usize, fy as usize);
        let (x1, y1) = ((x0 + 1).min(self.columns - 1), (y0 + 1).min(self.rows - 1));
        let (tx, ty) = ((fx - x0 as f64) as f32, (fy - y0 as f64) as f32);
        let c = |x: usize, y: usize| self.colours[y * self.columns + x];
        let (a, b, d, e) = (c(x0, y0), c(x1, y0), c(x0, y1), c(x1, y1));
        [0, 1, 2].map(|k| (a[k] * (1.0 - tx) + b[k] * tx) * (1.0 - ty) + (d[k] * (1.0 - tx) + e[k] * tx) * ty)
    }

    /// Difference of a place between pixel middles from the paper: three channels over white and, where the
    /// paper is transparent, the opacity. `x` and `y` are in pixels, bilinear, clamped to the picture.
    /// The paper was found in the picture reduced by `factor`.
    pub fn difference(&self, picture: &Picture, factor: usize, x: f64, y: f64) -> [f32; 4] {
        if picture.channels() == Channels::Grey && !self.transparent {
            let v = self.grey_difference(picture, factor, x, y);
            return [v, v, v, 0.0];
        }
        let (w, h) = (picture.width(), picture.height());
        let (fx, fy) = (
            (x - 0.5).clamp(0.0, (w - 1) as f64),
            (y - 0.5).clamp(0.0, (h - 1) as f64),
        );
        let (x0, y0) = (fx as usize, fy as usize);
        let (x1, y1) = ((x0 + 1).min(w - 1), (y0 + 1).min(h - 1));
        let (tx, ty) = ((fx - x0 as f64) as f32, (fy - y0 as f64) as f32);
        let paper = self.at(x / factor as f64, y / factor as f64);
        let mut out = [0.0f32; 4];
        for (px, py, weight) in [
            (x0, y0, (1.0 - tx) * (1.0 - ty)),
            (x1, y0, tx * (1.0 - ty)),
            (x0, y1, (1.0 - tx) * ty),
            (x1, y1, tx * ty),
        ] {
            let channels = picture.channels().count();
            let c = over_white(&picture.row(py)[px * channels..][..channels]);
            for k in 0..3 {
                out[k] += weight * (c[k] as f32 - paper[k]);
            }
            if self.transparent {
                out[3] += weight * f32::from(picture.rgba(px, py)[3]);
            }
        }
        out
    }

    /// The same in a picture of grey without opacity, whose channels all differ alike.
    fn grey_difference(&self, picture: &Picture, factor: usize, x: f64, y: f64) -> f32 {
        let (w, h) = (picture.width() as u32, picture.height() as u32);
        let (fx, fy) = (
            (x - 0.5).clamp(0.0, f64::from(w - 1)),
            (y - 0.5).clamp(0.0, f64::from(h - 1)),
        );
        // Signed numbers of 32 bits are what a processor converts at once.
        let (x0, y0) = (fx as i32, fy as i32);
        let (tx, ty) = ((fx - f64::from(x0)) as f32, (fy - f64::from(y0)) as f32);
        let paper = if self.uniform {
            self.colours[0][0]
        } else {
            self.at(x / factor as f64, y / factor as f64)[0]
        };
        let [a, b, c, d] = picture
            .grey_square(x0 as usize, y0 as usize)
            .map(|v| f32::from(v) - paper);
        (1.0 - tx) * (1.0 - ty) * a + tx * (1.0 - ty) * b + (1.0 - tx) * ty * c + tx * ty * d
    }

    /// How far every pixel departs from the paper, and the threshold that the paper's own noise asks for.
    pub fn departure(&self, picture: &Picture) -> Departure {
        let (width, height) = (picture.width(), picture.height());
        let mut values = vec![0u8; width * height];
        values
            .par_chunks_mut(width)
            .enumerate()
            .for_each(|(y, out)| self.departure_row(picture, y, out));
        let threshold = self.threshold(&values);
        Departure {
            width,
            height,
            values,
            threshold,
        }
    }

    /// The same as [`Paper::departure`], but by the channel that departs least: a coloured stain or guide departs far in
    /// one channel and little in another, grey and black ink in all of them. The threshold is the given one.
    pub fn least_departure(&self, picture: &Picture, threshold: u8) -> Departure {
        let (width, height) = (picture.width(), picture.height());
        let mut values = vec![0u8; width * height];
        values.par_chunks_mut(width).enumerate().for_each(|(y, out)| {
            let mut p = [0i32; 3];
            let row = picture.row(y).chunks_exact(picture.channels().count());
            for (x, (o, pixel)) in out.iter_mut().zip(row).enumerate() {
                if x % 8 == 0 {
                    p = self.at(x as f64 + 4.0, y as f64 + 0.5).map(|c| c.round() as i32);
                }
                let c = over_white(pixel);
                let least = (0..3).map(|k| (c[k] - p[k]).abs()).min().unwrap_or(0);
                *o = least.min(255) as u8;
            }
        });
        Departure {
            width,
            height,
            values,
            threshold,
        }
    }

    fn departure_row(&self, picture: &Picture, y: usize, out: &mut [u8]) {
        let row = picture.row(y);
        let n = picture.channels().count();
        if self.uniform && !self.transparent && matches!(picture.channels(), Channels::Grey | Channels::Rgb) {
            let p = self.colours[0].map(|c| c.round() as u8);
            if n == 1 {
                for (o, v) in out.iter_mut().zip(row) {
                    *o = v.abs_diff(p[0]);
                }
            } else {
                for (o, v) in out.iter_mut().zip(row.chunks_exact(3)) {
                    *o = v[0]
                        .abs_diff(p[0])
                        .max(v[1].abs_diff(p[1]))
                        .max(v[2].abs_diff(p[2]));
                }
            }
            return;
        }
        // The paper changes slowly: one look-up for eight pixels.
        let mut p = [0i32; 3];
        for (x, (o, pixel)) in out.iter_mut().zip(row.chunks_exact(n)).enumerate() {
            if x % 8 == 0 {
                p = self.at(x as f64 + 4.0, y as f64 + 0.5).map(|c| c.round() as i32);
            }
            let d = if n == 1 {
                (i32::from(pixel[0]) - p[0]).abs()
            } else {
                let c = over_white(pixel);
                let colour = (0..3).map(|k| (c[k] - p[k]).abs()).max().unwrap_or(0);
                if self.transparent {
                    // Only pictures with opacity are transparent; it is the last channel.
                    colour.max(i32::from(pixel[n - 1]))
                } else {
                    colour
                }
            };
            *o = d.min(255) as u8;
        }
    }

    /// Six standard deviations of the paper's noise, within sane bounds. The noise is read off the lower half
    /// of all departures, which is paper; for the absolute value of a normal variable the median is 0.6745 σ.
    fn threshold(&self, values: &[u8]) -> u8 {
        let step = (values.len() / 1_000_000).max(1) | 1;
        let histogram = counts(values, step);
        let seen = values.len().div_ceil(step) as u64;
        let (mut sum, mut median) = (0u64, 0usize);
        for (i, n) in histogram.iter().enumerate() {
            sum += *n;
            if sum * 2 >= seen {
                median = i;
                break;
            }
        }
        (NOISE_FACTOR * median as f64 / 0.6745).clamp(MIN_THRESHOLD, MAX_THRESHOLD) as u8
    }
}
