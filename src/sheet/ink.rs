//! The ink of a line drawing, told from what lies under it: washes, shadows, stains, tinted paper.
//!
//! A line is narrower than what lies under it. The departure from the paper is opened by a square a little wider than
//! the line (smallest value, then largest, in a window: grey-scale opening, Serra 1982); what the opening takes away
//! (the top-hat, Meyer 1979) is the part of the departure that is narrow. A pixel is ink if that part is strong
//! enough, or if it is nearly as dark as ink itself: a pupil, a black boot.
//!
//! Assumes that the figures have a line; the caller finds that out. Wide marks paler than the ink are not seen.

use rayon::prelude::*;

use super::picture::Picture;
use super::runs::{Run, row_runs};
use super::tone::{Departure, Paper};

/// Rows between those that are looked at to measure the strokes.
const SAMPLED: usize = 3;
/// Strokes are narrower than this share of the sheet's height.
const WIDEST_STROKE: f64 = 0.012;
/// A sheet is a line drawing if at least this share of its inked and painted pixels lies in strokes.
const LINE_DRAWING: f64 = 0.5;
/// From this share of the ink's strength on a pixel is surely ink while its colour is looked at.
const INKED: f64 = 0.8;
/// The least channel of grey ink departs by at least this share of what the largest does: on tinted paper black ink
/// departs by 255 less a tenth in one channel.
const EVEN: f32 = 0.72;
/// Wide marks count as painted from this share of the ink's strength on.
const PAINT: f64 = 0.45;
/// Darker than this share of the ink is ink, however wide.
const SURELY_INK: f64 = 0.62;
/// Narrow marks count from this share of the ink's strength on: the tapered ends of strokes stay above it.
const NARROW: f64 = 0.24;
/// And from this share of the palest tenth of the strokes on.
const PALEST: f64 = 0.5;
/// The opening's window is this many line widths wide: a swelling brush line still falls through it.
const WINDOW: f64 = 2.2;
/// Widest window in pixels.
const WIDEST_WINDOW: usize = 63;
/// Rows that are opened at a time.
const BAND: usize = 96;
/// Fewest strokes that say anything about the pen.
const LEAST_STROKES: usize = 200;

/// What the strokes of a sheet are like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pen {
    /// Departure from the paper of a usual stroke.
    pub strength: f64,
    /// The same of the palest tenth.
    pub palest: f64,
    /// Usual width in pixels.
    pub width: f64,
}

/// Width of a straight stroke that a row cuts over `across` pixels and a column over `down` pixels: with a stroke at
/// angle a they are w / cos a and w / sin a.
pub fn stroke_width(across: f64, down: f64) -> f64 {
    across * down / across.hypot(down).max(1e-9)
}

/// Width and peak of each stroke that a row cuts, and its wide marks.
type RowStrokes = (Vec<(f32, u8)>, Vec<(usize, Run)>);

/// The pen of a sheet whose marks are mostly strokes; `None` where they are not.
pub fn pen(departure: &Departure) -> Option<Pen> {
    let widest = (WIDEST_STROKE * departure.height as f64).max(4.0);
    let rows: Vec<usize> = (0..departure.height).step_by(SAMPLED).collect();
    let seen: Vec<RowStrokes> = rows
        .par_iter()
        .map(|&y| {
            let row = departure.row(y);
            let (mut strokes, mut wide) = (Vec::new(), Vec::new());
            row_runs(row, departure.threshold, |run| {
                let (start, end) = (run.x0 as usize, run.x1 as usize);
                let down = column_run(departure, (start + end) / 2, y, (widest * 3.0) as usize);
                let width = stroke_width((end - start) as f64, down as f64);
                if width <= widest {
                    let peak = row[start..end].iter().copied().max().unwrap_or(0);
                    strokes.push((width as f32, peak));
                } else {
                    wide.push((y, run));
                }
            });
            (strokes, wide)
        })
        .collect();
    let (strokes, marks): (Vec<_>, Vec<_>) = seen.into_iter().unzip();
    let mut wide = [0u64; 256];
    for (y, run) in marks.into_iter().flatten() {
        for v in &departure.row(y)[run.x0 as usize..run.x1 as usize] {
            wide[usize::from(*v)] += 1;
        }
    }
    let strokes: Vec<(f32, u8)> = strokes.into_iter().flatten().collect();
    let thin: f64 = strokes.iter().map(|s| f64::from(s.0)).sum();
    if strokes.len() < LEAST_STROKES {
        return None;
    }
    let mut peaks: Vec<u8> = strokes.iter().map(|s| s.1).collect();
    peaks.sort_unstable();
    // The lower half may be guide lines' remains, notes, grain: the pen is read off the upper half.
    let strength = f64::from(peaks[peaks.len() * 7 / 10]);
    // Stains, washes and shadows are wide but pale: they make a drawing no painting.
    let painted: u64 = wide[((PAINT * strength) as usize).min(255)..].iter().sum();
    if thin < LINE_DRAWING * (thin + painted as f64) {
        return None;
    }
    let mut widths: Vec<f32> = strokes
        .iter()
        .filter(|s| f64::from(s.1) >= 0.5 * strength)
        .map(|s| s.0)
        .collect();
    widths.sort_by(f32::total_cmp);
    let width = f64::from(*widths.get(widths.len() / 2)?);
    let inked: Vec<u8> = peaks
        .into_iter()
        .filter(|p| f64::from(*p) >= 0.3 * strength)
        .collect();
    Some(Pen {
        strength,
        palest: f64::from(inked[inked.len() / 10]),
        width,
    })
}

/// Whether the ink is black or grey: all channels of most of its pixels depart from the paper nearly alike.
pub fn is_grey(departure: &Departure, pen: &Pen, picture: &Picture, paper: &Paper) -> bool {
    if paper.transparent || picture.channels().count() < 3 {
        return false;
    }
    let least = (INKED * pen.strength) as u8;
    let mut even = Vec::new();
    for y in (0..departure.height).step_by(SAMPLED) {
        let mut columns = Vec::new();
        row_runs(departure.row(y), least, |run| columns.extend(run.x0..run.x1));
        for x in columns {
            let [r, g, b, _] = paper
                .difference(picture, 1, f64::from(x) + 0.5, y as f64 + 0.5)
                .map(f32::abs);
            even.push(r.min(g).min(b) / r.max(g).max(b).max(1.0));
        }
    }
    even.sort_by(f32::total_cmp);
    even.get(even.len() / 10).is_some_and(|share| *share >= EVEN)
}

/// Length of the run of marked pixels through `(x, y)` along its column, at most about twice `most`.
fn column_run(departure: &Departure, x: usize, y: usize, most: usize) -> usize {
    let marked = |k: usize| departure.values[k * departure.width + x] >= departure.threshold;
    let (mut top, mut bottom) = (y, y + 1);
    while top > 0 && y - top < most && marked(top - 1) {
        top -= 1;
    }
    while bottom < departure.height && bottom - y < most && marked(bottom) {
        bottom += 1;
    }
    bottom - top
}

/// The narrow part of the departure; from its threshold on a pixel is ink.
pub fn narrow(departure: &Departure, pen: &Pen) -> Departure {
    let side = ((WINDOW * pen.width).ceil() as usize + 2).min(WIDEST_WINDOW);
    let low = (NARROW * pen.strength)
        .min(PALEST * pen.palest)
        .max(f64::from(departure.threshold)) as u8;
    let high = (SURELY_INK * pen.strength).max(f64::from(low)) as u8;
    let mut values = vec![0; departure.values.len()];
    let rows = |i: usize| i * BAND..((i + 1) * BAND).min(departure.height);
    values
        .par_chunks_mut(BAND * departure.width.max(1))
        .enumerate()
        .for_each(|(i, out)| band(departure, rows(i), side, high, out));
    Departure {
        width: departure.width,
        height: departure.height,
        values,
        threshold: low,
    }
}

/// What the opening takes away from some rows; what is surely ink stays whole.
fn band(departure: &Departure, rows: std::ops::Range<usize>, side: usize, high: u8, out: &mut [u8]) {
    let w = departure.width;
    let (top, end) = (
        rows.start.saturating_sub(side),
        (rows.end + side).min(departure.height),
    );
    let values = &departure.values[top * w..end * w];
    // Where nothing departs from the paper the opening takes nothing away: clean paper is passed over.
    let mut any = vec![0u8; w];
    for row in values.chunks_exact(w) {
        for (any, v) in any.iter_mut().zip(row) {
            *any |= v;
        }
    }
    for columns in stretches(&any, side) {
        let part: Vec<u8> = values
            .chunks_exact(w)
            .flat_map(|row| &row[columns.clone()])
            .copied()
            .collect();
        let opened = open(part, columns.len(), side);
        let opened = opened.chunks_exact(columns.len()).skip(rows.start - top);
        let values = values.chunks_exact(w).skip(rows.start - top);
        for ((out, values), opened) in out.chunks_exact_mut(w).zip(values).zip(opened) {
            let out = out[columns.clone()].iter_mut();
            for ((out, v), o) in out.zip(&values[columns.clone()]).zip(opened) {
                *out = if *v >= high { *v } else { v.saturating_sub(*o) };
            }
        }
    }
}

/// The columns within `side` of those that hold anything.
fn stretches(any: &[u8], side: usize) -> Vec<std::ops::Range<usize>> {
    let mut out: Vec<std::ops::Range<usize>> = Vec::new();
    row_runs(any, 1, |run| {
        let (start, end) = (
            (run.x0 as usize).saturating_sub(side),
            (run.x1 as usize + side).min(any.len()),
        );
        match out.last_mut() {
            Some(last) if start <= last.end => last.end = end,
            _ => out.push(start..end),
        }
    });
    out
}

/// Grey-scale opening by a square of `side` pixels; beyond the plane everything counts as marked.
fn open(mut a: Vec<u8>, w: usize, side: usize) -> Vec<u8> {
    let h = a.len() / w;
    // Smallest value over [i, i + side), then largest over (i - side, i]: by doubling, a few passes of plain loops.
    let mut b = vec![0u8; a.len()];
    for step in steps(side) {
        for (src, dst) in a.chunks_exact(w).zip(b.chunks_exact_mut(w)) {
            ahead(src, dst, step, u8::min);
        }
        std::mem::swap(&mut a, &mut b);
    }
    for step in steps(side) {
        for y in 0..h {
            let (src, other) = (&a[y * w..(y + 1) * w], a.get((y + step) * w..(y + step + 1) * w));
            pair(src, other, &mut b[y * w..(y + 1) * w], u8::min);
        }
        std::mem::swap(&mut a, &mut b);
    }
    for step in steps(side) {
        for y in 0..h {
            let other = y.checked_sub(step).map(|k| &a[k * w..(k + 1) * w]);
            pair(&a[y * w..(y + 1) * w], other, &mut b[y * w..(y + 1) * w], u8::max);
        }
        std::mem::swap(&mut a, &mut b);
    }
    for step in steps(side) {
        for (src, dst) in a.chunks_exact(w).zip(b.chunks_exact_mut(w)) {
            behind(src, dst, step, u8::max);
        }
        std::mem::swap(&mut a, &mut b);
    }
    a
}

/// Shifts whose running combination spans `side` pixels: 1, 2, 4, … and what remains.
fn steps(side: usize) -> Vec<usize> {
    let (mut out, mut reach) = (Vec::new(), 1);
    while reach < side {
        let step = reach.min(side - reach);
        out.push(step);
        reach += step;
    }
    out
}

fn ahead(src: &[u8], dst: &mut [u8], step: usize, f: fn(u8, u8) -> u8) {
    let cut = src.len().saturating_sub(step);
    pair(&src[..cut], src.get(step..), &mut dst[..cut], f);
    dst[cut..].copy_from_slice(&src[cut..]);
}

fn behind(src: &[u8], dst: &mut [u8], step: usize, f: fn(u8, u8) -> u8) {
    let cut = step.min(src.len());
    dst[..cut].copy_from_slice(&src[..cut]);
    pair(&src[cut..], Some(&src[..src.len() - cut]), &mut dst[cut..], f);
}

#[inline]
fn pair(src: &[u8], other: Option<&[u8]>, dst: &mut [u8], f: fn(u8, u8) -> u8) {
    match other {
        Some(other) => {
            for ((d, s), o) in dst.iter_mut().zip(src).zip(other) {
                *d = f(*s, *o);
            }
        }
        None => dst.copy_from_slice(src),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::runs::Runs;

    /// The definition, pixel by pixel.
    fn opened_plainly(values: &[u8], w: usize, side: usize) -> Vec<u8> {
        let h = values.len() / w;
        let window = |src: &[u8], x: usize, y: usize, forwards: bool, f: fn(u8, u8) -> u8| {
            let mut best = src[y * w + x];
            for dy in 0..side {
                for dx in 0..side {
                    let (px, py) = if forwards {
                        (x + dx, y + dy)
                    } else {
                        (x.wrapping_sub(dx), y.wrapping_sub(dy))
                    };
                    if px < w && py < h {
                        best = f(best, src[py * w + px]);
                    }
                }
            }
            best
        };
        let all = |src: &[u8], forwards: bool, f: fn(u8, u8) -> u8| -> Vec<u8> {
            (0..w * h)
                .map(|i| window(src, i % w, i / w, forwards, f))
                .collect()
        };
        all(&all(values, true, u8::min), false, u8::max)
    }

    #[test]
    fn opening_by_doubling_is_the_opening_of_the_definition() {
        let w = 23;
        let values: Vec<u8> = (0..w * 17u32)
            .map(|i| (i.wrapping_mul(2_654_435_761) >> 24) as u8)
            .collect();
        for side in [1, 2, 3, 5, 7, 11] {
            assert_eq!(
                open(values.clone(), w as usize, side),
                opened_plainly(&values, w as usize, side),
                "{side}"
            );
        }
    }

    /// Bands and stretches of columns give what opening the whole plane gives.
    #[test]
    fn the_narrow_part_is_the_same_wherever_it_is_cut() {
        let (w, h) = (300, 250);
        let mut values = vec![0u8; w * h];
        for (k, v) in (0u32..).zip([40u8, 200, 90, 255, 17]) {
            let at = (k.wrapping_mul(2_654_435_761) >> 8) as usize;
            for y in (at % 150)..(at % 150) + 80 {
                let x = at / 150 % 250;
                values[y * w + x..y * w + x + 3 + 9 * k as usize].fill(v);
            }
        }
        let departure = Departure {
            width: w,
            height: h,
            values: values.clone(),
            threshold: 16,
        };
        let pen = Pen {
            strength: 250.0,
            palest: 200.0,
            width: 3.0,
        };
        let side = (WINDOW * pen.width).ceil() as usize + 2;
        let opened = open(values.clone(), w, side);
        let high = (SURELY_INK * pen.strength) as u8;
        let whole = values.iter().zip(opened);
        let whole: Vec<u8> = whole.map(|(v, o)| if *v >= high { *v } else { v - o }).collect();
        assert!(narrow(&departure, &pen).values == whole);
    }

    #[test]
    fn a_line_on_a_wash_is_ink_and_the_wash_is_not() {
        let (w, h) = (60, 40);
        let mut values = vec![0u8; w * h];
        for y in 10..30 {
            values[y * w + 10..y * w + 50].fill(70);
            values[y * w + 30..y * w + 33].fill(220);
        }
        let departure = Departure {
            width: w,
            height: h,
            values,
            threshold: 16,
        };
        let pen = Pen {
            strength: 220.0,
            palest: 200.0,
            width: 3.0,
        };
        let n = narrow(&departure, &pen);
        let m = Runs::at_least(&n.values, w, n.threshold);
        assert!(m.row(5).is_empty());
        let run = m.row(20);
        assert_eq!((run.len(), run[0].x0, run[0].x1), (1, 30, 33));
    }
}
