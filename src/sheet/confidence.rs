//! How sure the reading of a figure is: evidence that needs no truth, and what it adds up to.
//!
//! Each piece of evidence is 0 where all is well and grows with what may have gone wrong. Divided by the amount that
//! alone makes a reading doubtful it is a doubt. Doubts add as squares, so that one large doubt counts for more than
//! many small ones, and the confidence is `1 / (1 + sum of squares)`: 0.5 where the doubts reach 1 together, and it
//! only falls as any piece of evidence grows. The amounts were fitted on drawn sheets with known truth, see
//! `tests/sheet_confidence.rs` and "How sure a reading is" in `DEVELOPERS.md`.

use super::edge::Seen;
use super::figures::{Pocket, Region};
use super::read::Figure;
use super::runs::{Joined, Labels, Run, Runs};
use super::slits::erode;
use super::tone::Departure;
use super::views::{self, Shows, Signs};
use crate::profile::Outline;
use crate::space::{Point, Upright};

/// Widths between these multiples of the median are the line's own. As wide as the reader's own range, so that
/// swelling and tapering strokes are no doubt.
const LINE_RANGE: (f64, f64) = (0.4, 1.9);
/// A disturbed stretch goes on across at most this many undisturbed points: a letter has chinks.
const CHINK: usize = 4;
/// Loose strokes are looked for this share of the height around a figure: a leg that was lost lies below it.
const AROUND: f64 = 0.12;
/// Half the width, as a share of the height, of the neck at which a figure falls in two: thicker than any stroke,
/// thinner than a waist.
const NECK: f64 = 0.011;
/// Span of the chord from which roughness is measured, as a share of the height.
const CHORD: f64 = 0.006;
/// An enclosed part whose rows end at the figure's outer edge more often than this is a sleeve or a shoe.
const OUTWARD: f64 = 0.15;
/// An enclosed part nearer to the figure's middle than this share of the height is a body or a face.
const FROM_MIDDLE: f64 = 0.05;
/// And it is at least this share of the square of the height: smaller holes are no fault.
const LEAST_HOLLOW: f64 = 0.003;
/// Disturbed stretches longer than this share of the height are named in the warnings.
const WORTH_NAMING: f64 = 0.03;
/// At most so many of them.
const MOST_NAMED: usize = 3;
/// The line is faint where it departs from the paper by less than this share of its median.
const FAINT: f32 = 0.5;
/// Bounds of a confidence: nothing is certain.
const BOUNDS: (f64, f64) = (0.02, 0.99);

/// What tells how sure a reading is; each 0 where all is well.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Evidence {
    /// Share of the outline where something abuts outside.
    pub disturbed: f64,
    /// Share of the outline where no line of the usual width was seen.
    pub unlined: f64,
    /// Longest stretch of outline that is either, in figure heights.
    pub stretch: f64,
    /// Length of the closed gaps, share of the perimeter.
    pub closed: f64,
    /// Number of closed gaps.
    pub gaps: f64,
    /// Enclosed areas decided by their place alone, share of the square of the height.
    pub doubtful: f64,
    /// Enclosed areas taken as surface that lie where ground may show, share of the square of the height.
    pub hollow: f64,
    /// Ink that hangs on the figure and is none of it, share of the ink of its outline.
    pub attached: f64,
    /// Loose ink close to the figure, same share.
    pub nearby: f64,
    /// Height of the second piece into which the figure falls at narrow necks, share of its height.
    pub halves: f64,
    /// Least departure that counts as a mark against the palest tenth of the line.
    pub faint: f64,
    /// Spread of the line's width (90th less 10th percentile) against its median.
    pub spread: f64,
    /// Share of the figure's rows and columns that touch the border of the picture.
    pub cut: f64,
    /// Departure of the outline from short chords (75th percentile), share of the height.
    pub rough: f64,
    /// How far the height is from that of the other views, share of the height.
    pub apart: f64,
    /// How far a front or back view is from its own mirror image (1 less the overlap).
    pub lopsided: f64,
}

/// What of a sheet the evidence is gathered from; reduced pixels.
pub(super) struct Sheet<'a> {
    pub(super) departure: &'a Departure,
    /// Marks before gaps were closed.
    pub(super) strokes: &'a Runs,
    /// All figures.
    pub(super) regions: &'a [Region],
    labels: Labels,
}

impl<'a> Sheet<'a> {
    pub(super) fn new(departure: &'a Departure, strokes: &'a Runs, regions: &'a [Region]) -> Self {
        Self {
            departure,
            strokes,
            regions,
            labels: strokes.labels(Joined::Eight),
        }
    }

    /// Loose ink that hangs on a region, and loose ink close to it, in pixels.
    fn loose(&self, region: &Region) -> (u64, u64) {
        let reach = (AROUND * region.height() as f64) as usize;
        let [x0, y0, x1, y1] = region.bounds;
        let near_x = x0.saturating_sub(reach) as u32..(x1 + reach) as u32;
        let mut within = vec![0u64; self.labels.count];
        let mut loose = vec![0u64; self.labels.count];
        let mut close = vec![0u64; self.labels.count];
        for y in 0..self.strokes.height() {
            for i in self.strokes.range(y) {
                let (r, l) = (self.strokes.runs[i], self.labels.of_run[i] as usize);
                let own = shared(region, y, r);
                let others: u64 = self.regions.iter().map(|o| shared(o, y, r)).sum();
                let rest = u64::from(r.x1 - r.x0).saturating_sub(others.max(own));
                within[l] += own;
                loose[l] += rest;
                if (y0.saturating_sub(reach)..y1 + reach).contains(&y)
                    && r.x0 < near_x.end
                    && r.x1 > near_x.start
                {
                    close[l] += rest;
                }
            }
        }
        let mut out = (0, 0);
        for l in 0..self.labels.count {
            if within[l] > 0 {
                out.0 += loose[l];
            } else {
                out.1 += close[l];
            }
        }
        out
    }
}

/// Pixels of a run that a region covers.
fn shared(region: &Region, y: usize, run: Run) -> u64 {
    y.checked_sub(region.bounds[1])
        .and_then(|row| region.rows.get(row))
        .map_or(0, |row| {
            row.iter()
                .map(|r| u64::from(r.x1.min(run.x1).saturating_sub(r.x0.max(run.x0))))
                .sum()
        })
}

/// Value at a rank from 0 to 1.
fn rank(values: &mut [f64], share: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    values
        .get(((values.len() as f64 - 1.0).max(0.0) * share).round() as usize)
        .copied()
        .unwrap_or(0.0)
}

fn bad(s: &Seen, line_px: f64) -> bool {
    !s.clean || (line_px > 0.0 && !lined(s, line_px))
}

fn lined(s: &Seen, line_px: f64) -> bool {
    s.width
        .is_some_and(|w| (LINE_RANGE.0 * line_px..=LINE_RANGE.1 * line_px).contains(&w))
}

/// Stretches of disturbed points of a ring: first point and number of points.
fn stretches(ring: &[Seen], line_px: f64) -> Vec<(usize, usize)> {
    let n = ring.len();
    let Some(start) = (0..n).find(|&i| (0..=CHINK).all(|k| !bad(&ring[(i + k) % n], line_px))) else {
        return if n > 0 { vec![(0, n)] } else { Vec::new() };
    };
    let mut out: Vec<(usize, usize)> = Vec::new();
    for k in (0..n).filter(|k| bad(&ring[(start + k) % n], line_px)) {
        match out.last_mut() {
            Some((from, len)) if k <= *from + *len + CHINK => *len = k + 1 - *from,
            _ => out.push((k, 1)),
        }
    }
    out.iter().map(|(from, len)| ((start + from) % n, *len)).collect()
}

impl Evidence {
    /// Gathers what one figure tells. `scale` is the size of a reduced pixel, `line_px` the line's width and `closed`
    /// the length of the closed gaps in pixels of the picture.
    pub(super) fn gather(
        sheet: &Sheet<'_>,
        region: &Region,
        outline: &Outline<Upright>,
        seen: &[Vec<Seen>],
        scale: f64,
        line_px: f64,
    ) -> Self {
        let height = region.height() as f64 * scale;
        let all = || seen.iter().flatten();
        let total = all().count().max(1) as f64;
        let share = |n: usize| n as f64 / total;
        let perimeter = outline.perimeter().max(1.0);
        let spacing = perimeter / total;
        let longest = seen
            .iter()
            .flat_map(|r| stretches(r, line_px))
            .map(|s| s.1)
            .max()
            .unwrap_or(0);
        let mut widths: Vec<f64> = all()
            .filter(|s| s.clean)
            .filter_map(|s| s.width)
            .filter(|w| *w <= 4.0 * line_px)
            .collect();
        let mut peaks: Vec<f64> = all().map(|s| f64::from(s.peak)).collect();
        // A figure without a line has no ink of its own: a thin line stands for it.
        let pen = if line_px > 0.0 { line_px } else { 0.004 * height };
        let ink = pen * perimeter / (scale * scale);
        let (attached, nearby) = sheet.loose(region);
        let [x0, y0, x1, y1] = region.bounds;
        let touching = region
            .rows
            .iter()
            .flatten()
            .filter(|r| r.x0 == 0 || r.x1 as usize == sheet.departure.width)
            .count()
            + usize::from(y0 == 0 || y1 == sheet.departure.height) * (x1 - x0);
        Self {
            disturbed: share(all().filter(|s| !s.clean).count()),
            unlined: if line_px > 0.0 {
                share(all().filter(|s| s.clean && !lined(s, line_px)).count())
            } else {
                0.0
            },
            stretch: longest as f64 * spacing / height,
            attached: attached as f64 / ink,
            nearby: nearby as f64 / ink,
            halves: halves(region),
            faint: f64::from(sheet.departure.threshold) / rank(&mut peaks, 0.1).max(1.0),
            spread: if line_px > 0.0 {
                (rank(&mut widths, 0.9) - rank(&mut widths, 0.1)) / line_px
            } else {
                0.0
            },
            cut: touching as f64 / region.height() as f64,
            rough: rough(outline, height),
            ..Self::default()
        }
    }

    /// Adds an enclosed part that was taken as surface: it may have been ground if it lies between body and limb.
    pub(super) fn add_surface(&mut self, sheet: &Sheet<'_>, region: &Region, pocket: &Pocket, line: f64) {
        let height = region.height() as f64;
        let size = pocket.area as f64 / (height * height);
        if size < LEAST_HOLLOW {
            return;
        }
        let reach = (2.5 * line).max(3.0) as u32;
        let (mut outward, mut across, mut marked) = (0usize, 0.0, 0usize);
        for (y, run) in &pocket.runs {
            let own = region.rows[y - region.bounds[1]]
                .iter()
                .find(|r| r.x0 <= run.x0 && run.x1 <= r.x1);
            outward += own.map_or(2, |r| {
                usize::from(run.x0 - r.x0 <= reach) + usize::from(r.x1 - run.x1 <= reach)
            });
            across += f64::from(run.x0 + run.x1) / 2.0 * f64::from(run.x1 - run.x0);
            let middle = (run.x0 + run.x1) as usize / 2;
            marked += usize::from(sheet.departure.row(*y)[middle] >= sheet.departure.threshold);
        }
        let rows = pocket.runs.len();
        let middle = (region.bounds[0] + region.bounds[2]) as f64 / 2.0;
        let aside = (across / pocket.area as f64 - middle).abs() / height;
        if (outward as f64) < OUTWARD * 2.0 * rows as f64 && aside > FROM_MIDDLE && marked * 2 < rows {
            self.hollow += size;
        }
    }
}

/// Height of the second piece into which a region falls at narrow necks, as a share of its height.
fn halves(region: &Region) -> f64 {
    let height = region.height() as f64;
    let half = ((NECK * height) as u32).max(1);
    let pad = half + 1;
    let x0 = region.bounds[0] as u32;
    let empty = || std::iter::repeat_n(Vec::new(), pad as usize);
    let shift = |row: &Vec<Run>| -> Vec<Run> {
        row.iter()
            .map(|r| Run {
                x0: r.x0 - x0 + pad,
                x1: r.x1 - x0 + pad,
            })
            .collect()
    };
    let rows: Vec<Vec<Run>> = empty()
        .chain(region.rows.iter().map(shift))
        .chain(empty())
        .collect();
    let eroded = erode(&Runs::from_rows(region.width() + 2 * pad as usize, &rows), half);
    let labels = eroded.labels(Joined::Four);
    let mut ends = vec![(usize::MAX, 0usize); labels.count];
    for y in 0..eroded.height() {
        for i in eroded.range(y) {
            let e = &mut ends[labels.of_run[i] as usize];
            *e = (e.0.min(y), y + 1);
        }
    }
    let mut tall: Vec<usize> = ends.iter().map(|e| e.1.saturating_sub(e.0)).collect();
    tall.sort_unstable();
    tall.iter().rev().nth(1).map_or(0.0, |t| *t as f64 / height)
}

/// How far the outline lies from short chords of itself, 75th percentile, as a share of the height.
fn rough(outline: &Outline<Upright>, height: f64) -> f64 {
    let spacing = |ring: &[Point<Upright>]| {
        let n = ring.len();
        let sum: f64 = (0..n)
            .map(|i| (ring[i].x - ring[(i + 1) % n].x).hypot(ring[i].y - ring[(i + 1) % n].y))
            .sum();
        (sum / n as f64).max(1e-6)
    };
    let mut off: Vec<f64> = outline
        .rings
        .iter()
        .filter(|r| r.len() > 8)
        .flat_map(|r| {
            let n = r.len();
            let k = ((CHORD * height / spacing(r)) as usize).clamp(1, n / 4);
            (0..n).map(move |i| {
                let (a, b) = (r[(i + n - k) % n], r[(i + k) % n]);
                (r[i].x - (a.x + b.x) / 2.0).hypot(r[i].y - (a.y + b.y) / 2.0)
            })
        })
        .collect();
    rank(&mut off, 0.75) / height
}

/// Where the outline is disturbed or faint, in words.
pub(super) fn places(outline: &Outline<Upright>, seen: &[Vec<Seen>], line_px: f64) -> Vec<String> {
    let height = outline.bounds().map_or(1.0, |b| b.height());
    let mut peaks: Vec<f64> = seen.iter().flatten().map(|s| f64::from(s.peak)).collect();
    let usual = rank(&mut peaks, 0.5) as f32;
    let mut found: Vec<(f64, String)> = Vec::new();
    for (ring, seen) in outline.rings.iter().zip(seen) {
        let n = ring.len();
        for (from, len) in stretches(seen, line_px) {
            let part = || (0..len).map(|k| (from + k) % n);
            let long: f64 = part()
                .map(|i| (ring[i].x - ring[(i + 1) % n].x).hypot(ring[i].y - ring[(i + 1) % n].y))
                .sum();
            if long < WORTH_NAMING * height {
                continue;
            }
            let at = ring[(from + len / 2) % n];
            let pale = part().filter(|i| seen[*i].peak < FAINT * usual).count();
            let abuts = part().filter(|i| !seen[*i].clean).count();
            let what = if 2 * pale > len {
                "the outline is faint or missing"
            } else if 2 * abuts > len {
                "a label, stroke or stain touches the outline"
            } else {
                continue;
            };
            found.push((
                long,
                format!("{what} near x {:.0}, y {:.0}, over {long:.0} px", at.x, at.y),
            ));
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.into_iter().take(MOST_NAMED).map(|f| f.1).collect()
}

/// Adds what the views of a sheet tell about each other and sets every figure's confidence.
pub(super) fn judge(figures: &mut [Figure], signs: &[Signs]) {
    let mut heights: Vec<f64> = figures.iter().map(|f| f.ground_px - f.crown_px).collect();
    let own = heights.clone();
    heights.sort_by(f64::total_cmp);
    let n = heights.len();
    let usual = heights.get(n / 2).map_or(1.0, |m| (m + heights[(n - 1) / 2]) / 2.0);
    let shows = views::shows(signs);
    for (i, figure) in figures.iter_mut().enumerate() {
        figure.evidence.apart = (own[i] / usual - 1.0).abs();
        if shows[i] == Shows::Middle {
            figure.evidence.lopsided = 1.0 - signs[i].symmetry;
        }
        figure.confidence = figure.evidence.confidence();
    }
}

impl Evidence {
    /// Each piece of evidence with its name.
    pub fn named(&self) -> [(&'static str, f64); 16] {
        [
            ("disturbed", self.disturbed),
            ("unlined", self.unlined),
            ("stretch", self.stretch),
            ("closed", self.closed),
            ("gaps", self.gaps),
            ("doubtful", self.doubtful),
            ("hollow", self.hollow),
            ("attached", self.attached),
            ("nearby", self.nearby),
            ("halves", self.halves),
            ("faint", self.faint),
            ("spread", self.spread),
            ("cut", self.cut),
            ("rough", self.rough),
            ("apart", self.apart),
            ("lopsided", self.lopsided),
        ]
    }

    /// The confidence, from 0.02 to 0.99.
    pub fn confidence(&self) -> f64 {
        let sum: f64 = self
            .named()
            .iter()
            .map(|(_, amount)| amount * amount)
            .sum();
        (1.0 / (1.0 + sum)).clamp(BOUNDS.0, BOUNDS.1)
    }
}
