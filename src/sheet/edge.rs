//! From a pixel border to an outline of sub-pixel accuracy along the middle of the ink line.
//!
//! At each point of the (lightly smoothed) border the picture is read along the normal. Going inwards, the
//! departure from the paper climbs to the ink's own colour; the line's outer edge is where half of that climb is
//! reached, its inner edge where half of the way from the ink's colour to the colour behind it is (the half-height
//! rule is exact for a symmetric blur of a step). The middle of the two is the centre of the stroke, in the spirit
//! of Steger 1998 but with both edges kept, since the outer and inner edge can be asked for as well. A figure
//! without an ink line ends at its outer edge.
//!
//! Where the profile is disturbed (a label or another stroke abuts outside, a seam branches off inside, a closed
//! gap has no ink at all) the width of the line nearby takes the place of what was not seen.

use rayon::prelude::*;
use serde::Serialize;

use super::along::{Difference, Way};
use super::ink::Pen;
use super::picture::{Channels, Picture};
use super::tone::Paper;
use super::trace::CrackRing;
use crate::space::{Point, Upright};

/// Spacing of the readings along a normal, pixels.
const STEP: f64 = 0.5;
/// How far outside the border a profile begins, pixels: a soft edge is wider than the threshold shows.
const OUTSIDE: f64 = 3.5;
/// And this many more for each full pixel that a reduced one spans beyond the first.
const OUTSIDE_REDUCED: f64 = 1.5;
/// The climb has ended when it brings nothing for this many pixels.
const PLATEAU: f64 = 1.75;
/// Outside a clean edge the departure falls below this share of the ink's.
const CLEAN_OUTSIDE: f32 = 0.35;
/// The colour behind a line differs from the line's by at least this share of the ink's departure.
const BEHIND: f32 = 0.12;
/// And by at least this many grey levels.
const BEHIND_LEVELS: f32 = 10.0;
/// A line is at most this share of the figure's height wide.
const WIDEST_LINE: f64 = 0.022;
/// Widths between these multiples of the median belong to the line (brush lines swell and taper).
const WIDTH_RANGE: (f64, f64) = (0.4, 1.9);
/// A figure has an ink line if at least this share of its readings shows one of about the same width.
const LINE_SHARE: f64 = 0.5;
/// Standard deviation, in border steps, of the smoothing that takes the pixel stairs out of the border.
const SMOOTHING: f64 = 1.6;

/// Readings that one thread takes at a time, at least.
const READ_TOGETHER: usize = 64;

/// Which edge of an ink line is the outline.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Default)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum LineEdge {
    /// The middle of the line.
    #[default]
    Centre,
    /// The edge away from the figure.
    Outer,
    /// The edge towards the figure.
    Inner,
}

/// What the picture shows across the border at one place; positions in pixels inwards from the border.
#[derive(Debug, Clone, Copy)]
struct Reading {
    outer: f64,
    inner: Option<f64>,
    clean: bool,
    /// Largest difference of a channel from the paper on the line.
    peak: f32,
    /// Way from the outer edge to the end of the climb, pixels.
    climb: f64,
}

/// A point of the smoothed border with its inward unit normal.
#[derive(Debug, Clone, Copy)]
struct Place {
    at: [f64; 2],
    normal: [f64; 2],
}

/// The outline of one figure.
#[derive(Debug, Clone)]
pub struct Edge {
    /// The rings along the chosen edge of the line.
    pub rings: Vec<Vec<Point<Upright>>>,
    /// `[x0, y0, x1, y1]` of the line's outer edge.
    pub box_px: [f64; 4],
    /// Median width of the ink line, 0 without one.
    pub line_px: f64,
    /// Share of the outline that was seen undisturbed.
    pub clean: f64,
    /// What was seen at each point of the rings.
    pub seen: Vec<Vec<Seen>>,
    /// The same as it was read, for another look along some of the same rings.
    pub look: Look,
}

/// A full look along border rings.
#[derive(Debug, Clone)]
pub struct Look {
    rings: Vec<CrackRing>,
    /// Values that were read along each normal.
    count: usize,
    readings: Vec<Vec<Reading>>,
}

impl Look {
    /// What was read along a ring, if it was looked along with as many values.
    fn along(&self, ring: &CrackRing, count: usize) -> Option<Vec<Reading>> {
        let same = self.rings.iter().position(|r| r == ring);
        same.filter(|_| self.count == count)
            .map(|i| self.readings[i].clone())
    }
}

/// What was seen at one point of an outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen {
    /// Nothing abuts outside.
    pub clean: bool,
    /// Width of the line in pixels where an inner edge was found, however wide.
    pub width: Option<f64>,
    /// Largest difference of a channel from the paper on the line, of 255.
    pub peak: f32,
    /// Way from the outer edge, half of the climb, to its end, pixels.
    pub climb: f64,
}

/// Readings of a coarse look at all rings of a figure.
const COARSE: usize = 600;

/// The pen that a figure is outlined with, from a coarse look along its border rings; `None` for a figure without a
/// line. The picture is the one that the rings were found in.
pub fn pen(picture: &Picture, paper: &Paper, threshold: u8, rings: &[CrackRing], height: f64) -> Option<Pen> {
    let (places, cap) = (places(rings, 1, height), cap(height));
    let view = View {
        picture,
        paper,
        factor: 1,
        threshold,
    };
    let seen = readings(&view, &places, cap + 4.0, coarse(&places));
    let width = line_width(seen.iter().flatten(), cap)?;
    let mut peaks: Vec<f32> = seen
        .iter()
        .flatten()
        .filter(|r| r.clean)
        .map(|r| r.peak)
        .collect();
    peaks.sort_by(f32::total_cmp);
    let rank = |share: usize| peaks.get(peaks.len() * share / 10).map(|p| f64::from(*p));
    Some(Pen {
        strength: rank(5)?,
        palest: rank(1)?,
        width,
    })
}

/// Shorter rings are specks.
const LEAST_RING: usize = 12;

/// Places along border rings that were found in a picture reduced by `factor`, in full pixels.
fn places(rings: &[CrackRing], factor: usize, height: f64) -> Vec<Vec<Place>> {
    let stride = if height > 3000.0 * factor as f64 { 2 } else { 1 };
    let scale = factor as f64;
    rings
        .iter()
        .filter(|r| r.len() >= LEAST_RING)
        .map(|r| {
            let mut places = smooth(r, stride);
            for p in &mut places {
                p.at = p.at.map(|c| c * scale);
            }
            places
        })
        .collect()
}

/// Widest line of a figure of `height` pixels.
fn cap(height: f64) -> f64 {
    (WIDEST_LINE * height).max(6.0)
}

fn coarse(places: &[Vec<Place>]) -> usize {
    (places.iter().map(Vec::len).sum::<usize>() / COARSE).max(1)
}

/// A picture to be read along normals.
struct View<'a> {
    picture: &'a Picture,
    /// In pixels of the picture reduced by `factor`.
    paper: &'a Paper,
    factor: usize,
    threshold: u8,
}

impl View<'_> {
    /// How far outside the border a profile begins, full pixels: the border was found on the reduced picture.
    fn outside(&self) -> f64 {
        OUTSIDE + OUTSIDE_REDUCED * (self.factor - 1) as f64
    }

    /// How many values are read along a normal that reaches so far inwards.
    fn count(&self, reach: f64) -> usize {
        ((self.outside() + reach) / STEP) as usize + 1
    }

    /// Pixels without a further climb that end it: a soft edge is softer in a finer scan.
    fn plateau(&self) -> f64 {
        PLATEAU * (1.0 + (self.factor - 1) as f64 / 2.0)
    }
}

/// Differences from the paper along a normal, and how large they are.
type Profile<D> = (Vec<D>, Vec<f32>);

fn readings(view: &View<'_>, places: &[Vec<Place>], reach: f64, every: usize) -> Vec<Vec<Reading>> {
    if view.picture.channels() == Channels::Grey && !view.paper.transparent {
        readings_of::<f32>(view, places, reach, every)
    } else {
        readings_of::<[f32; 4]>(view, places, reach, every)
    }
}

fn readings_of<D: Difference>(
    view: &View<'_>,
    places: &[Vec<Place>],
    reach: f64,
    every: usize,
) -> Vec<Vec<Reading>> {
    // The values along a normal are needed only while it is read.
    let scratch = || (Vec::new(), Vec::new());
    let read = |(v, p): &mut Profile<D>, place: &Place| reading(view, place, reach, v, p);
    places
        .iter()
        .map(|ring| {
            let chosen = ring.par_iter().step_by(every);
            chosen
                .with_min_len(READ_TOGETHER)
                .map_init(scratch, read)
                .collect()
        })
        .collect()
}

/// Reads the outline of a figure of `height` pixels along its border rings, which were found in the picture reduced by
/// `factor`; the paper is that of the reduced picture. `before`: an earlier look along some of the rings in the same picture.
#[allow(
    clippy::too_many_arguments,
    reason = "what is read, how, and what is known of it"
)]
pub fn refine(
    picture: &Picture,
    paper: &Paper,
    threshold: u8,
    rings: &[CrackRing],
    factor: usize,
    height: f64,
    edge: LineEdge,
    before: Option<&Look>,
) -> Edge {
    let places = places(rings, factor, height);
    let cap = cap(height);
    let view = View {
        picture,
        paper,
        factor,
        threshold,
    };
    let read = |reach: f64, every: usize| readings(&view, &places, reach, every);
    // A coarse look for the line's width keeps the profiles of the full look short.
    let line = line_width(read(cap + 4.0, coarse(&places)).iter().flatten(), cap);
    let reach = line.map_or(6.0 * factor as f64, |w| {
        (w * WIDTH_RANGE.1 + 4.0 * factor as f64).min(cap + 4.0 * factor as f64)
    });
    let count = view.count(reach);
    let rings: Vec<CrackRing> = rings.iter().filter(|r| r.len() >= LEAST_RING).cloned().collect();
    let full: Vec<Vec<Reading>> = rings
        .iter()
        .zip(&places)
        .map(|(ring, places)| {
            let known = before.and_then(|b| b.along(ring, count));
            known.unwrap_or_else(|| readings(&view, std::slice::from_ref(places), reach, 1).concat())
        })
        .collect();
    let line = line.and_then(|_| line_width(full.iter().flatten(), cap));
    let total = full.iter().map(Vec::len).sum::<usize>().max(1);
    let clean = full.iter().flatten().filter(|r| r.clean).count() as f64 / total as f64;

    let mut box_px = [f64::MAX, f64::MAX, f64::MIN, f64::MIN];
    let mut out = Vec::with_capacity(places.len());
    for (ring, readings) in places.iter().zip(&full) {
        let (outer, width) = even_out(readings, line);
        let inward: Vec<f64> = outer
            .iter()
            .zip(&width)
            .map(|(o, w)| match edge {
                LineEdge::Outer => *o,
                LineEdge::Centre => o + w / 2.0,
                LineEdge::Inner => o + w,
            })
            .collect();
        for (p, o) in ring.iter().zip(&outer) {
            let q = [p.at[0] + p.normal[0] * o, p.at[1] + p.normal[1] * o];
            box_px = [
                box_px[0].min(q[0]),
                box_px[1].min(q[1]),
                box_px[2].max(q[0]),
                box_px[3].max(q[1]),
            ];
        }
        out.push(
            ring.iter()
                .zip(&inward)
                .map(|(p, d)| Point::new(p.at[0] + p.normal[0] * d, p.at[1] + p.normal[1] * d))
                .collect(),
        );
    }
    Edge {
        rings: out,
        box_px,
        line_px: line.unwrap_or(0.0),
        clean,
        seen: full
            .iter()
            .map(|ring| ring.iter().map(Reading::seen).collect())
            .collect(),
        look: Look {
            rings,
            count,
            readings: full,
        },
    }
}

impl Reading {
    fn seen(&self) -> Seen {
        Seen {
            clean: self.clean,
            width: self.inner.map(|i| i - self.outer),
            peak: self.peak,
            climb: self.climb,
        }
    }
}

/// Smooths the stairs of a border and finds its normals.
fn smooth(ring: &CrackRing, stride: usize) -> Vec<Place> {
    let half = (3.0 * SMOOTHING).ceil() as usize;
    let weights: Vec<f64> = (0..=half)
        .map(|k| (-0.5 * (k as f64 / SMOOTHING).powi(2)).exp())
        .collect();
    let total: f64 = weights[0] + 2.0 * weights[1..].iter().sum::<f64>();
    // Middles of the cracks rather than their corners: they lie closer to the border that was digitised.
    let corners = around(ring, half);
    let next = corners.iter().skip(1).chain(&ring[half..=half]);
    let middles: Vec<[f64; 2]> = corners
        .iter()
        .zip(next)
        .map(|(a, b)| [0, 1].map(|k| f64::from(a[k] + b[k]) / 2.0))
        .collect();
    let smoothed: Vec<[f64; 2]> = middles
        .windows(2 * half + 1)
        .map(|near| {
            let mut sum = near[half].map(|c| c * weights[0]);
            for (k, w) in weights.iter().enumerate().skip(1) {
                let (a, b) = (near[half + k], near[half - k]);
                sum = [sum[0] + w * (a[0] + b[0]), sum[1] + w * (a[1] + b[1])];
            }
            sum.map(|c| c / total)
        })
        .collect();
    around(&smoothed, 2)
        .windows(5)
        .step_by(stride)
        .map(|near| {
            let (a, b) = (near[0], near[4]);
            let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
            let len = dx.hypot(dy).max(1e-9);
            // The region lies to the left as seen; with y down that is (dy, -dx).
            Place {
                at: near[2],
                normal: [dy / len, -dx / len],
            }
        })
        .collect()
}

/// A closed ring with `more` of its end before it and of its beginning behind it: what lies around a place of it is then
/// one stretch. `more` is at most the ring's length.
fn around<T: Copy>(ring: &[T], more: usize) -> Vec<T> {
    [&ring[ring.len() - more..], ring, &ring[..more]].concat()
}

/// Index of the first plateau of `f` from `start` on.
fn climb(f: impl Fn(usize) -> f32, start: usize, end: usize, patience: usize) -> usize {
    let (mut top, mut high) = (start, f(start));
    for i in start + 1..end {
        let v = f(i);
        if v > high * 1.02 + 0.5 {
            (top, high) = (i, v);
        } else if i - top > patience {
            break;
        }
    }
    top
}

/// Position where `f` crosses `level` between `i` and `i + 1`.
fn crossing(f: impl Fn(usize) -> f32, i: usize, level: f32, far: f64) -> f64 {
    let (a, b) = (f(i), f(i + 1));
    let t = if (b - a).abs() > 1e-6 {
        f64::from((level - a) / (b - a))
    } else {
        0.5
    };
    -far + STEP * (i as f64 + t.clamp(0.0, 1.0))
}

fn reading<D: Difference>(
    view: &View<'_>,
    place: &Place,
    reach: f64,
    v: &mut Vec<D>,
    p: &mut Vec<f32>,
) -> Reading {
    let threshold = view.threshold;
    let far = view.outside();
    let plateau = (view.plateau() / STEP) as usize;
    let count = view.count(reach);
    let way = Way {
        from: [0, 1].map(|k| place.at[k] - far * place.normal[k]),
        step: place.normal.map(|n| STEP * n),
        count,
    };
    D::read(view.paper, view.picture, view.factor, &way, v);
    p.clear();
    p.extend(v.iter().map(|d| d.size()));
    let (v, p) = (&v[..], &p[..]);
    let start = ((far - view.factor as f64) / STEP) as usize;
    let top = climb(|i| p[i], start, count, plateau);
    let half = p[top] / 2.0;
    let mut i = top;
    while i > 0 && p[i - 1] >= half {
        i -= 1;
    }
    if i == 0 || p[top] < f32::from(threshold) {
        return Reading {
            outer: 0.0,
            inner: None,
            clean: false,
            peak: 0.0,
            climb: 0.0,
        };
    }
    let outer = crossing(|k| p[k], i - 1, half, far);
    let outside = p[..=((1.0 / STEP) as usize)]
        .iter()
        .copied()
        .fold(f32::MAX, f32::min);
    let clean = outside < CLEAN_OUTSIDE * p[top];

    let q = |k: usize| v[k].apart(v[top]);
    let least = (BEHIND * p[top]).max(BEHIND_LEVELS);
    let inner = (top..count).find(|&k| q(k) > least).map(|first| {
        let behind = climb(q, first, count, plateau);
        let half = q(behind) / 2.0;
        let mut k = behind;
        while k > top && q(k - 1) > half {
            k -= 1;
        }
        crossing(q, k.saturating_sub(1).max(top), half, far)
    });
    let peak = v[top].channels().iter().fold(0.0, |m: f32, c| m.max(c.abs()));
    Reading {
        outer,
        inner,
        clean,
        peak,
        climb: STEP * top as f64 - far - outer,
    }
}

/// Median width of the ink line, `None` if the readings show none.
fn line_width<'a>(readings: impl Iterator<Item = &'a Reading>, cap: f64) -> Option<f64> {
    let clean: Vec<&Reading> = readings.filter(|r| r.clean).collect();
    let mut widths: Vec<f64> = clean
        .iter()
        .filter_map(|r| r.inner.map(|i| i - r.outer))
        .filter(|w| *w <= cap && *w > 0.3)
        .collect();
    if widths.is_empty() {
        return None;
    }
    widths.sort_by(f64::total_cmp);
    let median = widths[widths.len() / 2];
    let alike = widths
        .iter()
        .filter(|w| **w >= WIDTH_RANGE.0 * median && **w <= WIDTH_RANGE.1 * median)
        .count();
    (alike as f64 >= LINE_SHARE * clean.len() as f64).then_some(median)
}

/// Outer edge and width of the line at every place, gaps bridged from their neighbours, single jumps taken out.
fn even_out(readings: &[Reading], line: Option<f64>) -> (Vec<f64>, Vec<f64>) {
    let outer: Vec<Option<f64>> = readings.iter().map(|r| r.clean.then_some(r.outer)).collect();
    let width: Vec<Option<f64>> = readings
        .iter()
        .map(|r| {
            let (line, inner) = (line?, r.inner?);
            let w = inner - r.outer;
            (r.clean && w >= WIDTH_RANGE.0 * line && w <= WIDTH_RANGE.1 * line).then_some(w)
        })
        .collect();
    let fallback = line.unwrap_or(0.0);
    (
        filtered(&bridged(&outer, 0.0), 2),
        filtered(&bridged(&width, fallback), 4),
    )
}

/// Fills what is `None` linearly between its neighbours along the closed ring.
fn bridged(values: &[Option<f64>], fallback: f64) -> Vec<f64> {
    let n = values.len();
    let Some(first) = values.iter().position(Option::is_some) else {
        return vec![fallback; n];
    };
    let mut out = vec![fallback; n];
    let (mut last, mut last_value) = (first, values[first].unwrap_or(fallback));
    out[first] = last_value;
    for k in first + 1..=first + n {
        if let Some(v) = values[k % n] {
            for j in last + 1..k {
                let t = (j - last) as f64 / (k - last) as f64;
                out[j % n] = last_value * (1.0 - t) + v * t;
            }
            out[k % n] = v;
            (last, last_value) = (k, v);
        }
    }
    out
}

/// Running median of five and mean of `2 half + 1` along a closed ring.
fn filtered(values: &[f64], half: usize) -> Vec<f64> {
    let n = values.len();
    if n < 16 {
        return values.to_vec();
    }
    let median: Vec<f64> = around(values, 2)
        .windows(5)
        .map(|near| {
            let [a, b, c, d, e] = [0, 1, 2, 3, 4].map(|k| near[k]);
            // Of four the two in the middle, of those and the fifth the middle one.
            let (low, high) = (a.min(b).max(c.min(d)), a.max(b).min(c.max(d)));
            e.max(low.min(high)).min(low.max(high))
        })
        .collect();
    around(&median, half)
        .windows(2 * half + 1)
        .map(|near| near.iter().sum::<f64>() / near.len() as f64)
        .collect()
}
