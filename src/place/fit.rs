//! Fits drawn outlines onto a mesh's outlines: one scale and one ground for all views of an image, a shift each.
//!
//! Samples of the mesh's outline are laid onto the drawing; the distance to it is judged by the Geman-McClure
//! function, so that a part that is missing in neither but wrong in one (which is what the program is there to
//! measure) does not pull the rest. A search over scale, ground and shift on tabulated distances finds the
//! neighbourhood; iteratively reweighted Gauss-Newton steps along the outline's normals (point to line, as in
//! LM-ICP, Fitzgibbon 2003) finish. Distances are judged in units of the mesh, so that shrinking the drawing's
//! counterpart brings no gain.
//!
//! Limits: the mesh must show enough outline along both axes; arms in another pose count as wrong parts.

use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

use super::field::Field;
use super::transform::Placement;
use crate::profile::{DistanceIndex, Outline};
use crate::space::{Level, Point, ViewUnits};

/// Samples along a mesh outline.
const SAMPLES: usize = 420;
/// Of them used while searching.
const SEARCH_EVERY: usize = 4;
/// Widths of the judging function, in shares of the mesh's height, from the first step to the last.
const WIDTHS: [f64; 12] = [
    0.05, 0.04, 0.03, 0.025, 0.02, 0.015, 0.012, 0.010, 0.008, 0.007, 0.006, 0.006,
];
/// Width while searching.
const SEARCH_WIDTH: f64 = 0.02;
/// Step of the search over ground and shift, in shares of the drawing's height: half the search's width.
const SEARCH_STEP: f64 = 0.012;
/// Shifts tried to either side of where the middles of mesh and drawing meet.
const SHIFTS: i32 = 9;
/// Shares of the drawing's height that a mesh may cover, from a pelvis with legs to one drawn too small.
const LEAST_SHARE: f64 = 0.36;
/// The largest of them.
const MOST_SHARE: f64 = 1.12;
/// From one share to the next: the ends of the mesh move by less than the search's width.
const SHARE_STEP: f64 = 0.035;
/// The search may begin this far below the drawing's ground and end as far above its crown, in shares of its height.
const OVERHANG: f64 = 0.03;
/// Best candidates of the search that are refined.
const REFINED: usize = 6;
/// Share of agreeing outline from which the search is spared. By trial: whole meshes with a fault or two agree to nine
/// tenths and more; below that the search costs time but can only find better.
pub const WHOLE: f64 = 0.85;
/// A sample agrees if it lies within this share of the mesh's height.
const AGREES: f64 = 0.01;

/// A sample of a mesh outline: place, unit normal.
#[derive(Debug, Clone, Copy)]
struct Sample {
    x: f64,
    y: f64,
    nx: f64,
    ny: f64,
}

/// A drawn outline ready to be fitted onto.
pub struct Drawn {
    index: DistanceIndex<Level>,
    field: Field,
    /// Crown and ground row.
    pub crown_px: f64,
    /// Ground row.
    pub ground_px: f64,
    middle_px: f64,
}

impl Drawn {
    /// Prepares an outline; `None` for an empty one.
    pub fn new(outline: &Outline<Level>) -> Option<Self> {
        let index = DistanceIndex::new(outline);
        let field = Field::new(outline)?;
        let b = outline.bounds()?;
        Some(Self {
            index,
            field,
            crown_px: b.y0,
            ground_px: b.y1,
            middle_px: f64::midpoint(b.x0, b.x1),
        })
    }

    fn height(&self) -> f64 {
        self.ground_px - self.crown_px
    }
}

/// A mesh outline ready to be fitted.
pub struct Modelled {
    samples: Vec<Sample>,
    /// Lowest and highest y.
    pub low: f64,
    /// Highest y.
    pub high: f64,
    middle: f64,
}

impl Modelled {
    /// Samples an outline evenly along its length; `None` for an empty one.
    pub fn new(outline: &Outline<ViewUnits>) -> Option<Self> {
        let b = outline.bounds()?;
        let step = outline.perimeter() / SAMPLES as f64;
        if step.is_nan() || step <= 0.0 {
            return None;
        }
        let mut samples = Vec::with_capacity(SAMPLES + 8);
        let mut carry = step / 2.0;
        for (p, q) in outline.segments() {
            let (dx, dy) = (q.x - p.x, q.y - p.y);
            let len = dx.hypot(dy);
            if len <= 0.0 {
                continue;
            }
            while carry < len {
                let t = carry / len;
                samples.push(Sample {
                    x: p.x + t * dx,
                    y: p.y + t * dy,
                    nx: dy / len,
                    ny: -dx / len,
                });
                carry += step;
            }
            carry -= len;
        }
        Some(Self {
            samples,
            low: b.y0,
            high: b.y1,
            middle: f64::midpoint(b.x0, b.x1),
        })
    }

    /// Extent along y.
    pub fn height(&self) -> f64 {
        self.high - self.low
    }
}

/// A drawn view and the mesh's view that it is held against.
pub struct Pair<'a> {
    /// The drawing.
    pub drawn: &'a Drawn,
    /// The mesh.
    pub modelled: &'a Modelled,
}

/// Which of the common quantities are found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Free {
    /// Scale, ground and shifts.
    All,
    /// Shifts only.
    Shifts,
}

/// A fit of several views of one image.
#[derive(Debug, Clone)]
pub struct Fit {
    /// Mesh units per levelled pixel.
    pub units_per_px: f64,
    /// Levelled row of view y = 0.
    pub zero_px: f64,
    /// Levelled column of view x = 0, a view each.
    pub origins_px: Vec<f64>,
    /// Mean judged distance, 0 (all on the drawing) to 1.
    pub cost: f64,
    /// Share of the samples that agree with the drawing.
    pub agreeing: f64,
}

impl Fit {
    /// The placement of one of the views.
    pub fn placement(&self, view: usize) -> Placement {
        Placement {
            units_per_px: self.units_per_px,
            origin_px: self.origins_px[view],
            zero_px: self.zero_px,
            mirrored: false,
        }
    }
}

fn judged(distance: f64, width: f64) -> f64 {
    let r = distance * distance;
    r / (r + width * width)
}

/// Where a refinement begins: the best shifts of a search for a scale and a ground.
fn begin(pairs: &[Pair<'_>], units_per_px: f64, zero_px: f64) -> Fit {
    let origins_px = pairs
        .iter()
        .map(|p| best_shift(p, units_per_px, zero_px).0)
        .collect();
    Fit {
        units_per_px,
        zero_px,
        origins_px,
        cost: 1.0,
        agreeing: 0.0,
    }
}

/// Finds the shifts for a known scale and ground.
pub fn shifts(pairs: &[Pair<'_>], units_per_px: f64, zero_px: f64) -> Fit {
    refine(pairs, begin(pairs, units_per_px, zero_px), Free::Shifts)
}

/// How long to look for a placement.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Effort {
    /// Only where the heights of mesh and drawing agree: enough for a whole figure.
    Heights,
    /// Everywhere, if the heights' agreement does not lay enough of the outline on the drawing.
    Everywhere,
}

/// Finds scale, ground and shifts. Begins where the heights of mesh and drawing agree and searches on only if that
/// lays too little of the mesh's outline on the drawing: then the mesh is not a whole figure. `None` without pairs.
pub fn everything(pairs: &[Pair<'_>], effort: Effort) -> Option<Fit> {
    let lead = pairs.first()?;
    let drawn_height = lead.drawn.height();
    let scale = lead.modelled.height() / drawn_height;
    let zero_px = |ground_px: f64, units_per_px: f64| ground_px + lead.modelled.low / units_per_px;
    let by_height = refine(
        pairs,
        begin(pairs, scale, zero_px(lead.drawn.ground_px, scale)),
        Free::All,
    );
    if by_height.agreeing > WHOLE || effort == Effort::Heights {
        return Some(by_height);
    }
    // Candidates: the mesh covers a share of the drawing's height and begins at some height above its ground.
    let mut places: Vec<(f64, f64)> = Vec::new();
    let mut share = LEAST_SHARE;
    while share < MOST_SHARE {
        let units_per_px = scale / share;
        let room = drawn_height * ((1.0 - share).max(0.0) + 2.0 * OVERHANG);
        let steps = (room / (SEARCH_STEP * drawn_height)).ceil().max(1.0);
        for step in 0..=steps as usize {
            let above = room * step as f64 / steps - OVERHANG * drawn_height;
            places.push((units_per_px, zero_px(lead.drawn.ground_px - above, units_per_px)));
        }
        share *= 1.0 + SHARE_STEP;
    }
    let mut found: Vec<(f64, f64, f64)> = places
        .into_par_iter()
        .map(|(units_per_px, zero_px)| {
            let cost = pairs.iter().map(|p| best_shift(p, units_per_px, zero_px).1).sum();
            (cost, units_per_px, zero_px)
        })
        .collect();
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    let refined: Vec<Fit> = found
        .par_iter()
        .take(REFINED)
        .map(|f| refine(pairs, begin(pairs, f.1, f.2), Free::All))
        .collect();
    std::iter::once(by_height)
        .chain(refined)
        .min_by(|a, b| a.cost.total_cmp(&b.cost))
}

/// Origin column with the least cost among shifts about the middle, and that cost.
fn best_shift(pair: &Pair<'_>, units_per_px: f64, zero_px: f64) -> (f64, f64) {
    let (k, m) = (1.0 / units_per_px, pair.modelled);
    let width = SEARCH_WIDTH * m.height();
    let centred = pair.drawn.middle_px - m.middle * k;
    let cost = |origin: f64| {
        let samples = m.samples.iter().step_by(SEARCH_EVERY);
        let n = m.samples.len().div_ceil(SEARCH_EVERY) as f64;
        let sum: f64 = samples
            .map(|s| {
                judged(
                    pair.drawn.field.at(origin + k * s.x, zero_px - k * s.y) * units_per_px,
                    width,
                )
            })
            .sum();
        sum / n
    };
    let step = SEARCH_STEP * pair.drawn.height();
    let mut best = (centred, cost(centred));
    for i in -SHIFTS..=SHIFTS {
        let origin = centred + f64::from(i) * step;
        let c = cost(origin);
        if c < best.1 {
            best = (origin, c);
        }
    }
    best
}

fn refine(pairs: &[Pair<'_>], mut fit: Fit, free: Free) -> Fit {
    let size = pairs.iter().map(|p| p.modelled.height()).fold(0.0, f64::max);
    for width in WIDTHS {
        let Some(next) = step(pairs, &fit, free, width * size) else {
            break;
        };
        fit = next;
    }
    let last = WIDTHS[WIDTHS.len() - 1] * size;
    let (mut cost, mut agreeing, mut n) = (0.0, 0.0, 0.0);
    for (v, pair) in pairs.iter().enumerate() {
        let k = 1.0 / fit.units_per_px;
        let mut hint = usize::MAX;
        for s in &pair.modelled.samples {
            let p = Point::new(fit.origins_px[v] + k * s.x, fit.zero_px - k * s.y);
            let d = pair.drawn.index.distance_near(p, &mut hint) * fit.units_per_px;
            cost += judged(d, last);
            agreeing += f64::from(u8::from(d <= AGREES * size));
            n += 1.0;
        }
    }
    Fit {
        cost: cost / f64::max(n, 1.0),
        agreeing: agreeing / f64::max(n, 1.0),
        ..fit
    }
}

/// One reweighted least-squares step. Unknowns: pixels per unit and row of zero (if free), a column a view.
fn step(pairs: &[Pair<'_>], fit: &Fit, free: Free, width: f64) -> Option<Fit> {
    let common = if free == Free::All { 2 } else { 0 };
    let n = common + pairs.len();
    let mut normal = DMatrix::<f64>::zeros(n, n);
    let mut right = DVector::<f64>::zeros(n);
    let k = 1.0 / fit.units_per_px;
    for (v, pair) in pairs.iter().enumerate() {
        let mut hint = usize::MAX;
        for s in &pair.modelled.samples {
            let (x, y) = (fit.origins_px[v] + k * s.x, fit.zero_px - k * s.y);
            let (near, distance) = pair.drawn.index.nearest_near(Point::new(x, y), &mut hint)?;
            let d = distance * fit.units_per_px;
            let weight = (width * width / (d * d + width * width)).powi(2);
            // The sample's normal, in pixels with y down.
            let (nx, ny) = (s.nx, -s.ny);
            let residual = (x - near.x) * nx + (y - near.y) * ny;
            let mut row = [(0usize, 0.0f64); 3];
            let mut used = 0;
            if free == Free::All {
                row[0] = (0, s.x * nx - s.y * ny);
                row[1] = (1, ny);
                used = 2;
            }
            row[used] = (common + v, nx);
            for &(i, a) in &row[..=used] {
                right[i] -= weight * a * residual;
                for &(j, b) in &row[..=used] {
                    normal[(i, j)] += weight * a * b;
                }
            }
        }
    }
    // A trace of damping keeps a quantity in place that no sample speaks about.
    let damping = 1e-9 * (0..n).map(|i| normal[(i, i)]).fold(0.0, f64::max);
    for i in 0..n {
        normal[(i, i)] += damping;
    }
    let found = normal.cholesky()?.solve(&right);
    if !found.iter().all(|c| c.is_finite()) {
        return None;
    }
    let mut next = fit.clone();
    if free == Free::All {
        let pixels_per_unit = k + found[0];
        // A step never changes the scale by more than a tenth.
        if !(pixels_per_unit > 0.9 * k && pixels_per_unit < 1.1 * k) {
            return None;
        }
        next.units_per_px = 1.0 / pixels_per_unit;
        next.zero_px += found[1];
    }
    for (v, origin) in next.origins_px.iter_mut().enumerate() {
        *origin += found[common + v];
    }
    Some(next)
}
