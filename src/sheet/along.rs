//! Reads how a picture differs from its paper along a short straight way, between the pixels' middles.
//!
//! Nearly all ways lie inside the picture, in pixels without opacity: those are read in even steps of fixed-point numbers,
//! without asking at each place whether it lies inside. Under such a way the paper changes evenly from end to end.

use super::picture::{Channels, Picture};
use super::tone::Paper;

/// Bits behind the point of a fixed-point place.
const BITS: u32 = 32;

/// Places along a straight line at equal distances, in pixels of a picture.
#[derive(Debug, Clone, Copy)]
pub(super) struct Way {
    pub(super) from: [f64; 2],
    pub(super) step: [f64; 2],
    /// Number of places.
    pub(super) count: usize,
}

impl Way {
    fn place(&self, i: usize) -> [f64; 2] {
        [0, 1].map(|k| self.from[k] + self.step[k] * i as f64)
    }

    fn last(&self) -> [f64; 2] {
        self.place(self.count.saturating_sub(1))
    }

    /// Whether every place has pixels on all four sides, with a little to spare.
    fn is_inside(&self, picture: &Picture) -> bool {
        let most = [picture.width(), picture.height()].map(|n| n as f64 - 1.0);
        let holds = |p: [f64; 2]| (0..2).all(|k| p[k] >= 1.0 && p[k] <= most[k]);
        holds(self.from) && holds(self.last())
    }

    /// For each place the pixel to its upper left, counted row by row, and the shares of its right and lower neighbours.
    /// Only for a way that is inside.
    #[inline]
    fn squares(&self, width: usize) -> impl Iterator<Item = (usize, f32, f32)> {
        let fixed = |v: f64| (v * (1u64 << BITS) as f64) as i64;
        let [mut x, mut y] = self.from.map(|c| fixed(c - 0.5));
        let [dx, dy] = self.step.map(fixed);
        // A float holds 24 bits; signed numbers of 32 bits become one at once.
        let share = |v: i64| ((v as u32) >> 8) as i32 as f32 * (1.0 / (1 << 24) as f32);
        (0..self.count).map(move |_| {
            let at = (y >> BITS) as usize * width + (x >> BITS) as usize;
            let shares = (share(x), share(y));
            x += dx;
            y += dy;
            (at, shares.0, shares.1)
        })
    }
}

/// The value at a place between four: two above, two below.
#[inline]
fn between([a, b, c, d]: [u8; 4], right: f32, down: f32) -> f32 {
    let [a, b, c, d] = [a, b, c, d].map(f32::from);
    let (above, below) = (a + right * (b - a), c + right * (d - c));
    above + down * (below - above)
}

/// How a place of a picture differs from its paper.
pub(super) trait Difference: Copy + Send {
    /// Reads it at each place of a way into `out`. The paper was found in the picture reduced by `factor`.
    fn read(paper: &Paper, picture: &Picture, factor: usize, way: &Way, out: &mut Vec<Self>);
    /// Its channels; those that are not read differ by nothing.
    fn channels(self) -> [f32; 4];
    /// The same in one number.
    fn size(self) -> f32;
    /// The size of what two differ by.
    fn apart(self, other: Self) -> f32;
}

/// The paper's colour at the first place, and what it changes by from one to the next.
fn ramp(paper: &Paper, factor: usize, way: &Way) -> ([f32; 3], [f32; 3]) {
    let at = |p: [f64; 2]| paper.at(p[0] / factor as f64, p[1] / factor as f64);
    let (first, last) = (at(way.from), at(way.last()));
    let steps = way.count.saturating_sub(1).max(1) as f32;
    (first, [0, 1, 2].map(|k| (last[k] - first[k]) / steps))
}

/// Three channels over white and, where the paper is transparent, the opacity.
impl Difference for [f32; 4] {
    fn read(paper: &Paper, picture: &Picture, factor: usize, way: &Way, out: &mut Vec<Self>) {
        out.clear();
        if picture.channels() == Channels::Rgb && way.is_inside(picture) {
            let (first, change) = ramp(paper, factor, way);
            let (bytes, width) = (picture.bytes(), picture.width());
            out.extend(way.squares(width).enumerate().map(|(i, (at, right, down))| {
                let square = &bytes[3 * at..3 * (at + width) + 6];
                let below = &square[3 * width..3 * width + 6];
                let channel = |k: usize| {
                    let four = [square[k], square[k + 3], below[k], below[k + 3]];
                    between(four, right, down) - (first[k] + change[k] * i as f32)
                };
                [channel(0), channel(1), channel(2), 0.0]
            }));
            return;
        }
        out.extend((0..way.count).map(|i| {
            let [x, y] = way.place(i);
            paper.difference(picture, factor, x, y)
        }));
    }

    fn channels(self) -> [f32; 4] {
        self
    }

    fn size(self) -> f32 {
        self.iter().map(|c| c * c).sum::<f32>().sqrt()
    }

    fn apart(self, other: Self) -> f32 {
        [0, 1, 2, 3].map(|k| self[k] - other[k]).size()
    }
}

/// That of a grey picture, the same in three channels.
impl Difference for f32 {
    fn read(paper: &Paper, picture: &Picture, factor: usize, way: &Way, out: &mut Vec<Self>) {
        out.clear();
        if picture.channels() == Channels::Grey && way.is_inside(picture) {
            let (first, change) = ramp(paper, factor, way);
            let (bytes, width) = (picture.bytes(), picture.width());
            out.extend(way.squares(width).enumerate().map(|(i, (at, right, down))| {
                let square = &bytes[at..at + width + 2];
                let four = [square[0], square[1], square[width], square[width + 1]];
                between(four, right, down) - (first[0] + change[0] * i as f32)
            }));
            return;
        }
        out.extend((0..way.count).map(|i| {
            let [x, y] = way.place(i);
            paper.difference(picture, factor, x, y)[0]
        }));
    }

    fn channels(self) -> [f32; 4] {
        [self, self, self, 0.0]
    }

    #[inline]
    fn size(self) -> f32 {
        // Three channels alike.
        self.abs() * 3.0f32.sqrt()
    }

    #[inline]
    fn apart(self, other: Self) -> f32 {
        (self - other).size()
    }
}
