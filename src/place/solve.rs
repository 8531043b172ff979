//! Least squares: brings samples of mesh outlines onto drawn ones, and says how sure the result is.
//!
//! Method: iteratively reweighted Gauss-Newton steps along the outline's normals (point to line, as in LM-ICP,
//! Fitzgibbon 2003), judged by the Geman-McClure function, whose width shrinks from step to step. A sample counts the
//! less the more its normal departs from the drawing's. What remains is correlated along the outline (a thigh that is
//! too thick is so all along), so the covariance is the sandwich of the normal matrix and of the sums over moving
//! blocks of the outline (Newey and West 1987, Bartlett weights; the weighted sum of lagged products equals the mean
//! over blocks of squared block sums).

use nalgebra::{DMatrix, DVector};

use super::fit::Fit;
use super::outlines::{Near, Pair, Sample};

/// Widths of the judging function, in shares of the mesh's size, from the first step to the last, and how many samples
/// are passed over from one to the next: the first steps need not be fine.
const STEPS: [(f64, usize); 12] = [
    (0.05, 4),
    (0.04, 4),
    (0.03, 4),
    (0.025, 2),
    (0.02, 2),
    (0.015, 2),
    (0.012, 1),
    (0.010, 1),
    (0.008, 1),
    (0.007, 1),
    (0.006, 1),
    (0.006, 1),
];
/// The same where only readings are compared: nothing is measured by it.
const ROUGH: [(f64, usize); 6] = [
    (0.05, 4),
    (0.03, 4),
    (0.02, 4),
    (0.012, 4),
    (0.008, 4),
    (0.006, 4),
];
/// The same from a place that a search found: wide steps would let parts that are wrong pull it away again.
const NEAR: [(f64, usize); 5] = [(0.015, 4), (0.012, 4), (0.010, 2), (0.008, 2), (0.006, 2)];
/// Last steps before something is measured; the last width is somewhat more than twice what a hand is off by, so that
/// little more than the drawing's own unrest takes part.
const FINISH: [(f64, usize); 5] = [(0.008, 1), (0.006, 1), (0.005, 1), (0.004, 1), (0.004, 1)];
/// Width by which placements are judged, in shares of the mesh's size: four times what a hand is off by.
const LAST: f64 = STEPS[STEPS.len() - 1].0;
/// Width of the last step.
const FINISHED: f64 = FINISH[FINISH.len() - 1].0;
/// A sample agrees with the drawing if it lies within this share of the mesh's size.
pub(super) const AGREES: f64 = 0.01;
/// From this width on normals count.
const NORMALS_FROM: f64 = 0.03;
/// The scale never changes by more than this share in a step.
const LARGEST_STEP: f64 = 0.1;
/// Length of the blocks that errors are taken to be correlated over, in shares of an outline's samples: a limb of a
/// standing figure. By judgement; with it no error of 480 on bodies whose placement is known lies beyond three standard
/// deviations.
const BLOCK: f64 = 0.08;
/// A hand is true to this share of the figure's height; no outline says more than that about a single place.
const HAND: f64 = 0.0005;
/// The redescending function lets go of far samples: what is left of the curvature, at least.
const LEAST_CURVATURE: f64 = 0.3;

/// Which quantities are unknown, and where each stands in the equations.
#[derive(Debug, Clone)]
pub(super) struct Unknowns {
    scale: Option<usize>,
    zero: Option<usize>,
    origins: Vec<Option<usize>>,
    count: usize,
    /// Mesh height at which the first view's ground row is held while the scale changes.
    ground: Option<(f64, f64)>,
}

impl Unknowns {
    /// `scale`, `zero`: whether these are free; `ground_y`: where the first view's ground is held.
    pub(super) fn new(pairs: &[Pair<'_>], scale: bool, zero: bool, ground_y: Option<f64>) -> Self {
        let mut count = 0;
        let mut take = |free: bool| {
            free.then(|| {
                count += 1;
                count - 1
            })
        };
        Self {
            scale: take(scale),
            zero: take(zero && ground_y.is_none()),
            origins: pairs.iter().map(|p| take(p.origin_px.is_none())).collect(),
            count,
            ground: ground_y.zip(pairs.first().map(|p| p.drawn.ground_px)),
        }
    }
}

/// One sample's equation: coefficients of the unknowns, what is left in pixels, how much it counts.
struct Equation {
    coefficients: [(usize, f64); 3],
    used: usize,
    residual: f64,
    weight: f64,
    /// Weight with which the curvature of the judging function counts.
    curvature: f64,
}

/// For each view the drawn segments that its samples were nearest to when they were last asked for: from one step to the
/// next a sample moves less than to its neighbour.
struct Nearby(Vec<Vec<usize>>);

impl Nearby {
    fn new(pairs: &[Pair<'_>]) -> Self {
        let unknown = |p: &Pair<'_>| vec![usize::MAX; p.modelled.samples.len()];
        Self(pairs.iter().map(unknown).collect())
    }

    /// Goes through every so many samples of a view, each with its place in pixels and the drawing's place nearest to it;
    /// a drawing without one has none.
    fn each(
        &mut self,
        pair: &Pair<'_>,
        view: usize,
        fit: &Fit,
        every: usize,
        mut found: impl FnMut(&Sample, (f64, f64), Option<Near>),
    ) {
        let k = 1.0 / fit.units_per_px;
        let mut last = usize::MAX;
        let samples = pair.modelled.samples.iter().zip(&mut self.0[view]);
        for (s, known) in samples.step_by(every) {
            let (x, y) = (fit.origins_px[view] + k * s.x, fit.zero_px - k * s.y);
            if *known == usize::MAX {
                *known = last;
            }
            let near = pair.drawn.nearest(x, y, known);
            last = *known;
            found(s, (x, y), near);
        }
    }
}

/// Goes through the samples of one view.
fn equations(
    pair: &Pair<'_>,
    view: usize,
    fit: &Fit,
    unknowns: &Unknowns,
    (width, every): (f64, usize),
    nearby: &mut Nearby,
    mut each: impl FnMut(&Equation),
) {
    let normals = width <= NORMALS_FROM * pair.modelled.size();
    nearby.each(pair, view, fit, every, |s, (x, y), near| {
        let Some(near) = near else {
            return;
        };
        // The sample's normal, in pixels with y down.
        let (nx, ny) = (s.nx, -s.ny);
        let along = (nx * near.normal.0 + ny * near.normal.1).max(0.0);
        let turned = if normals { along * along } else { 1.0 };
        let d = near.distance * fit.units_per_px;
        let (d2, w2) = (d * d, width * width);
        let weight = turned * (w2 / (d2 + w2)).powi(2);
        let mut coefficients = [(0usize, 0.0f64); 3];
        let mut used = 0;
        let mut put = |at: Option<usize>, a: f64| {
            if let Some(i) = at {
                coefficients[used] = (i, a);
                used += 1;
            }
        };
        let held = unknowns.ground.map_or(0.0, |(y, _)| y);
        put(unknowns.scale, s.x * nx + (held - s.y) * ny);
        put(unknowns.zero, ny);
        put(unknowns.origins[view], nx);
        each(&Equation {
            coefficients,
            used,
            residual: (x - near.x) * nx + (y - near.y) * ny,
            weight,
            curvature: weight * (w2 - 3.0 * d2) / (w2 + d2),
        });
    });
}

fn size(pairs: &[Pair<'_>]) -> f64 {
    pairs.iter().map(|p| p.modelled.size()).fold(0.0, f64::max)
}

/// One step; `None` where the equations say nothing.
fn step(
    pairs: &[Pair<'_>],
    fit: &Fit,
    unknowns: &Unknowns,
    how: (f64, usize),
    nearby: &mut Nearby,
) -> Option<Fit> {
    let n = unknowns.count;
    let mut normal = DMatrix::<f64>::zeros(n, n);
    let mut right = DVector::<f64>::zeros(n);
    for (v, pair) in pairs.iter().enumerate() {
        equations(pair, v, fit, unknowns, how, nearby, |e| {
            let row = &e.coefficients[..e.used];
            for &(i, a) in row {
                right[i] -= e.weight * a * e.residual;
                for &(j, b) in row {
                    normal[(i, j)] += e.weight * a * b;
                }
            }
        });
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
    if let Some(i) = unknowns.scale {
        let before = 1.0 / fit.units_per_px;
        let pixels_per_unit = before + found[i];
        if (pixels_per_unit / before - 1.0).abs() >= LARGEST_STEP {
            return None;
        }
        next.units_per_px = 1.0 / pixels_per_unit;
        if let Some((y, px)) = unknowns.ground {
            next.zero_px = px + y * pixels_per_unit;
        }
    }
    if let Some(i) = unknowns.zero {
        next.zero_px += found[i];
    }
    for (origin, at) in next.origins_px.iter_mut().zip(&unknowns.origins) {
        *origin += at.map_or(0.0, |i| found[i]);
    }
    Some(next)
}

/// How carefully a placement is refined.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Care {
    /// To compare readings.
    Rough,
    /// To compare places that a search found.
    Near,
    /// From the best of them to what is measured with.
    Finish,
    /// To measure with.
    Fine,
}

/// Refines a placement and judges it.
pub(super) fn refine(pairs: &[Pair<'_>], mut fit: Fit, unknowns: &Unknowns, care: Care) -> Fit {
    let size = size(pairs);
    let steps: &[(f64, usize)] = match care {
        Care::Rough => &ROUGH,
        Care::Near => &NEAR,
        Care::Finish => &FINISH,
        Care::Fine => &STEPS,
    };
    let mut nearby = Nearby::new(pairs);
    if unknowns.count > 0 {
        for &(width, every) in steps {
            let Some(next) = step(pairs, &fit, unknowns, (width * size, every), &mut nearby) else {
                break;
            };
            fit = next;
        }
    }
    judged_near(pairs, fit, care, &mut nearby)
}

/// Cost of a placement, and the share of the outline that agrees.
pub(super) fn judge(pairs: &[Pair<'_>], fit: Fit, care: Care) -> Fit {
    judged_near(pairs, fit, care, &mut Nearby::new(pairs))
}

fn judged_near(pairs: &[Pair<'_>], fit: Fit, care: Care, nearby: &mut Nearby) -> Fit {
    let size = size(pairs);
    let every = match care {
        Care::Rough | Care::Near => ROUGH[0].1,
        Care::Fine | Care::Finish => 1,
    };
    let (mut cost, mut agreeing, mut n) = (0.0, 0.0, 0.0);
    for (v, pair) in pairs.iter().enumerate() {
        nearby.each(pair, v, &fit, every, |_, _, near| {
            let d = near.map_or(f64::INFINITY, |near| near.distance * fit.units_per_px);
            cost += judged(d, LAST * size);
            agreeing += f64::from(u8::from(d <= AGREES * size));
            n += 1.0;
        });
    }
    Fit {
        cost: cost / f64::max(n, 1.0),
        agreeing: agreeing / f64::max(n, 1.0),
        ..fit
    }
}

/// The judging function of Geman and McClure: 0 on the drawing, towards 1 far from it.
pub(super) fn judged(distance: f64, width: f64) -> f64 {
    if distance.is_infinite() {
        return 1.0;
    }
    let r = distance * distance;
    r / (r + width * width)
}

/// How sure a placement is: standard deviations, in the units of the mesh where nothing else is said.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Spread {
    /// Of the scale, in percent of it.
    pub scale_pct: f64,
    /// Of the mesh height at which the leading view's ground lies.
    pub ground: f64,
    /// Share of the outline that the placement rests on: the samples' weights over their number.
    pub share: f64,
}

/// How sure a placement is; `None` where the equations do not hold it.
pub(super) fn spread(pairs: &[Pair<'_>], fit: &Fit, unknowns: &Unknowns) -> Option<Spread> {
    let n = unknowns.count;
    let lead = pairs.first()?;
    let size = size(pairs);
    let how = (FINISHED * size, 1);
    let mut nearby = Nearby::new(pairs);
    let mut normal = DMatrix::<f64>::zeros(n, n);
    let mut scatter = DMatrix::<f64>::zeros(n, n);
    let (mut weights, mut curvatures, mut samples) = (0.0, 0.0, 0.0);
    for (v, pair) in pairs.iter().enumerate() {
        let mut gradients: Vec<DVector<f64>> = Vec::with_capacity(pair.modelled.samples.len());
        // What a hand is off by, spread evenly over a block: no outline is surer than that.
        let hand = HAND * lead.drawn.height();
        let mut floor = DMatrix::<f64>::zeros(n, n);
        equations(pair, v, fit, unknowns, how, &mut nearby, |e| {
            let mut g = DVector::<f64>::zeros(n);
            let row = &e.coefficients[..e.used];
            for &(i, a) in row {
                g[i] = e.weight * a * e.residual;
                for &(j, b) in row {
                    normal[(i, j)] += e.weight * a * b;
                    floor[(i, j)] += e.weight * e.weight * a * b * hand * hand;
                }
            }
            gradients.push(g);
            weights += e.weight;
            curvatures += e.curvature;
            samples += 1.0;
        });
        let count = gradients.len();
        let block = ((BLOCK * count as f64) as usize).max(1);
        let mut sum = DVector::<f64>::zeros(n);
        for g in gradients.iter().take(block) {
            sum += g;
        }
        for t in 0..count {
            scatter += &sum * sum.transpose() / block as f64;
            sum += &gradients[(t + block) % count] - &gradients[t];
        }
        scatter += floor * block as f64;
    }
    let share = weights / f64::max(samples, 1.0);
    if n == 0 {
        return Some(Spread {
            share,
            ..Spread::default()
        });
    }
    let curvature = (curvatures / weights).max(LEAST_CURVATURE);
    let inverse = normal.cholesky()?.inverse() / curvature;
    let covariance = &inverse * scatter * &inverse;
    let u = fit.units_per_px;
    let scale = unknowns
        .scale
        .map_or(0.0, |i| covariance[(i, i)].max(0.0).sqrt() * u);
    // The lead's ground lies at (zero - ground_px) u; with k = 1 / u its change is u dzero - (zero - ground_px) u² dk.
    let above = fit.zero_px - lead.drawn.ground_px;
    let mut change = DVector::<f64>::zeros(n);
    if unknowns.ground.is_none() {
        if let Some(i) = unknowns.zero {
            change[i] = u;
        }
        if let Some(i) = unknowns.scale {
            change[i] = -above * u * u;
        }
    }
    let ground = (change.transpose() * &covariance * &change)[(0, 0)]
        .max(0.0)
        .sqrt();
    Some(Spread {
        scale_pct: 100.0 * scale,
        ground,
        share,
    })
    .filter(|s| s.scale_pct.is_finite() && s.ground.is_finite())
}
