//! Fits drawn outlines onto a mesh's outlines: one scale and one ground for all views of an image, a shift each.
//!
//! Samples of the mesh's outline are laid onto the drawing; the distance to it is judged by a function that lets go of
//! what is far off, so that a part that is missing in neither but wrong in one (which is what the program is there to
//! measure) does not pull the rest. A search over scale, ground and shift on tabulated distances finds the
//! neighbourhood, first coarsely, then around the best; `solve` finishes. Distances are judged in units of the
//! mesh, so that shrinking the drawing's counterpart brings no gain. What is known beforehand is not searched for.
//!
//! Limits: the mesh must show enough outline along both axes; arms in another pose count as wrong parts.

use rayon::prelude::*;

pub use super::outlines::{Drawn, Modelled, Pair};
pub use super::solve::{Care, Spread};
use super::solve::{Unknowns, judge, judged, refine, spread};
use super::transform::Placement;

/// Samples passed over from one to the next in the coarse search, and in the finer one.
const SEARCH_EVERY: [usize; 2] = [8, 4];
/// Widths of the judging function while searching, in shares of the mesh's size.
const SEARCH_WIDTH: [f64; 2] = [0.03, 0.02];
/// Steps of the search over ground and shift, in shares of the drawing's height: about half the width.
const SEARCH_STEP: [f64; 2] = [0.02, 0.012];
/// Shifts are tried this far to either side of where the middles of mesh and drawing meet, in shares of the height.
const SHIFTS: f64 = 0.11;
/// Shares of the drawing's height that a mesh may cover, from a pelvis with legs to one drawn too small.
const LEAST_SHARE: f64 = 0.36;
/// The largest of them.
const MOST_SHARE: f64 = 1.12;
/// From one share to the next: the ends of the mesh move by less than the search's width.
const SHARE_STEP: f64 = 0.045;
/// The search may begin this far below the drawing's ground and end as far above its crown, in shares of its height.
const OVERHANG: f64 = 0.03;
/// Best places of the coarse search that are looked at more finely.
const LOOKED_AT: usize = 10;
/// Best candidates of the search that are refined.
const REFINED: usize = 6;
/// Scales against the one that makes the heights agree that are tried beside it: a neck, legs or hair too long by as
/// much.
const LONGER: [f64; 4] = [0.95, 0.975, 1.025, 1.05];
/// Share of agreeing outline from which the search is spared. By trial: whole meshes with a fault or two agree to eight
/// tenths and more; below that the search costs time but can only find better.
pub const WHOLE: f64 = 0.75;
/// Two placements are different ones if an end of the mesh lies farther apart than this share of its size.
const DIFFERENT: f64 = 0.03;

/// What is known of scale and ground before anything is fitted.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Known {
    /// Mesh units per levelled pixel.
    pub units_per_px: Option<f64>,
    /// Mesh height at which the first view's ground lies.
    pub ground_y: Option<f64>,
}

impl Known {
    fn unknowns(&self, pairs: &[Pair<'_>]) -> Unknowns {
        Unknowns::new(pairs, self.units_per_px.is_none(), true, self.ground_y)
    }
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
    /// Least cost of a clearly different placement over the cost of this one, where one was looked at.
    pub rival: Option<f64>,
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

    /// What the fit says of one of its views alone.
    pub(super) fn one(&self, view: usize, pair: &Pair<'_>) -> Self {
        let alone = Self {
            origins_px: vec![self.origins_px[view]],
            ..self.clone()
        };
        judge(&[*pair], alone, Care::Fine)
    }

    /// How far the first view's mesh lies elsewhere in another fit, in shares of its size.
    fn apart(&self, other: &Self, modelled: &Modelled) -> f64 {
        let at = |f: &Self, y: f64| f.zero_px - y / f.units_per_px;
        let across = |f: &Self, x: f64| f.origins_px[0] + x / f.units_per_px;
        let off = |a: f64, b: f64| (a - b).abs() * self.units_per_px / modelled.size();
        let (low, high) = (modelled.low, modelled.high);
        let (left, right) = (modelled.left, modelled.right);
        [
            off(at(self, low), at(other, low)),
            off(at(self, high), at(other, high)),
            off(across(self, left), across(other, left)),
            off(across(self, right), across(other, right)),
        ]
        .into_iter()
        .fold(0.0, f64::max)
    }
}

/// Where a refinement begins: the best shifts of a search for a scale and a ground.
fn begin(pairs: &[Pair<'_>], units_per_px: f64, zero_px: f64) -> Fit {
    Fit {
        units_per_px,
        zero_px,
        origins_px: pairs
            .iter()
            .map(|p| best_shift(p, units_per_px, zero_px, 1).0)
            .collect(),
        cost: 1.0,
        agreeing: 0.0,
        rival: None,
    }
}

/// Finds the shifts for a known scale and row of zero.
pub fn shifts(pairs: &[Pair<'_>], units_per_px: f64, zero_px: f64, care: Care) -> Fit {
    let unknowns = Unknowns::new(pairs, false, false, None);
    refine(pairs, begin(pairs, units_per_px, zero_px), &unknowns, care)
}

/// Finds place and shift of one view for a known scale, where the middles of mesh and drawing meet about.
pub fn afloat(pair: &Pair<'_>, units_per_px: f64) -> Fit {
    let pairs = [*pair];
    let zero_px = middle_row(pair.drawn) + middle_height(pair.modelled) / units_per_px;
    let unknowns = Unknowns::new(&pairs, false, true, None);
    refine(
        &pairs,
        begin(&pairs, units_per_px, zero_px),
        &unknowns,
        Care::Fine,
    )
}

fn middle_row(drawn: &Drawn) -> f64 {
    f64::midpoint(drawn.crown_px, drawn.ground_px)
}

fn middle_height(modelled: &Modelled) -> f64 {
    f64::midpoint(modelled.low, modelled.high)
}

/// How sure a fit is; `None` where the outlines do not hold it.
pub fn certainty(pairs: &[Pair<'_>], fit: &Fit, known: &Known) -> Option<Spread> {
    spread(pairs, fit, &known.unknowns(pairs))
}

/// How long to look for a placement.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Effort {
    /// Only where the heights of mesh and drawing agree: enough for a whole figure.
    Heights,
    /// Everywhere, if the heights' agreement does not lay enough of the outline on the drawing.
    Everywhere,
}

/// Finds scale, ground and shifts, as far as they are not known. Begins where the heights of mesh and drawing agree and
/// searches on only if that lays too little of the mesh's outline on the drawing: then the mesh is not a whole figure.
/// `None` without pairs.
pub fn everything(pairs: &[Pair<'_>], known: &Known, effort: Effort, care: Care) -> Option<Fit> {
    let lead = pairs.first()?;
    let unknowns = known.unknowns(pairs);
    let start = by_heights(pairs, known)?;
    let settled = known.units_per_px.is_some() && known.ground_y.is_some();
    let by_height = || refine(pairs, start.clone(), &unknowns, care);
    if settled {
        return Some(by_height());
    }
    // A part that is too long or too short makes the heights agree where nothing else does.
    let mut near: Vec<(f64, f64)> = Vec::new();
    if known.units_per_px.is_none() {
        near.extend(LONGER.map(|longer| {
            let u = start.units_per_px * longer;
            let above = (start.zero_px - lead.drawn.ground_px) * start.units_per_px;
            (u, lead.drawn.ground_px + above / u)
        }));
    }
    let refined = |places: &[(f64, f64)]| -> Vec<Fit> {
        places
            .par_iter()
            .map(|p| refine(pairs, begin(pairs, p.0, p.1), &unknowns, Care::Near))
            .collect()
    };
    let (by_height, near) = rayon::join(|| judge(pairs, by_height(), Care::Near), || refined(&near));
    let mut all = vec![by_height];
    all.extend(near);
    let agreeing = all.iter().map(|f| f.agreeing).fold(0.0, f64::max);
    if agreeing < WHOLE && effort == Effort::Everywhere {
        all.extend(refined(&searched(pairs, known)));
    }
    let best = all.iter().min_by(|a, b| a.cost.total_cmp(&b.cost))?;
    let rival = all
        .iter()
        .filter(|f| best.apart(f, lead.modelled) > DIFFERENT)
        .map(|f| f.cost / best.cost.max(f64::MIN_POSITIVE))
        .min_by(f64::total_cmp);
    let last = if care == Care::Rough {
        Care::Near
    } else {
        Care::Finish
    };
    let finished = refine(pairs, best.clone(), &unknowns, last);
    Some(Fit { rival, ..finished })
}

/// The best places of a search, coarse and then finer.
fn searched(pairs: &[Pair<'_>], known: &Known) -> Vec<(f64, f64)> {
    let Some(lead) = pairs.first() else {
        return Vec::new();
    };
    let coarse = best_of(&places(lead, known), pairs, 0);
    let around: Vec<(f64, f64)> = coarse
        .iter()
        .take(LOOKED_AT)
        .flat_map(|&(_, u, zero)| finer(lead, known, u, zero))
        .collect();
    let mut chosen: Vec<(f64, f64)> = Vec::with_capacity(REFINED);
    for &(_, u, zero) in &best_of(&around, pairs, 1) {
        // Neighbours of a chosen place would end where it does.
        let near = |c: &(f64, f64)| {
            let px = SEARCH_STEP[0] * lead.drawn.height();
            let end = |v: &(f64, f64), y: f64| v.1 - y / v.0;
            let (low, high) = (lead.modelled.low, lead.modelled.high);
            let place = (u, zero);
            (end(c, low) - end(&place, low)).abs() < px && (end(c, high) - end(&place, high)).abs() < px
        };
        if !chosen.iter().any(near) {
            chosen.push((u, zero));
        }
        if chosen.len() == REFINED {
            break;
        }
    }
    chosen
}

/// Where the heights of mesh and drawing agree, as far as they are not known.
fn by_heights(pairs: &[Pair<'_>], known: &Known) -> Option<Fit> {
    let lead = pairs.first()?;
    let (drawn, modelled) = (lead.drawn, lead.modelled);
    let low = known.ground_y.unwrap_or(modelled.low);
    let reach = modelled.high - low;
    let by_reach = if reach > 0.0 { reach } else { modelled.height() };
    let units_per_px = known.units_per_px.unwrap_or(by_reach / drawn.height());
    Some(begin(pairs, units_per_px, drawn.ground_px + low / units_per_px))
}

/// Scales and rows of zero that are worth a look: the mesh covers a share of the drawing's height and begins at some
/// height above its ground.
fn places(lead: &Pair<'_>, known: &Known) -> Vec<(f64, f64)> {
    let drawn_height = lead.drawn.height();
    let whole = lead.modelled.height() / drawn_height;
    let shares: Vec<f64> = match known.units_per_px {
        Some(u) => vec![whole / u],
        None => std::iter::successors(Some(LEAST_SHARE), |s| Some(s * (1.0 + SHARE_STEP)))
            .take_while(|s| *s < MOST_SHARE)
            .collect(),
    };
    let mut out = Vec::new();
    for share in shares {
        let u = whole / share;
        if let Some(y) = known.ground_y {
            out.push((u, lead.drawn.ground_px + y / u));
            continue;
        }
        let room = drawn_height * ((1.0 - share).max(0.0) + 2.0 * OVERHANG);
        let steps = (room / (SEARCH_STEP[0] * drawn_height)).ceil().max(1.0);
        for step in 0..=steps as usize {
            let above = room * step as f64 / steps - OVERHANG * drawn_height;
            out.push((u, lead.drawn.ground_px - above + lead.modelled.low / u));
        }
    }
    out
}

/// Places around one, half a step of the coarse search away: both ends of the mesh up and down.
fn finer(lead: &Pair<'_>, known: &Known, u: f64, zero: f64) -> Vec<(f64, f64)> {
    let step = 0.5 * SEARCH_STEP[0] * lead.drawn.height();
    let (low, high) = (lead.modelled.low, lead.modelled.high);
    let mut out = Vec::with_capacity(9);
    for a in [-1.0, 0.0, 1.0] {
        for b in [-1.0, 0.0, 1.0] {
            let (foot, head) = (zero - low / u + a * step, zero - high / u + b * step);
            let scale = (high - low) / (foot - head);
            let at = match (known.units_per_px, known.ground_y) {
                (Some(_), _) if a != b => continue,
                (Some(u), _) => (u, zero + a * step),
                (None, Some(_)) if a != 0.0 => continue,
                (None, Some(y)) => (scale, lead.drawn.ground_px + y / scale),
                (None, None) => (scale, foot + low / scale),
            };
            if at.0.is_finite() && at.0 > 0.0 {
                out.push(at);
            }
        }
    }
    out
}

/// Places with their costs, best first.
fn best_of(places: &[(f64, f64)], pairs: &[Pair<'_>], fineness: usize) -> Vec<(f64, f64, f64)> {
    let mut found: Vec<(f64, f64, f64)> = places
        .par_iter()
        .map(|&(u, zero)| {
            let cost = pairs.iter().map(|p| best_shift(p, u, zero, fineness).1).sum();
            (cost, u, zero)
        })
        .collect();
    found.sort_by(|a, b| {
        a.0.total_cmp(&b.0)
            .then(a.1.total_cmp(&b.1))
            .then(a.2.total_cmp(&b.2))
    });
    found
}

/// Origin column with the least cost among shifts about the middle, and that cost.
fn best_shift(pair: &Pair<'_>, units_per_px: f64, zero_px: f64, fineness: usize) -> (f64, f64) {
    let (k, m) = (1.0 / units_per_px, pair.modelled);
    let width = SEARCH_WIDTH[fineness] * m.size();
    let every = SEARCH_EVERY[fineness];
    let cost = |origin: f64| {
        let n = m.samples.len().div_ceil(every) as f64;
        let sum: f64 = m
            .samples
            .iter()
            .step_by(every)
            .map(|s| {
                judged(
                    pair.drawn.field.at(origin + k * s.x, zero_px - k * s.y) * units_per_px,
                    width,
                )
            })
            .sum();
        sum / n
    };
    if let Some(origin) = pair.origin_px {
        return (origin, cost(origin));
    }
    let step = SEARCH_STEP[fineness] * pair.drawn.height();
    let most = (SHIFTS / SEARCH_STEP[fineness]).ceil() as i32;
    let centred = pair.drawn.middle_px() - m.middle() * k;
    let mut best = (centred, cost(centred));
    for i in -most..=most {
        let origin = centred + f64::from(i) * step;
        let c = cost(origin);
        if c < best.1 {
            best = (origin, c);
        }
    }
    best
}
