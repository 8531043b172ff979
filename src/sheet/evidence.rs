//! Evidence of how sure a reading is, gathered without the truth: what disturbs the outline, what ink is left over,
//! what was decided on a guess. What it adds up to says [`super::confidence`].

use super::edge::Seen;
use super::figures::{Pocket, Region};
use super::runs::{Joined, Labels, Run, Runs};
use super::slits::erode;
use super::strip::framed;
use super::tone::Departure;
use crate::profile::Outline;
use crate::space::{Point, Upright};

/// Widths between these multiples of the median are the line's own. As wide as the reader's own range, so that
/// swelling and tapering strokes are no doubt.
const LINE_RANGE: (f64, f64) = (0.4, 1.9);
/// A disturbed stretch goes on across at most this many undisturbed points: a letter has chinks.
const CHINK: usize = 4;
/// Loose strokes are looked for this share of the height around a figure: a leg that was lost lies below it.
const AROUND: f64 = 0.12;
/// Loose strokes no longer than this share of the height are letters and specks, not what is left of a limb.
const LETTER: f64 = 0.025;
/// Half the width, as a share of the height, of the neck at which a figure falls in two: thicker than any stroke,
/// thinner than a waist.
const NECK: f64 = 0.011;
/// An enclosed part whose rows end at the figure's outer edge more often than this is a sleeve or a shoe.
const OUTWARD: f64 = 0.15;
/// An enclosed part nearer to the figure's middle than this share of the height is a body or a face.
const FROM_MIDDLE: f64 = 0.03;
/// A part's row ends at the outer edge if at most this many line widths lie between: a line cut aslant.
const OWN_LINE: f64 = 1.8;
/// And it is at least this share of the square of the height: smaller holes are no fault.
const LEAST_HOLLOW: f64 = 0.003;
/// An outline is told from inner lines by being a fifth heavier: a line whose width varies by more than this share can
/// not be told so.
const UNEVEN: f64 = 0.3;
/// A figure is bare if less than this share of it departs from the paper: lines alone take up to a quarter.
const BARE: f64 = 0.4;
/// A cut edge is a fill's: paler than this share of the line's median.
const CUT_EDGE: f32 = 0.9;
/// A straight stretch stays within this share of the height, across.
const STRAIGHT: f64 = 0.0015;
/// What lies within this share of the height of a figure's end is its end.
const END: f64 = 0.006;
/// A stain's edge is paler than this share of the line's median.
const PALE: f32 = 0.75;

/// What tells how sure a reading is; each 0 where all is well.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Evidence {
    /// Share of the outline where something abuts outside.
    pub disturbed: f64,
    /// Length of the closed gaps, share of the perimeter.
    pub closed: f64,
    /// Enclosed areas decided by their place alone, share of the square of the height.
    pub doubtful: f64,
    /// `hollow` weighed by the share of each area's border that is drawn like the outline.
    pub lean: f64,
    /// `hollow` on a figure that is mostly coloured.
    pub window: f64,
    /// Length of outline without a line, paler than it, at the figure's own top, bottom, left or right end, share of
    /// the height, on a figure that is mostly coloured: a cut edge.
    pub flat: f64,
    /// Climb to the ink, share of the height.
    pub blur: f64,
    /// Largest `attached` of the sheet's other views.
    pub others: f64,
    /// Enclosed areas taken as surface that lie where ground may show, share of the square of the height.
    pub hollow: f64,
    /// Ink that hangs on the figure and is none of it, share of the ink of its outline.
    pub attached: f64,
    /// Loose ink close to the figure that is no letter, same share.
    pub nearby: f64,
    /// Height of the second piece into which the figure falls at narrow necks, share of its height.
    pub halves: f64,
    /// Longest stretch without the usual line that is paler than the line, in figure heights: a stain, a smudge.
    pub pale: f64,
    /// Enclosed areas taken as ground by the weight of their border, share of the square of the height, for a line of
    /// one pixel; half as much at two.
    pub weighed: f64,
    /// `weighed` where the line's own width varies too much to weigh it, share of the square of the height.
    pub uneven: f64,
    /// Longest stretch without the usual line on a figure that is mostly bare paper, in figure heights: a stain.
    pub blot: f64,
    /// Loose ink on the whole sheet, share of the ink of all figures.
    pub elsewhere: f64,
    /// Softness of the edge: the climb to the ink beyond half of the line's width, share of the height.
    pub soft: f64,
    /// Longest straight stretch along a row, share of the height, on a figure without a line: a guide line that stayed on.
    /// Legs may be as straight as columns.
    pub straight: f64,
    /// The same along a row or a column, without a line on a figure that has one: a cut edge.
    pub cut: f64,
    /// Least departure that counts as a mark against the palest tenth of the line.
    pub faint: f64,
    /// Spread of the line's width (90th less 10th percentile) against its median.
    pub spread: f64,
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
    /// Loose ink, share of the ink of all figures.
    elsewhere: f64,
}

impl<'a> Sheet<'a> {
    pub(super) fn new(departure: &'a Departure, strokes: &'a Runs, regions: &'a [Region]) -> Self {
        let (mut ink, mut own) = (0u64, 0u64);
        for y in 0..strokes.height() {
            for r in strokes.row(y) {
                ink += u64::from(r.x1 - r.x0);
                own += regions.iter().map(|o| shared(o, y, *r)).sum::<u64>();
            }
        }
        Self {
            elsewhere: ink.saturating_sub(own) as f64 / own.max(1) as f64,
            departure,
            strokes,
            regions,
            labels: strokes.labels(Joined::Eight),
        }
    }

    /// What one figure tells before its outline is known.
    pub(super) fn gather(&self, region: &Region) -> Gathered {
        let (loose, (halves, filled)) = rayon::join(
            || self.loose(region),
            || rayon::join(|| halves(region), || self.filled(region)),
        );
        Gathered {
            loose,
            halves,
            filled,
        }
    }

    /// Share of a region that departs from the paper.
    fn filled(&self, region: &Region) -> f64 {
        let marked: usize = region
            .rows
            .iter()
            .enumerate()
            .flat_map(|(row, runs)| runs.iter().map(move |r| (row + region.bounds[1], r)))
            .map(|(y, r)| {
                let values = &self.departure.row(y)[r.x0 as usize..r.x1 as usize];
                values.iter().filter(|v| **v >= self.departure.threshold).count()
            })
            .sum();
        marked as f64 / region.area.max(1) as f64
    }

    /// Loose ink that hangs on a region, and loose ink close to it, in pixels.
    fn loose(&self, region: &Region) -> (u64, u64) {
        let reach = (AROUND * region.height() as f64) as usize;
        let [x0, y0, x1, y1] = region.bounds;
        let near_x = x0.saturating_sub(reach) as u32..(x1 + reach) as u32;
        let mut within = vec![0u64; self.labels.count];
        let mut loose = vec![0u64; self.labels.count];
        let mut close = vec![0u64; self.labels.count];
        // Left, top, right and bottom of each.
        let mut boxes = vec![[u32::MAX, u32::MAX, 0, 0]; self.labels.count];
        for y in 0..self.strokes.height() {
            for i in self.strokes.range(y) {
                let (r, l) = (self.strokes.runs[i], self.labels.of_run[i] as usize);
                let own = shared(region, y, r);
                let others: u64 = self.regions.iter().map(|o| shared(o, y, r)).sum();
                let rest = u64::from(r.x1 - r.x0).saturating_sub(others.max(own));
                let b = &mut boxes[l];
                *b = [
                    b[0].min(r.x0),
                    b[1].min(y as u32),
                    b[2].max(r.x1),
                    b[3].max(y as u32 + 1),
                ];
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
        let letter = LETTER * region.height() as f64;
        for (l, b) in boxes.iter().enumerate() {
            let long = f64::from((b[2].saturating_sub(b[0])).max(b[3].saturating_sub(b[1])));
            if within[l] > 0 {
                out.0 += loose[l];
            } else if long > letter {
                out.1 += close[l];
            }
        }
        out
    }
}

/// What a figure tells before its outline is known.
pub(super) struct Gathered {
    /// Loose ink that hangs on it, and loose ink close to it, in pixels.
    loose: (u64, u64),
    /// Height of the second piece into which it falls at narrow necks, share of its height.
    halves: f64,
    /// Share of it that departs from the paper.
    filled: f64,
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
pub(super) fn rank(values: &mut [f64], share: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    values
        .get(((values.len() as f64 - 1.0).max(0.0) * share).round() as usize)
        .copied()
        .unwrap_or(0.0)
}

/// Whether something abuts outside, or no line of the usual width is there.
pub(super) fn bad(s: &Seen, line_px: f64) -> bool {
    !s.clean || (line_px > 0.0 && !lined(s, line_px))
}

fn lined(s: &Seen, line_px: f64) -> bool {
    s.width
        .is_some_and(|w| (LINE_RANGE.0 * line_px..=LINE_RANGE.1 * line_px).contains(&w))
}

/// Stretches of flagged points of a ring: first point and number of points.
pub(super) fn stretches(flagged: &[bool]) -> Vec<(usize, usize)> {
    let n = flagged.len();
    let Some(start) = (0..n).find(|&i| (0..=CHINK).all(|k| !flagged[(i + k) % n])) else {
        return if n > 0 { vec![(0, n)] } else { Vec::new() };
    };
    let mut out: Vec<(usize, usize)> = Vec::new();
    for k in (0..n).filter(|k| flagged[(start + k) % n]) {
        match out.last_mut() {
            Some((from, len)) if k <= *from + *len + CHINK => *len = k + 1 - *from,
            _ => out.push((k, 1)),
        }
    }
    out.iter().map(|(from, len)| ((start + from) % n, *len)).collect()
}

/// Points of the longest flagged stretch of all rings.
fn longest(seen: &[Vec<Seen>], flag: impl Fn(&Seen) -> bool) -> f64 {
    let flags = |r: &Vec<Seen>| r.iter().map(&flag).collect::<Vec<bool>>();
    let of = |r: &Vec<Seen>| stretches(&flags(r)).iter().map(|s| s.1).max().unwrap_or(0);
    seen.iter().map(of).max().unwrap_or(0) as f64
}

impl Evidence {
    /// Gathers what one figure tells. `scale` is the size of a reduced pixel, `line_px` the line's width and `closed`
    /// the length of the closed gaps in pixels of the picture.
    pub(super) fn gather(
        sheet: &Sheet<'_>,
        region: &Region,
        gathered: &Gathered,
        outline: &Outline<Upright>,
        seen: &[Vec<Seen>],
        scale: f64,
        line_px: f64,
    ) -> Self {
        let height = region.height() as f64 * scale;
        let all = || seen.iter().flatten();
        let filled = gathered.filled;
        let total = all().count().max(1) as f64;
        let share = |n: usize| n as f64 / total;
        let perimeter = outline.perimeter().max(1.0);
        let spacing = perimeter / total;
        let mut widths: Vec<f64> = all()
            .filter(|s| s.clean)
            .filter_map(|s| s.width)
            .filter(|w| *w <= 4.0 * line_px)
            .collect();
        let mut peaks: Vec<f64> = all().map(|s| f64::from(s.peak)).collect();
        let usual = rank(&mut peaks, 0.5) as f32;
        let mut climbs: Vec<f64> = all().filter(|s| s.clean).map(|s| s.climb).collect();
        // A figure without a line has no ink of its own: a thin line stands for it.
        let pen = if line_px > 0.0 { line_px } else { 0.004 * height };
        let ink = pen * perimeter / (scale * scale);
        let (attached, nearby) = gathered.loose;
        let edge = straight(outline, seen, height, line_px > 0.0, |s| {
            line_px == 0.0 || (bad(s, line_px) && s.peak < CUT_EDGE * usual)
        });
        Self {
            disturbed: share(all().filter(|s| !s.clean).count()),
            pale: longest(seen, |s| bad(s, line_px) && s.peak < PALE * usual) * spacing / height,
            blot: if filled < BARE {
                longest(seen, |s| line_px > 0.0 && !lined(s, line_px)) * spacing / height
            } else {
                0.0
            },
            elsewhere: sheet.elsewhere,
            flat: if line_px > 0.0 && filled >= BARE {
                flat(outline, seen, |s| !lined(s, line_px) && s.peak < CUT_EDGE * usual)
            } else {
                0.0
            },
            blur: rank(&mut climbs, 0.5) / height,
            soft: (rank(&mut climbs, 0.5) - line_px / 2.0).max(0.0) / height,
            straight: if line_px > 0.0 { 0.0 } else { edge },
            cut: if line_px > 0.0 { edge } else { 0.0 },
            attached: attached as f64 / ink,
            nearby: nearby as f64 / ink,
            halves: gathered.halves,
            faint: f64::from(sheet.departure.threshold) / rank(&mut peaks, 0.1).max(1.0),
            spread: if line_px > 0.0 {
                (rank(&mut widths, 0.9) - rank(&mut widths, 0.1)) / line_px
            } else {
                0.0
            },
            ..Self::default()
        }
    }

    /// Adds areas that were taken as ground by the weight of their border: `area` as a share of the square of the
    /// height, `line` the line's width.
    pub(super) fn add_weighed(&mut self, area: f64, line: f64) {
        self.weighed = area / line.max(1.0);
        if self.spread > UNEVEN {
            self.uneven = area;
        }
    }

    /// Adds an enclosed part that was taken as surface: it may have been ground if it lies between body and limb.
    pub(super) fn add_surface(
        &mut self,
        sheet: &Sheet<'_>,
        region: &Region,
        pocket: &Pocket,
        heavy: f64,
        line: f64,
    ) {
        let height = region.height() as f64;
        let size = pocket.area as f64 / (height * height);
        if size < LEAST_HOLLOW {
            return;
        }
        let reach = (OWN_LINE * line).max(2.0) as u32;
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
            self.lean += heavy * size;
            if sheet.filled(region) >= BARE {
                self.window += size;
            }
        }
    }
}

/// Height of the second piece into which a region falls at narrow necks, as a share of its height.
fn halves(region: &Region) -> f64 {
    let height = region.height() as f64;
    let half = ((NECK * height) as u32).max(1);
    let eroded = erode(&framed(region, half + 1), half);
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

/// Length of the flagged outline within a hair of the figure's own ends, as a share of the height: a cut edge.
fn flat(outline: &Outline<Upright>, seen: &[Vec<Seen>], flag: impl Fn(&Seen) -> bool) -> f64 {
    let Some(b) = outline.bounds() else { return 0.0 };
    let hair = END * b.height();
    let mut ends = [0.0f64; 4];
    for (ring, seen) in outline.rings.iter().zip(seen) {
        for (i, p) in (0..).zip(ring).filter(|(i, _)| flag(&seen[*i])) {
            let long = p.distance(ring[(i + 1) % ring.len()]);
            let near = [p.y - b.y0, b.y1 - p.y, p.x - b.x0, b.x1 - p.x];
            for (end, _) in ends.iter_mut().zip(near).filter(|(_, d)| *d <= hair) {
                *end += long;
            }
        }
    }
    ends.into_iter().fold(0.0, f64::max) / b.height()
}

/// Length of the longest stretch along a row (or a column) of flagged points, as a share of the height.
fn straight(
    outline: &Outline<Upright>,
    seen: &[Vec<Seen>],
    height: f64,
    columns_too: bool,
    flag: impl Fn(&Seen) -> bool,
) -> f64 {
    let slack = (STRAIGHT * height).max(0.75);
    let mut longest = 0.0f64;
    for (ring, seen) in outline.rings.iter().zip(seen) {
        let n = ring.len();
        let axes = [|p: &Point<Upright>| (p.x, p.y), |p: &Point<Upright>| (p.y, p.x)];
        for axis in &axes[..1 + usize::from(columns_too)] {
            // Where a stretch began, and the span of its places across.
            let (start, level) = axis(&ring[0]);
            let (mut from, mut low, mut high) = (start, level, level);
            for i in 0..=n {
                let (along, across) = axis(&ring[i % n]);
                (low, high) = (low.min(across), high.max(across));
                if !flag(&seen[i % n]) || high - low > slack {
                    (from, low, high) = (along, across, across);
                } else {
                    longest = longest.max((along - from).abs());
                }
            }
        }
    }
    longest / height
}
