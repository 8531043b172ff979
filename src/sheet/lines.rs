//! Long straight lines of a sheet (guide lines, frames): found, used to level the sheet, and taken out.
//!
//! Thin runs across the line's direction are gathered in evenly spaced columns (rows for upright lines); for each
//! turn within reach they are counted in bins of the sheared height, and the turn with the sharpest peaks wins
//! (projection profile, Postl 1986); each peak is then fitted by least squares. A pixel of a line is taken out
//! only where its run across is hardly thicker than the line, so that strokes crossing it stay whole
//! (Abd-Almageed, Kumar and Doermann 2009), and only if no channel of its colour departs much farther than the
//! line's own, so that an inked sole on a pale or coloured ground line stays too.
//!
//! Assumes straight lines over more than a third of the sheet. Straight strokes of a figure are told from them by their
//! ends, see `corners`.

use super::corners;
use super::picture::Picture;
use super::runs::row_runs;
use super::tone::{Departure, Paper};

/// Largest turn that is looked for, in degrees.
const MAX_SKEW_DEG: f64 = 3.6;
/// Columns that are looked at.
const SAMPLES: usize = 420;
/// Runs longer than this share of the sheet's height are no line seen from the side.
const MAX_THICKNESS: f64 = 0.006;
/// Share of the sampled columns that a line must be seen in. A dashed line shows in a little over half.
const MIN_COVERAGE: f64 = 0.34;
/// The same of all sampled columns, those where a figure covers the line included.
const LEAST_SHARE: f64 = 0.16;
/// Share of the sheet that a line must span from its first to its last sighting.
const MIN_EXTENT: f64 = 0.55;
/// Share of all that is drawn, from top to bottom, that an upright line must span.
const UPRIGHT_EXTENT: f64 = 0.9;
/// Longest stretch without a sighting, as a share of the sheet: outstretched arms of neighbouring figures line up
/// too, but leave the space between them free.
const MAX_HOLE: f64 = 0.12;
/// Sightings of a line scatter about it by at most this share of a bin (root mean square): what merely lies close,
/// such as parts of figures that happen to line up, scatters evenly, by 0.4.
const SCATTER: f64 = 0.3;
/// Height of the bins that sightings are counted in, pixels, at least.
const LEAST_BIN: f64 = 2.5;
/// The same in a small picture, whose lines are thin.
const LEAST_BIN_SMALL: f64 = 1.5;
/// Sides below this are small, pixels.
const SMALL: usize = 1000;
/// How much farther than the median of a line's places a channel may depart from the paper and still be line; the
/// rest is ink. A share of the median, for blur and grain.
const STRONGER: f64 = 1.4;
/// And at most this many times the distance from the lower quartile to the median: three standard deviations and
/// some more of a normal spread.
const SPREAD: f64 = 5.0;
/// Grey levels on top of that, for faint lines.
const STRONGER_LEVELS: f64 = 10.0;
/// Bits behind the point of numbers of bins.
const FIXED: u32 = 32;
/// Places along a line at which its colour is looked at.
const COLOUR_SAMPLES: usize = 400;

/// Which way a straight line runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Course {
    /// From left to right.
    Across,
    /// From top to bottom.
    Upright,
}

/// A long straight line: across `y = middle + slope (x − width / 2)`, upright `x = middle + slope (y − height / 2)`,
/// in upright pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StraightLine {
    /// Which way it runs.
    pub course: Course,
    /// Its position at the middle of the sheet.
    pub middle: f64,
    /// Its slope.
    pub slope: f64,
    /// Median thickness in pixels.
    pub thickness: f64,
    /// Median of the largest departure across it.
    pub strength: f64,
    /// Share of the sampled columns that it was seen in.
    pub coverage: f64,
    /// Where along it it was first and last seen.
    pub ends: [f64; 2],
    /// How far a pixel's red, green and blue may depart from the paper and still be line: a blue guide and a black
    /// stroke depart alike in red, not in blue.
    pub most: [f64; 3],
}

/// A thin run across the course: `along` is the column (row), `mid` its middle, `len` its length, `peak` its
/// largest departure.
#[derive(Clone, Copy)]
struct Sighting {
    along: f64,
    mid: f64,
    len: f64,
    peak: f64,
}

/// Finds the long straight lines of both courses.
pub fn find(departure: &Departure, picture: &Picture, paper: &Paper) -> Vec<StraightLine> {
    let (across, upright) = rayon::join(
        || find_course(departure, Course::Across),
        || find_course(departure, Course::Upright),
    );
    let mut lines = corners::without_strokes(departure, [across, upright].concat());
    // A sheet has one turn: a line of the weaker course that contradicts it is none.
    let (across, upright): (Vec<_>, Vec<_>) = lines.iter().partition(|l| l.course == Course::Across);
    let skew = skew_of(&across).or_else(|| skew_of(&upright)).unwrap_or(0.0);
    lines.retain(|l| (turn_of(l) - skew).abs() < 0.006);
    for l in &mut lines {
        l.most = most(l, departure, picture, paper);
    }
    lines
}

/// The farthest departure of a line's own colour, channel by channel.
fn most(line: &StraightLine, departure: &Departure, picture: &Picture, paper: &Paper) -> [f64; 3] {
    let (length, breadth) = sizes(departure, line.course);
    let reach = (line.thickness / 2.0).ceil() as i64;
    let mut seen: [Vec<f32>; 3] = Default::default();
    for i in 0..COLOUR_SAMPLES {
        let along = (2 * i + 1) * length / (2 * COLOUR_SAMPLES);
        let centre = line.middle + line.slope * (along as f64 + 0.5 - length as f64 / 2.0);
        let window = (centre as i64 - reach).clamp(0, breadth as i64)
            ..(centre as i64 + reach + 1).clamp(0, breadth as i64);
        let Some(darkest) = window.max_by_key(|&k| (value(departure, line.course, along, k as usize), -k))
        else {
            continue;
        };
        if value(departure, line.course, along, darkest as usize) < departure.threshold {
            continue;
        }
        let off = colour(line.course, picture, paper, along, darkest as usize);
        for k in 0..3 {
            seen[k].push(off[k]);
        }
    }
    seen.map(|mut v| {
        v.sort_by(f32::total_cmp);
        // Strokes that cross or cover the line fill less than half of it.
        let rank = |quarter: usize| v.get(v.len() * quarter / 4).map_or(255.0, |v| f64::from(*v));
        let (low, usual) = (rank(1), rank(2));
        (usual + SPREAD * (usual - low)).min(usual * STRONGER) + STRONGER_LEVELS
    })
}

/// How far red, green and blue of a pixel depart from the paper.
fn colour(course: Course, picture: &Picture, paper: &Paper, along: usize, across: usize) -> [f32; 3] {
    let (x, y) = match course {
        Course::Across => (along, across),
        Course::Upright => (across, along),
    };
    let at = (x as f64 + 0.5, y as f64 + 0.5);
    let [r, g, b, _] = paper.difference(picture, 1, at.0, at.1);
    [r.abs(), g.abs(), b.abs()]
}

/// Counter-clockwise turn as seen, in radians, that a line shows.
fn turn_of(line: &StraightLine) -> f64 {
    match line.course {
        Course::Across => -line.slope.atan(),
        Course::Upright => line.slope.atan(),
    }
}

/// The sheet's turn in radians, counter-clockwise as seen: the median over its lines, `None` without lines.
pub fn skew_of(lines: &[StraightLine]) -> Option<f64> {
    let mut turns: Vec<f64> = lines.iter().map(turn_of).collect();
    turns.sort_by(f64::total_cmp);
    (!turns.is_empty()).then(|| {
        let m = turns.len() / 2;
        if turns.len() % 2 == 1 {
            turns[m]
        } else {
            (turns[m - 1] + turns[m]) / 2.0
        }
    })
}

pub(super) fn sizes(d: &Departure, course: Course) -> (usize, usize) {
    match course {
        Course::Across => (d.width, d.height),
        Course::Upright => (d.height, d.width),
    }
}

pub(super) fn value(d: &Departure, course: Course, along: usize, across: usize) -> u8 {
    match course {
        Course::Across => d.values[across * d.width + along],
        Course::Upright => d.values[along * d.width + across],
    }
}

fn sightings(d: &Departure, course: Course) -> (Vec<Sighting>, Vec<usize>) {
    let (length, breadth) = sizes(d, course);
    let longest = (MAX_THICKNESS * length.max(breadth) as f64).max(6.0);
    let count = SAMPLES.min(length);
    let columns: Vec<usize> = (0..count).map(|i| (2 * i + 1) * length / (2 * count)).collect();
    let mut out = Vec::new();
    let mut column = Vec::new();
    for &along in &columns {
        let values = match course {
            Course::Across => {
                column.clear();
                column.extend(d.values.iter().skip(along).step_by(d.width));
                &column
            }
            Course::Upright => d.row(along),
        };
        row_runs(values, d.threshold, |run| {
            let run = run.x0 as usize..run.x1 as usize;
            if run.len() as f64 <= longest {
                out.push(Sighting {
                    along: along as f64 + 0.5,
                    mid: run.start as f64 + run.len() as f64 / 2.0,
                    len: run.len() as f64,
                    peak: f64::from(values[run].iter().copied().max().unwrap_or(0)),
                });
            }
        });
    }
    (out, columns)
}

fn find_course(d: &Departure, course: Course) -> Vec<StraightLine> {
    let (length, breadth) = sizes(d, course);
    let (seen, columns) = sightings(d, course);
    let needed = LEAST_SHARE * columns.len() as f64;
    if (seen.len() as f64) < needed {
        return Vec::new();
    }
    let bin = (breadth as f64 / 900.0).max(if breadth < SMALL {
        LEAST_BIN_SMALL
    } else {
        LEAST_BIN
    });
    let middle = length as f64 / 2.0;
    let steps = (MAX_SKEW_DEG.to_radians() * length as f64 / bin).ceil() as i32;
    let reach = MAX_SKEW_DEG.to_radians() / f64::from(steps.max(1));
    let bins = (breadth as f64 / bin) as usize + 2;
    let mut histogram = vec![0u32; bins];
    let mut best = (0.0f64, 0.0f64);
    // In bins: where each stands on the level, and by how much a step of the slope lowers it. Fixed-point numbers, as most
    // of the work is finding their bins.
    let fixed = |v: f64| (v / bin * (1u64 << FIXED) as f64) as i64;
    let binned: Vec<(i64, i64)> = seen
        .iter()
        .map(|s| (fixed(s.mid), fixed(reach * (s.along - middle))))
        .collect();
    // From level outwards, so that the smaller turn wins a tie.
    for k in 0..=2 * steps {
        let k = if k % 2 == 0 { k / 2 } else { -(k / 2) - 1 };
        let slope = f64::from(k) * reach;
        histogram.fill(0);
        for (level, step) in &binned {
            // Below the first bin is far beyond the last one.
            let at = ((level - i64::from(k) * step) >> FIXED) as usize;
            if let Some(count) = histogram.get_mut(at) {
                *count += 1;
            }
        }
        let score: f64 = histogram
            .windows(2)
            .map(|w| f64::from(w[0] + w[1]))
            .filter(|n| *n >= needed)
            .map(|n| n * n)
            .sum();
        if score > best.0 * 1.000_001 {
            best = (score, slope);
        }
    }
    if best.0 == 0.0 {
        return Vec::new();
    }
    peaks(&seen, &columns, best.1, bin, bins, middle)
        .into_iter()
        .filter_map(|at| fit(d, &seen, &columns, course, at, best.1, bin, middle, length as f64))
        .collect()
}

/// Heights at the middle of the sheet around which sightings gather.
fn peaks(seen: &[Sighting], columns: &[usize], slope: f64, bin: f64, bins: usize, middle: f64) -> Vec<f64> {
    let mut histogram = vec![0u32; bins + 1];
    for s in seen {
        let h = (s.mid - slope * (s.along - middle)) / bin;
        if h >= 0.0 && (h as usize) < bins {
            histogram[h as usize] += 1;
        }
    }
    let needed = (LEAST_SHARE * columns.len() as f64) as u32;
    let pair: Vec<u32> = histogram.windows(2).map(|w| w[0] + w[1]).collect();
    let mut out: Vec<f64> = Vec::new();
    for (i, &n) in pair.iter().enumerate() {
        let around = &pair[i.saturating_sub(2)..(i + 3).min(pair.len())];
        if n >= needed && around.iter().all(|m| *m <= n) {
            let at = (i as f64 + 1.0) * bin;
            if out.last().is_none_or(|last| at - last > 3.0 * bin) {
                out.push(at);
            }
        }
    }
    out
}

#[allow(
    clippy::too_many_arguments,
    reason = "one step of the search, called from one place"
)]
fn fit(
    d: &Departure,
    seen: &[Sighting],
    columns: &[usize],
    course: Course,
    at: f64,
    slope: f64,
    bin: f64,
    middle: f64,
    length: f64,
) -> Option<StraightLine> {
    let (mut a, mut b) = (at, slope);
    let mut near: Vec<Sighting> = Vec::new();
    for tolerance in [1.6 * bin, bin, 0.7 * bin] {
        near = seen
            .iter()
            .filter(|s| (s.mid - a - b * (s.along - middle)).abs() <= tolerance)
            .copied()
            .collect();
        let n = near.len() as f64;
        if n < 8.0 {
            return None;
        }
        let (mx, my) = (
            near.iter().map(|s| s.along - middle).sum::<f64>() / n,
            near.iter().map(|s| s.mid).sum::<f64>() / n,
        );
        let sxx: f64 = near.iter().map(|s| (s.along - middle - mx).powi(2)).sum();
        let sxy: f64 = near.iter().map(|s| (s.along - middle - mx) * (s.mid - my)).sum();
        b = if sxx > 0.0 { sxy / sxx } else { b };
        a = my - b * mx;
    }
    let scatter = near
        .iter()
        .map(|s| (s.mid - a - b * (s.along - middle)).powi(2))
        .sum::<f64>()
        / near.len() as f64;
    if scatter.sqrt() > SCATTER * bin {
        return None;
    }
    let mut along: Vec<f64> = near.iter().map(|s| s.along).collect();
    along.sort_by(f64::total_cmp);
    along.dedup();
    // Where a coloured figure covers the line, it can't be seen and isn't missing.
    let covered = |column: usize| {
        let across = a + b * (column as f64 + 0.5 - middle);
        let inside = across >= 0.0 && (across as usize) < sizes(d, course).1;
        inside && value(d, course, column, across as usize) >= d.threshold
    };
    let free = columns.iter().filter(|&&c| !covered(c)).count() + along.len();
    let coverage = along.len() as f64 / free.min(columns.len()).max(1) as f64;
    let share = along.len() as f64 / columns.len() as f64;
    let extent = (along[along.len() - 1] - along[0]) / length;
    let spacing = length / columns.len() as f64;
    let hidden = |from: f64, to: f64| {
        let some = columns
            .iter()
            .filter(|&&c| c as f64 > from && (c as f64) < to - 1.0 && covered(c));
        some.count() as f64 * spacing
    };
    let hole = along
        .windows(2)
        .filter(|w| w[1] - w[0] > MAX_HOLE * length)
        .map(|w| w[1] - w[0] - hidden(w[0], w[1]))
        .fold(0.0, f64::max)
        / length;
    if share < LEAST_SHARE || coverage < MIN_COVERAGE || extent < MIN_EXTENT || hole > MAX_HOLE {
        return None;
    }
    // Straight legs are no centre line: that runs from above the crown to below the ground.
    let (first, last) = (seen[0].along, seen[seen.len() - 1].along);
    if course == Course::Upright && extent * length < UPRIGHT_EXTENT * (last - first) {
        return None;
    }
    let median = |mut v: Vec<f64>| {
        v.sort_by(f64::total_cmp);
        v[v.len() / 2]
    };
    Some(StraightLine {
        course,
        middle: a,
        slope: b,
        thickness: median(near.iter().map(|s| s.len).collect()),
        strength: median(near.iter().map(|s| s.peak).collect()),
        coverage,
        ends: [along[0], along[along.len() - 1]],
        most: [255.0; 3],
    })
}

/// Takes the lines out of a plane of marks (the departure, or the narrow part of it).
pub fn erase(marks: &mut Departure, lines: &[StraightLine], picture: &Picture, paper: &Paper) {
    for line in lines {
        let (length, breadth) = sizes(marks, line.course);
        let reach = (line.thickness / 2.0 + 2.0).ceil() as i64;
        for along in 0..length {
            let centre = line.middle + line.slope * (along as f64 + 0.5 - length as f64 / 2.0);
            let lo = (centre.floor() as i64 - reach).clamp(0, breadth as i64) as usize;
            let hi = (centre.floor() as i64 + reach + 1).clamp(0, breadth as i64) as usize;
            let off = |k: usize| colour(line.course, picture, paper, along, k);
            let is_line = |run: std::ops::Range<usize>| {
                // What lies on both sides of the line: a shadow that it crosses darkens the line, too.
                let beside = [run.start.saturating_sub(2), (run.end + 1).min(breadth - 1)].map(off);
                let below = [0, 1, 2].map(|c| beside[0][c].min(beside[1][c]));
                run.len() as f64 <= line.thickness + 2.0
                    && run.into_iter().all(|k| {
                        let own = off(k);
                        (0..3).all(|c| f64::from(own[c] - below[c]) <= line.most[c])
                    })
            };
            erase_across(marks, line.course, along, lo..hi, is_line);
        }
    }
}

/// Takes out the runs of one column that begin within `window` and are line.
fn erase_across(
    d: &mut Departure,
    course: Course,
    along: usize,
    window: std::ops::Range<usize>,
    is_line: impl Fn(std::ops::Range<usize>) -> bool,
) {
    let breadth = sizes(d, course).1;
    let mut across = window.start;
    while across < window.end {
        if value(d, course, along, across) < d.threshold {
            across += 1;
            continue;
        }
        let (mut s, mut e) = (across, across);
        while s > 0 && value(d, course, along, s - 1) >= d.threshold {
            s -= 1;
        }
        while e < breadth && value(d, course, along, e) >= d.threshold {
            e += 1;
        }
        if is_line(s..e) {
            // The soft edge of the line goes with it.
            for k in s.saturating_sub(1)..(e + 1).min(breadth) {
                let i = match course {
                    Course::Across => k * d.width + along,
                    Course::Upright => along * d.width + k,
                };
                d.values[i] = 0;
            }
        }
        across = e.max(across + 1);
    }
}
