//! A glyph: its outline in ems at each weight, and how much of each pixel it covers.
//!
//! The shipped font is light. A glyph is made heavier by moving its outline outwards, along the middle of the normals of
//! both edges at a corner. Coverage is exact area: each edge adds its share to the pixels of its rows, and the sums along a
//! row are how far it is covered.

use skrifa::outline::OutlinePen;

use super::canvas::Weight;
use crate::report::look::{BOOK_WEIGHT, STRONG_WEIGHT};

/// Curves are cut into chords this close to them, in ems: a fiftieth of a pixel at the usual sizes.
const FLAT: f32 = 0.001;
/// A corner moves at most so many times as far as its edges, or sharp ones would grow spikes.
const MITRE: f32 = 2.0;
/// Width of the box for a missing character, and its height and gap, in ems.
pub(super) const BOX: [f32; 3] = [0.5, 0.66, 0.08];

/// A place in ems, y down.
type At = [f32; 2];

/// A glyph of the font.
#[derive(Debug)]
pub(super) struct Glyph {
    /// To the next glyph, in ems.
    pub(super) advance: f32,
    outlines: [Outline; 2],
}

/// Closed chains of places, and the box around them.
#[derive(Debug, Default)]
struct Outline {
    edges: Vec<[At; 2]>,
    low: At,
    high: At,
}

/// Collects chains in ems; a font's y points up and its units are so many to the em.
pub(super) struct Chains {
    units: f32,
    chains: Vec<Vec<At>>,
}

/// Shares of pixels that a glyph covers, 0 to 1, row by row.
#[derive(Debug, Default)]
pub(super) struct Cover {
    /// Column and row of the first pixel.
    pub(super) left: i64,
    pub(super) top: i64,
    pub(super) width: usize,
    pub(super) shares: Vec<f32>,
}

impl Chains {
    pub(super) fn new(units: f32) -> Self {
        Self {
            units,
            chains: Vec::new(),
        }
    }

    fn last(&self) -> At {
        self.chains
            .last()
            .and_then(|c| c.last())
            .copied()
            .unwrap_or_default()
    }

    fn push(&mut self, at: At) {
        if let Some(chain) = self.chains.last_mut()
            && chain.last() != Some(&at)
        {
            chain.push(at);
        }
    }

    fn at(&self, x: f32, y: f32) -> At {
        [x / self.units, -y / self.units]
    }

    /// Chords of a curve whose second differences are at most `bend`.
    fn curve(&mut self, bend: f32, of: impl Fn(f32) -> At) {
        let n = (bend / (8.0 * FLAT)).sqrt().ceil().clamp(1.0, 64.0);
        for k in 1..=n as usize {
            self.push(of(k as f32 / n));
        }
    }

    /// The box of a missing character: two rings of opposite direction leave the frame only.
    pub(super) fn missing() -> Self {
        let [w, h, gap] = BOX;
        let mut out = Self::new(1.0);
        for (inset, back) in [(0.0, false), (gap, true)] {
            let (x0, x1, y0, y1) = (gap + inset, w - gap - inset, inset, h - inset);
            let mut corners = vec![[x0, -y0], [x1, -y0], [x1, -y1], [x0, -y1]];
            if back {
                corners.reverse();
            }
            out.chains.push(corners);
        }
        out
    }

    pub(super) fn into_glyph(mut self, advance: f32) -> Glyph {
        for chain in &mut self.chains {
            while chain.len() > 1 && chain.first() == chain.last() {
                chain.pop();
            }
        }
        self.chains.retain(|c| c.len() > 2);
        let area: f32 = self
            .chains
            .iter()
            .flat_map(|c| sides(c))
            .map(|[a, b]| cross(a, b))
            .sum();
        let heavier = |share: f32| Outline::new(&self.chains, share / 2.0 * area.signum());
        Glyph {
            advance,
            outlines: [heavier(BOOK_WEIGHT), heavier(STRONG_WEIGHT)],
        }
    }
}

impl OutlinePen for Chains {
    fn move_to(&mut self, x: f32, y: f32) {
        self.chains.push(vec![self.at(x, y)]);
    }
    fn line_to(&mut self, x: f32, y: f32) {
        self.push(self.at(x, y));
    }
    fn quad_to(&mut self, cx: f32, cy: f32, x: f32, y: f32) {
        let (p, q, r) = (self.last(), self.at(cx, cy), self.at(x, y));
        let second = |k: usize| 2.0 * (p[k] - 2.0 * q[k] + r[k]);
        self.curve(second(0).hypot(second(1)), |t| {
            let u = 1.0 - t;
            [0, 1].map(|k| u * u * p[k] + 2.0 * u * t * q[k] + t * t * r[k])
        });
    }
    fn curve_to(&mut self, ax: f32, ay: f32, bx: f32, by: f32, x: f32, y: f32) {
        let (p, q, r, s) = (self.last(), self.at(ax, ay), self.at(bx, by), self.at(x, y));
        let second = |a: At, b: At, c: At| 6.0 * (a[0] - 2.0 * b[0] + c[0]).hypot(a[1] - 2.0 * b[1] + c[1]);
        self.curve(second(p, q, r).max(second(q, r, s)), |t| {
            let u = 1.0 - t;
            [0, 1].map(|k| {
                u * u * u * p[k] + 3.0 * u * u * t * q[k] + 3.0 * u * t * t * r[k] + t * t * t * s[k]
            })
        });
    }
    fn close(&mut self) {}
}

/// The sides of a closed chain.
fn sides(chain: &[At]) -> impl Iterator<Item = [At; 2]> + '_ {
    chain
        .iter()
        .zip(chain.iter().cycle().skip(1))
        .map(|(a, b)| [*a, *b])
}

fn cross(a: At, b: At) -> f32 {
    a[0] * b[1] - a[1] * b[0]
}

impl Outline {
    /// Chains moved to their right by `by`, y down: outwards where the sum of their areas is positive.
    fn new(chains: &[Vec<At>], by: f32) -> Self {
        let mut out = Self {
            edges: Vec::new(),
            low: [f32::INFINITY; 2],
            high: [f32::NEG_INFINITY; 2],
        };
        for chain in chains {
            let normals: Vec<At> = sides(chain)
                .map(|[a, b]| {
                    let d = [b[0] - a[0], b[1] - a[1]];
                    let long = d[0].hypot(d[1]).max(f32::MIN_POSITIVE);
                    [d[1] / long, -d[0] / long]
                })
                .collect();
            let before = normals.iter().cycle().skip(normals.len() - 1);
            let moved: Vec<At> = chain
                .iter()
                .zip(normals.iter().zip(before))
                .map(|(at, (n, m))| {
                    let sum = [n[0] + m[0], n[1] + m[1]];
                    // The middle of both normals, long enough to lie on both moved edges.
                    let squared = (sum[0] * sum[0] + sum[1] * sum[1]).max((2.0 / MITRE).powi(2));
                    [0, 1].map(|k| at[k] + by * 2.0 * sum[k] / squared)
                })
                .collect();
            for at in &moved {
                out.low = [0, 1].map(|k| out.low[k].min(at[k]));
                out.high = [0, 1].map(|k| out.high[k].max(at[k]));
            }
            out.edges.extend(sides(&moved));
        }
        out
    }
}

impl Glyph {
    /// What the glyph covers at a size in pixels with its baseline's left end at a place in pixels; `false` if nothing.
    pub(super) fn cover(&self, weight: Weight, size: f32, at: At, cover: &mut Cover) -> bool {
        let outline = &self.outlines[usize::from(weight == Weight::Strong)];
        if outline.edges.is_empty() {
            return false;
        }
        let first = [0, 1].map(|k| (outline.low[k] * size + at[k]).floor());
        let last = [0, 1].map(|k| (outline.high[k] * size + at[k]).ceil());
        // One more column takes what lies right of the last one.
        let [width, height] = [0, 1].map(|k| (last[k] - first[k]) as usize + 1);
        (cover.left, cover.top, cover.width) = (first[0] as i64, first[1] as i64, width);
        cover.shares.clear();
        cover.shares.resize(width * height, 0.0);
        let place = |p: At| [0, 1].map(|k| p[k] * size + at[k] - first[k]);
        for [a, b] in &outline.edges {
            edge(&mut cover.shares, width, place(*a), place(*b));
        }
        for row in cover.shares.chunks_exact_mut(width) {
            let mut sum = 0.0;
            for share in row {
                sum += *share;
                *share = sum.abs().min(1.0);
            }
        }
        true
    }
}

/// The lesser of two numbers, one instruction where neither has to be asked whether it is one.
#[inline]
fn lesser(a: f32, b: f32) -> f32 {
    if a < b { a } else { b }
}

/// The greater of two numbers.
#[inline]
fn greater(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

/// The whole part of a place within a glyph's box. Signed on its way, as the processor converts it.
#[inline]
fn whole(v: f32) -> usize {
    v as i32 as usize
}

/// Adds what an edge takes from the area to its right, in differences along each row.
fn edge(sums: &mut [f32], width: usize, a: At, b: At) {
    let (sign, a, b) = if a[1] < b[1] { (1.0, a, b) } else { (-1.0, b, a) };
    if a[1] >= b[1] {
        return;
    }
    let slope = (b[0] - a[0]) / (b[1] - a[1]);
    let most = (width - 1) as f32;
    let mut x = a[0];
    let (above, end) = (whole(a[1]), whole(b[1]) + usize::from(b[1].fract() > 0.0));
    let rows = sums.chunks_exact_mut(width).enumerate();
    for (y, row) in rows.take(end).skip(above) {
        let part = greater(lesser(b[1], y as f32 + 1.0) - greater(a[1], y as f32), 0.0);
        let next = x + slope * part;
        let within = |v: f32| greater(lesser(v, most), 0.0);
        let (x0, x1) = (within(lesser(x, next)), within(greater(x, next)));
        let (first, last) = (whole(x0), whole(x1));
        let all = sign * part;
        if first == last {
            // The part of its pixel that lies right of the edge, and the rest of the row.
            let left = f32::midpoint(x0, x1) - first as f32;
            row[first] += all * (1.0 - left);
            if let Some(next) = row.get_mut(first + 1) {
                *next += all * left;
            }
        } else {
            // Where the edge crosses several pixels: covered area right of it, pixel by pixel, in differences.
            let per_pixel = all / (x1 - x0);
            let mut before = 0.0;
            for (i, sum) in row.iter_mut().enumerate().take(last + 1).skip(first) {
                let (l, r) = ((i as f32).max(x0), (i as f32 + 1.0).min(x1));
                // Height gained within this pixel, as far as it lies right of the edge.
                let gained = per_pixel * (r - l);
                let reached = per_pixel * (l - x0);
                let covered = reached + gained * (i as f32 + 1.0 - f32::midpoint(l, r));
                *sum += covered - before;
                before = covered;
            }
            if let Some(next) = row.get_mut(last + 1) {
                *next += all - before;
            }
        }
        x = next;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(low: f32, high: f32) -> Vec<At> {
        vec![[low, low], [high, low], [high, high], [low, high]]
    }

    fn glyph(chains: Vec<Vec<At>>) -> Glyph {
        Chains { units: 1.0, chains }.into_glyph(1.0)
    }

    /// A square of 0.5 em grows by half of the weight on each side, and its hole shrinks by as much.
    #[test]
    fn coverage_is_the_area() {
        for direction in [false, true] {
            let mut chains = vec![square(0.2, 0.7), {
                let mut hole = square(0.3, 0.6);
                hole.reverse();
                hole
            }];
            if direction {
                chains.iter_mut().for_each(|c| c.reverse());
            }
            let glyph = glyph(chains);
            for (weight, by) in [(Weight::Book, BOOK_WEIGHT), (Weight::Strong, STRONG_WEIGHT)] {
                for (size, at) in [(10.0f32, [0.0, 0.0]), (13.7, [3.21, 7.5]), (90.0, [0.4, 0.9])] {
                    let mut cover = Cover::default();
                    assert!(glyph.cover(weight, size, at, &mut cover));
                    let area: f32 = cover.shares.iter().sum();
                    let whole = ((0.5 + by) * size).powi(2) - ((0.3 - by) * size).powi(2);
                    assert!((area - whole).abs() < 0.002 * whole + 0.01, "{area} {whole}");
                }
            }
        }
    }

    /// A circle of chords, slanting edges in every direction: the area, and no pixel beyond it.
    #[test]
    fn slanting_edges_cover_their_area() {
        let round: Vec<At> = (0..40)
            .map(|i| {
                let a = std::f32::consts::TAU * i as f32 / 40.0;
                [0.5 + 0.4 * a.cos(), 0.5 + 0.4 * a.sin()]
            })
            .collect();
        let glyph = glyph(vec![round]);
        for size in [3.0f32, 11.3, 60.0] {
            let mut cover = Cover::default();
            assert!(glyph.cover(Weight::Book, size, [0.3, 0.8], &mut cover));
            let radius = (0.4 + BOOK_WEIGHT / 2.0) * size;
            // A polygon of forty corners has 0.9959 of its circle's area.
            let whole = 0.9959 * std::f32::consts::PI * radius * radius;
            let area: f32 = cover.shares.iter().sum();
            assert!((area - whole).abs() < 0.003 * whole + 0.01, "{area} {whole}");
        }
    }
}
