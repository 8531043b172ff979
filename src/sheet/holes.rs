//! Paper that a figure encloses: the ground seen between an arm and the body, or the figure's own paper-white
//! surface? A decision by evidence, told to the user.
//!
//! - The enclosed part is coloured: surface.
//! - The paper is transparent, or the figure is coloured nearly all over: ground, as a hole in a cut-out.
//! - In a line drawing: an outline is usually drawn heavier than lines within a figure. If the enclosed part has the
//!   outline's weight all around, it is ground; a part with a lighter stretch in its border (a sleeve, an ear, a
//!   face) is surface.
//! - Where all lines have one weight: an empty part that has a twin on the other side of an upright figure, away from
//!   its middle and from its outer edge, is taken for ground, but not surely.
//!
//! A stroke is measured in two ways, both finer than a pixel: the darkness across it (blur does not change that, while it
//! makes all widths alike) and its width (which grey pencil does not change); see [`super::ink::stroke_width`].

use super::figures::{Pocket, Region};
use super::ink::stroke_width;
use super::runs::{Run, Runs};
use super::tone::Departure;

/// A pocket smaller than this share of its figure's area is a speck (an eye's highlight).
const LEAST: f64 = 0.0012;
/// The same where the paper is transparent or the figure coloured all over: nothing else looks like paper there.
const LEAST_CUT_OUT: f64 = 0.0004;
/// At least this share of a figure's area must depart from the paper for its enclosed paper to be ground.
const FILLED_SHARE: f64 = 0.62;
/// The outline is heavier than the inner lines if its width is at least this many times theirs. Common practice (a
/// heavier outline), the amount found by trial: readings of one pen's width differ by a tenth.
const HEAVIER: f64 = 1.22;
/// This share of a hole's border must have the outline's weight, what faces the outside left aside. On the cases holes
/// have 0.65 and more, sleeves, shoes and hair up to 0.5.
const ALL_AROUND: f64 = 0.6;
/// From this share on it is worth a warning.
const HALF_AROUND: f64 = 0.55;
/// Share of the inner strokes that are surely no hole's border.
const LIGHTER: f64 = 0.3;
/// A hole touches the outside along at most this share of its border: a limb lies between. A glove, a shoe, a
/// sleeve or half a belly lies at the outline with a third of its border and more.
const MOST_OUTWARD: f64 = 0.15;
/// Departure that counts as one whole pixel of a stroke's width.
const FULL: f64 = 255.0;
/// Fewest strokes that tell a weight.
const LEAST_STROKES: usize = 24;
/// Strokes wider than this many outline widths are blots.
const BLOT: f64 = 3.0;
/// A twin overlaps the mirror image of a part by at least this much (intersection over union).
const TWIN: f64 = 0.6;
/// A hole without heavier lines is at least this share of the figure's area.
const LEAST_TWIN: f64 = 0.008;
/// And lies at least this share of the height from the middle.
const FROM_MIDDLE: f64 = 0.06;
/// And between these shares of the height from the crown: below the head, above the knees.
const BESIDE_BODY: (f64, f64) = (0.2, 0.72);
/// Legs begin about this share of the height below the crown: child-like figures have short ones, so this is above
/// where any crotch is drawn. Common practice, no source.
const LEGS: f64 = 0.45;

/// What an enclosed part of the paper's colour is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Enclosed {
    /// Ground, surely.
    Ground,
    /// Ground, by its place alone.
    PerhapsGround,
    /// Surface, though it could be ground.
    PerhapsSurface,
    /// The figure's surface.
    Surface,
}

/// A decision and how much spoke for ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Decided {
    /// What the part is taken for.
    pub what: Enclosed,
    /// Share of its border that is drawn like the outline, 0 where no line could be weighed.
    pub heavy: f64,
}

/// Weighs the strokes around every pocket of a figure; `None` without pockets. `marks` are the sheet's strokes.
pub(super) fn weigh(departure: &Departure, marks: &Runs, region: &Region) -> Option<Weights> {
    let pockets = region.pockets.len();
    (pockets > 0).then(|| Weights::measure(departure, &Grid::new(marks, region), marks, pockets))
}

/// Decides on every pocket of a figure, whose strokes were weighed; `cut_out` says that the paper is transparent or the
/// figure has no line.
pub(super) fn decide(
    departure: &Departure,
    region: &Region,
    weights: Option<&Weights>,
    cut_out: bool,
) -> Vec<Decided> {
    let Some(weights) = weights else {
        return Vec::new();
    };
    let filled = filled_share(departure, region);
    let surface =
        |p: &Pocket, least: f64| (p.area as f64) < least * region.area as f64 || coloured(departure, p);
    if cut_out && filled > FILLED_SHARE {
        return region
            .pockets
            .iter()
            .map(|p| Decided {
                what: if surface(p, LEAST_CUT_OUT) {
                    Enclosed::Surface
                } else {
                    Enclosed::Ground
                },
                heavy: 0.0,
            })
            .collect();
    }
    let mut decided: Vec<Enclosed> = region
        .pockets
        .iter()
        .enumerate()
        .map(|(i, p)| {
            if surface(p, LEAST) {
                return Enclosed::Surface;
            }
            if weights.outward_share(i) > MOST_OUTWARD || !can_show(region, p) {
                return Enclosed::Surface;
            }
            match weights.heavy_share(i) {
                Some(share) if share >= ALL_AROUND => Enclosed::Ground,
                Some(share) if share >= HALF_AROUND && p.area as f64 >= LEAST_TWIN * region.area as f64 => {
                    Enclosed::PerhapsSurface
                }
                Some(_) => Enclosed::Surface,
                None if filled > FILLED_SHARE => Enclosed::PerhapsGround,
                None => by_place(region, i),
            }
        })
        .collect();
    twins(region, &mut decided, |i, p| {
        !surface(p, LEAST) && weights.outward_share(i) <= MOST_OUTWARD && can_show(region, p)
    });
    let heavy = |i: usize| weights.heavy_share(i).unwrap_or(0.0);
    decided
        .into_iter()
        .enumerate()
        .map(|(i, what)| Decided {
            what,
            heavy: heavy(i),
        })
        .collect()
}

/// An enclosed part whose mirror image is ground is ground, too, unless something speaks against it (`may` says no).
fn twins(region: &Region, decided: &mut [Enclosed], may: impl Fn(usize, &Pocket) -> bool) {
    let axis = axis(region);
    let ground: Vec<usize> = (0..decided.len())
        .filter(|&i| decided[i] == Enclosed::Ground)
        .collect();
    for (i, p) in region.pockets.iter().enumerate() {
        let open = matches!(decided[i], Enclosed::Surface | Enclosed::PerhapsSurface) && may(i, p);
        if open
            && ground
                .iter()
                .any(|&g| mirrored_overlap(&region.pockets[g], p, axis) >= TWIN)
        {
            decided[i] = Enclosed::PerhapsGround;
        }
    }
}

/// Share of a figure's area that departs from the paper.
fn filled_share(departure: &Departure, region: &Region) -> f64 {
    let marked: u64 = region
        .rows
        .iter()
        .enumerate()
        .flat_map(|(row, runs)| runs.iter().map(move |r| (row, r)))
        .map(|(row, r)| {
            let values = &departure.row(region.bounds[1] + row)[r.x0 as usize..r.x1 as usize];
            values.iter().filter(|v| **v >= departure.threshold).count() as u64
        })
        .sum();
    marked as f64 / region.area.max(1) as f64
}

/// Whether most of a pocket departs from the paper.
fn coloured(departure: &Departure, pocket: &Pocket) -> bool {
    let marked: u64 = pocket
        .runs
        .iter()
        .map(|(y, r)| {
            let values = &departure.row(*y)[r.x0 as usize..r.x1 as usize];
            values.iter().filter(|v| **v >= departure.threshold).count() as u64
        })
        .sum();
    2 * marked > pocket.area
}

/// How far a pocket's middle lies from the figure's upright middle, and how far below its crown, in shares of the
/// height.
fn place(region: &Region, pocket: &Pocket) -> (f64, f64) {
    let height = region.height() as f64;
    let n = pocket.area as f64;
    let (mut sx, mut sy) = (0.0, 0.0);
    for (y, r) in &pocket.runs {
        let (x0, x1) = (f64::from(r.x0), f64::from(r.x1));
        sx += (x1 - x0) * (x0 + x1) / 2.0;
        sy += (x1 - x0) * *y as f64;
    }
    (
        (sx / n - axis(region)).abs() / height,
        (sy / n - region.bounds[1] as f64) / height,
    )
}

/// What an enclosed area lies between.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Beside {
    /// A limb and the body.
    Body,
    /// The legs.
    Legs,
    /// Neither is sure.
    Elsewhere,
}

/// What a pocket lies between, by its place alone.
pub fn beside(region: &Region, pocket: &Pocket) -> Beside {
    let (aside, down) = place(region, pocket);
    if aside >= FROM_MIDDLE && down >= BESIDE_BODY.0 && down <= BESIDE_BODY.1 {
        Beside::Body
    } else if aside < FROM_MIDDLE && down >= LEGS {
        Beside::Legs
    } else {
        Beside::Elsewhere
    }
}

/// Whether ground can show at a place: beside the middle, or between the legs. In the middle of the trunk and of the
/// head there is always a body.
fn can_show(region: &Region, pocket: &Pocket) -> bool {
    let (aside, down) = place(region, pocket);
    aside >= FROM_MIDDLE || down >= LEGS
}

/// A twin on the other side of the figure, beside the body.
fn by_place(region: &Region, index: usize) -> Enclosed {
    let pocket = &region.pockets[index];
    if (pocket.area as f64) < LEAST_TWIN * region.area as f64 {
        return Enclosed::Surface;
    }
    let axis = axis(region);
    if beside(region, pocket) != Beside::Body {
        return Enclosed::Surface;
    }
    let twin = region
        .pockets
        .iter()
        .enumerate()
        .any(|(j, other)| j != index && mirrored_overlap(pocket, other, axis) >= TWIN);
    if twin {
        Enclosed::PerhapsGround
    } else {
        Enclosed::PerhapsSurface
    }
}

/// The upright middle of a figure: median of the middles of its rows.
fn axis(region: &Region) -> f64 {
    let mut middles: Vec<u32> = region
        .rows
        .iter()
        .filter_map(|r| Some(r.first()?.x0 + r.last()?.x1))
        .collect();
    middles.sort_unstable();
    middles
        .get(middles.len() / 2)
        .map_or(0.0, |m| f64::from(*m) / 2.0)
}

/// Overlap of a pocket's mirror image with another (intersection over union).
fn mirrored_overlap(a: &Pocket, b: &Pocket, axis: f64) -> f64 {
    let mut common = 0.0;
    for (y, r) in &a.runs {
        let (x0, x1) = (2.0 * axis - f64::from(r.x1), 2.0 * axis - f64::from(r.x0));
        for (_, o) in b.runs.iter().filter(|(oy, _)| oy == y) {
            common += (x1.min(f64::from(o.x1)) - x0.max(f64::from(o.x0))).max(0.0);
        }
    }
    common / (a.area as f64 + b.area as f64 - common)
}

/// In a [`Grid`]: a mark.
const MARK: u16 = 0;
/// In a [`Grid`]: outside.
const OUTSIDE: u16 = 1;
/// In a [`Grid`]: inside, in no pocket.
const INSIDE: u16 = 2;
/// In a [`Grid`]: the first pocket.
const FIRST_POCKET: u16 = 3;

/// What each pixel of a region's box is.
struct Grid {
    bounds: [usize; 4],
    width: usize,
    of: Vec<u16>,
}

impl Grid {
    fn new(marks: &Runs, region: &Region) -> Self {
        let [x0, y0, x1, y1] = region.bounds;
        let width = x1 - x0;
        let mut of = vec![OUTSIDE; width * (y1 - y0)];
        let mut fill = |y: usize, a: usize, b: usize, v: u16| {
            let (a, b) = (a.max(x0), b.min(x1));
            if y >= y0 && y < y1 && a < b {
                of[(y - y0) * width + a - x0..(y - y0) * width + b - x0].fill(v);
            }
        };
        for (row, runs) in region.rows.iter().enumerate() {
            for r in runs {
                fill(y0 + row, r.x0 as usize, r.x1 as usize, INSIDE);
            }
        }
        for (i, p) in region
            .pockets
            .iter()
            .enumerate()
            .take(usize::from(u16::MAX - FIRST_POCKET))
        {
            for (y, r) in &p.runs {
                fill(*y, r.x0 as usize, r.x1 as usize, FIRST_POCKET + i as u16);
            }
        }
        for y in y0..y1 {
            for r in marks.row(y) {
                fill(y, r.x0 as usize, r.x1 as usize, MARK);
            }
        }
        Self {
            bounds: region.bounds,
            width,
            of,
        }
    }
}

/// The strokes of a figure by where they lie.
pub(super) struct Weights {
    /// Weight and width between the outer line's and the inner ones', if the two differ.
    between: [Option<f64>; 2],
    /// Along each pocket's border, but for where the outside lies beyond it.
    around: Vec<Vec<[f64; 2]>>,
    /// How many strokes of its border have the outside on their other side.
    outward: Vec<usize>,
}

impl Weights {
    fn measure(departure: &Departure, grid: &Grid, marks: &Runs, pockets: usize) -> Self {
        let mut out = Self {
            between: [None; 2],
            around: vec![Vec::new(); pockets],
            outward: vec![0; pockets],
        };
        let (mut outer, mut inner) = (Vec::new(), Vec::new());
        for stroke in strokes(departure, grid, marks) {
            let outside = stroke.sides.contains(&OUTSIDE);
            let mut pockets = stroke.sides.map(|s| s.checked_sub(FIRST_POCKET));
            pockets.sort_unstable();
            for (k, p) in pockets.iter().enumerate() {
                if let Some(p) = p.filter(|_| k == 0 || pockets[k - 1] != *p) {
                    if outside {
                        out.outward[usize::from(p)] += 1;
                    } else {
                        out.around[usize::from(p)].push(stroke.weight);
                    }
                }
            }
            if outside { &mut outer } else { &mut inner }.push(stroke.weight);
        }
        for k in 0..2 {
            let of = |all: &[[f64; 2]]| all.iter().map(|w| w[k]).collect();
            out.between[k] = between(of(&outer), of(&inner));
        }
        out
    }

    /// Share of a pocket's border that has the outside on its other side.
    fn outward_share(&self, pocket: usize) -> f64 {
        let outward = self.outward[pocket] as f64;
        outward / (outward + self.around[pocket].len() as f64).max(1.0)
    }

    /// Share of a pocket's border, where it does not face the outside, that is drawn as heavily as the outline, by
    /// weight and by width, whichever is less; `None` if neither tells anything.
    fn heavy_share(&self, pocket: usize) -> Option<f64> {
        let strokes = &self.around[pocket];
        if strokes.len() < LEAST_STROKES {
            return None;
        }
        (0..2)
            .filter_map(|k| Some((k, self.between[k]?)))
            .map(|(k, least)| strokes.iter().filter(|w| w[k] >= least).count() as f64 / strokes.len() as f64)
            .reduce(f64::min)
    }
}

/// A value between those of the outer line and of the inner lines, if the outer line is heavier.
fn between(mut outer: Vec<f64>, mut inner: Vec<f64>) -> Option<f64> {
    let usual = median(&mut outer)?;
    inner.retain(|w| *w <= BLOT * usual);
    // Holes are drawn like the outline: they must not pass for inner lines. The lighter part tells those.
    inner.sort_by(f64::total_cmp);
    let light = inner.get((LIGHTER * inner.len() as f64) as usize).copied()?;
    let differ = outer.len() >= LEAST_STROKES && inner.len() >= LEAST_STROKES && usual / light >= HEAVIER;
    differ.then(|| (usual * light).sqrt())
}

fn median(values: &mut [f64]) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied()
}

/// A stroke cut by a row and a column: its weight in pixels of full black and its width in pixels of its own darkness, and what lies on its two sides.
struct Stroke {
    weight: [f64; 2],
    sides: [u16; 2],
}

/// The strokes that rows and columns of the grid cut, each where the cut is the shorter: a border counts by its
/// length, whichever way it runs.
fn strokes(departure: &Departure, grid: &Grid, marks: &Runs) -> Vec<Stroke> {
    let [x0, y0, x1, y1] = grid.bounds;
    let (w, h) = (grid.width, y1 - y0);
    let marked = Runs::build(w, h, |y, out| {
        let within = |r: &Run| Run {
            x0: r.x0.max(x0 as u32) - x0 as u32,
            x1: r.x1.min(x1 as u32).saturating_sub(x0 as u32),
        };
        out.extend(marks.row(y0 + y).iter().map(within).filter(|r| r.x0 < r.x1));
    });
    let columns = marked.transposed();
    // A long stroke is met by many short cuts: what lies along it is summed once. The soft pixel on each end belongs to
    // the stroke by its share of the darkness.
    let soft = |r: &Run, most: usize| r.x0.saturating_sub(1) as usize..(r.x1 as usize + 1).min(most);
    let wide = |y: usize, r: &Run| {
        let cells = soft(r, w);
        sum_and_most(departure.row(y0 + y)[x0 + cells.start..x0 + cells.end].iter())
    };
    let tall = |x: usize, r: &Run| {
        let cells = soft(r, h);
        let down = departure.values[(y0 + cells.start) * departure.width + x0 + x..].iter();
        sum_and_most(down.step_by(departure.width).take(cells.len()))
    };
    let along_rows = summed(&marked, wide);
    let along_columns = summed(&columns, tall);
    let at = |x: usize, y: usize| grid.of[y * w + x];
    let mut out = Vec::new();
    for y in 0..h {
        for run in marked.row(y) {
            let x = (run.x0 + run.x1) / 2;
            let Some(column) = columns.index_of(y as u32, x as usize) else {
                continue;
            };
            let down = columns.runs[column];
            if run.x1 - run.x0 <= down.x1 - down.x0 {
                let before = (run.x0 > 0).then(|| at(run.x0 as usize - 1, y));
                let behind = ((run.x1 as usize) < w).then(|| at(run.x1 as usize, y));
                let sides = [before, behind].map(|s| s.unwrap_or(OUTSIDE));
                out.push(stroke(wide(y, run), along_columns[column], sides));
            }
        }
    }
    for x in 0..w {
        for run in columns.row(x) {
            let y = (run.x0 + run.x1) as usize / 2;
            let Some(row) = marked.index_of(x as u32, y) else {
                continue;
            };
            let across = marked.runs[row];
            if run.x1 - run.x0 < across.x1 - across.x0 {
                let middle = (across.x0 + across.x1) as usize / 2;
                let before = (run.x0 > 0).then(|| at(middle, run.x0 as usize - 1));
                let behind = ((run.x1 as usize) < h).then(|| at(middle, run.x1 as usize));
                let sides = [before, behind].map(|s| s.unwrap_or(OUTSIDE));
                out.push(stroke(along_rows[row], tall(middle, run), sides));
            }
        }
    }
    out
}

/// Something of each run, by its index.
fn summed(runs: &Runs, of: impl Fn(usize, &Run) -> (u32, u8)) -> Vec<(u32, u8)> {
    let rows = 0..runs.height();
    rows.flat_map(|y| runs.row(y).iter().map(move |r| (y, r)))
        .map(|(y, r)| of(y, r))
        .collect()
}

fn sum_and_most<'a>(values: impl Iterator<Item = &'a u8>) -> (u32, u8) {
    values.fold((0, 0), |(sum, most), v| (sum + u32::from(*v), most.max(*v)))
}

/// The stroke of which a row and a column cut so much darkness and as their darkest pixel.
fn stroke(wide: (u32, u8), tall: (u32, u8), sides: [u16; 2]) -> Stroke {
    let peak = f64::from(wide.1.max(tall.1).max(1));
    let darkness = stroke_width(f64::from(wide.0), f64::from(tall.0));
    Stroke {
        weight: [darkness / FULL, darkness / peak],
        sides,
    }
}
