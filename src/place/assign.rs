//! Which drawn view is which, and where each lies on the mesh.
//!
//! Every drawn figure is tried as front and as side view facing either way; the assignment in which the whole sheet
//! fits best wins. Front and back have mirrored silhouettes: of two such figures the one with the drawn face is the
//! front (a mesh that is not symmetric decides by its silhouette). Views of one image share the scale, and those that stand
//! in one row the ground; another row of the sheet has a ground of its own. Views from between and from above are found when scale and ground are known, and take no part in them.

use rayon::prelude::*;

use super::fit::{
    Care, Drawn, Effort, Fit, Known, Modelled, Pair, Spread, WHOLE, certainty, everything, shifts,
};
use super::{above, oblique};
use crate::error::{Error, Result};
use crate::sheet::views::{self, Facing, Shows, Signs};
use crate::silhouette::Azimuth;

pub use super::placing::{Asked, Candidate, Given, Look, Placed, Placing, reach};

/// How much better (as a ratio of costs) one of two readings must fit to be told by its silhouette alone.
pub const DISTINCT: f64 = 0.8;
/// Feet that reach out by at least this share of the height tell where a side view looks; a hem or a heel that reaches out
/// by less does not. By judgement, not measured.
const TOES: f64 = 0.015;
/// A figure of less than this share of the tallest one's height may be a view from above.
const LOW: f64 = 0.85;
/// Figures stand in one row if their grounds differ by at most this share of the taller one's height: a view that a hand
/// drew higher or lower by mistake is off by a few hundredths, which is told; another row lies further away.
const SAME_GROUND: f64 = 0.08;
/// Rows of the mesh outlines that are fitted.
pub const OUTLINE_ROWS: usize = 600;

/// A drawn figure in work.
pub(super) struct Figured<'a> {
    pub(super) candidate: &'a Candidate<'a>,
    pub(super) drawn: Drawn,
    signs: Signs,
    role: Role,
}

/// How a figure takes part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Role {
    /// Seen from front, side or back.
    Upright,
    /// Seen from between.
    Oblique,
    /// Seen from above.
    Above,
    /// Lower than the others: seen from above, if it fits.
    Low,
}

impl Figured<'_> {
    pub(super) fn pair<'b>(&'b self, modelled: &'b Modelled) -> Pair<'b> {
        Pair {
            drawn: &self.drawn,
            modelled,
            origin_px: self.candidate.axis_px,
        }
    }
}

/// The mesh's outlines from front, back and both sides.
struct MeshViews {
    front: Modelled,
    back: Modelled,
    right: Modelled,
    left: Modelled,
}

/// An outline of the mesh from somewhere.
pub(super) fn modelled(look: &Look<'_>, azimuths: &[Azimuth]) -> Result<Vec<Modelled>> {
    look(azimuths)
        .iter()
        .map(|o| {
            Modelled::new(o).ok_or_else(|| {
                Error::new("the mesh is flat: one of its views has no area").advise("give one with depth")
            })
        })
        .collect()
}

impl MeshViews {
    fn new(look: &Look<'_>) -> Result<Self> {
        let mut two = modelled(look, &[Azimuth::FRONT, Azimuth::FACING_RIGHT])?.into_iter();
        let (Some(front), Some(right)) = (two.next(), two.next()) else {
            return Err(Error::new("the mesh has no views"));
        };
        Ok(Self {
            back: front.flipped(),
            left: right.flipped(),
            front,
            right,
        })
    }

    fn view(&self, azimuth: Azimuth) -> &Modelled {
        match azimuth.degrees() {
            0.0 => &self.front,
            180.0 => &self.back,
            90.0 => &self.right,
            _ => &self.left,
        }
    }
}

/// The mesh's view that a figure shows, and how it lies on it.
pub(super) type Assigned = (Azimuth, Fit);

/// Places all figures on a mesh that is seen through `look`.
///
/// # Errors
/// A figure without an outline; a flat mesh; no figure that can lead.
pub fn place(candidates: &[Candidate<'_>], look: &Look<'_>, given: &Given) -> Result<Placing> {
    let (mesh, figures) = rayon::join(|| MeshViews::new(look), || prepare(candidates));
    let (mesh, figures) = (mesh?, figures?);
    let lead_of = |asked: Asked| candidates.iter().position(|c| c.asked == asked);
    let leads: Vec<usize> = match lead_of(Asked::Front) {
        Some(i) => vec![i],
        None => (0..figures.len())
            .filter(|&i| figures[i].role == Role::Upright && candidates[i].image == candidates[0].image)
            .collect(),
    };
    // Whole figures are told by their heights alone; only if none is whole is it worth looking everywhere.
    let mut best = assign_best(&figures, &mesh, given, &leads, Effort::Heights);
    if best.as_ref().is_none_or(|b| agreeing(&b.1) < WHOLE) {
        best = assign_best(&figures, &mesh, given, &leads, Effort::Everywhere).or(best);
    }
    let (_, mut found, lead) = best.ok_or_else(|| Error::new("the drawing cannot be laid onto the mesh"))?;
    let lead = tell_front_from_back(&figures, &mesh, &mut found, lead);
    let lead = match given.lead {
        None => lead,
        Some(wanted) => found
            .iter()
            .position(|f| f.as_ref().is_some_and(|f| wanted.means(f.0)))
            .ok_or_else(|| {
                Error::new(format!("no drawn view is told to be the {} view", wanted.name()))
                    .advise("leave out --lead, or name the views in a setup file")
            })?,
    };
    let common = refit(&figures, &mesh, given, &mut found, lead)
        .ok_or_else(|| Error::new("the drawing cannot be laid onto the mesh"))?;
    let backwards = tell_facing(&figures, &mesh, &mut found);
    let sideways = contradicted(&figures, &found);
    let upright = || found.iter().flatten();
    let count = upright().count().max(1) as f64;
    let cost = upright().map(|f| f.1.cost).sum::<f64>() / count;
    let agreeing = agreeing(&found);
    let found = complete(&figures, look, found, (&common.0, lead))?;
    Ok(Placing {
        views: finish(found),
        lead,
        agreeing,
        cost,
        spread: common.1,
        rival: common.0.rival,
        backwards,
        sideways,
    })
}

fn prepare<'a>(candidates: &'a [Candidate<'a>]) -> Result<Vec<Figured<'a>>> {
    let tallest = |image: usize| {
        candidates
            .iter()
            .filter(|c| c.image == image)
            .map(|c| c.figure.ground_px - c.figure.crown_px)
            .fold(0.0, f64::max)
    };
    candidates
        .par_iter()
        .map(|c| {
            let drawn = Drawn::new(&c.figure.level).ok_or_else(|| Error::new("a figure has no outline"))?;
            let role = match c.asked {
                Asked::Top => Role::Above,
                Asked::Any if drawn.height() < LOW * tallest(c.image) => Role::Low,
                Asked::Any if c.figure.oblique => Role::Oblique,
                _ => Role::Upright,
            };
            Ok(Figured {
                candidate: c,
                drawn,
                signs: views::signs(&c.figure.level, c.figure.face),
                role,
            })
        })
        .collect()
}

/// Mean share of the outlines that agree.
fn agreeing(found: &[Option<Assigned>]) -> f64 {
    let all: Vec<f64> = found.iter().flatten().map(|(_, f)| f.agreeing).collect();
    all.iter().sum::<f64>() / all.len().max(1) as f64
}

/// Cost, what each upright figure shows, and which leads.
type Assignment = (f64, Vec<Option<Assigned>>, usize);

/// The assignment in which the whole sheet fits best.
fn assign_best(
    figures: &[Figured<'_>],
    mesh: &MeshViews,
    given: &Given,
    leads: &[usize],
    effort: Effort,
) -> Option<Assignment> {
    let all: Vec<Option<Assignment>> = leads
        .par_iter()
        .map(|&lead| {
            let lead_view = match figures[lead].candidate.asked {
                Asked::Side => Azimuth::FACING_RIGHT,
                Asked::Back => Azimuth::BACK,
                _ => Azimuth::FRONT,
            };
            let found = assign(figures, mesh, given, effort, (lead, lead_view))?;
            let count = found.iter().flatten().count().max(1) as f64;
            let cost = found.iter().flatten().map(|(_, f)| f.cost).sum::<f64>() / count;
            Some((cost, found, lead))
        })
        .collect();
    let mut best: Option<Assignment> = None;
    for one in all.into_iter().flatten() {
        if best.as_ref().is_none_or(|b| one.0 < b.0 * 0.999) {
            best = Some(one);
        }
    }
    best
}

fn azimuths(asked: Asked) -> &'static [Azimuth] {
    const ANY: [Azimuth; 3] = [Azimuth::FRONT, Azimuth::FACING_RIGHT, Azimuth::FACING_LEFT];
    const BACK: [Azimuth; 1] = [Azimuth::BACK];
    match asked {
        Asked::Any | Asked::Top => &ANY,
        Asked::Front => &ANY[..1],
        Asked::Side => &ANY[1..],
        Asked::Back => &BACK,
    }
}

/// Scale and ground from the lead alone, then the best view and shift of every other upright figure.
fn assign(
    figures: &[Figured<'_>],
    mesh: &MeshViews,
    given: &Given,
    effort: Effort,
    (lead, lead_view): (usize, Azimuth),
) -> Option<Vec<Option<Assigned>>> {
    let known = given.known(&figures[lead].drawn);
    let pair = [figures[lead].pair(mesh.view(lead_view))];
    let fit = everything(&pair, &known, effort, Care::Rough)?;
    let one = |i: usize| -> Option<Assigned> {
        let f = &figures[i];
        if f.role != Role::Upright {
            return None;
        }
        if i == lead {
            return Some((lead_view, fit.clone()));
        }
        let (units_per_px, zero_px) = scale_of(figures, &fit, lead, i);
        azimuths(f.candidate.asked)
            .iter()
            .map(|a| {
                let pair = [f.pair(mesh.view(*a))];
                (*a, shifts(&pair, units_per_px, zero_px, Care::Rough))
            })
            .min_by(|a, b| a.1.cost.total_cmp(&b.1.cost))
    };
    Some((0..figures.len()).map(one).collect())
}

/// Whether two figures stand on one ground: on one image, in one row of it.
fn in_one_row(a: &Figured<'_>, b: &Figured<'_>) -> bool {
    let tallest = a.drawn.height().max(b.drawn.height());
    a.candidate.image == b.candidate.image
        && (a.drawn.ground_px - b.drawn.ground_px).abs() <= SAME_GROUND * tallest
}

/// Scale and row of zero for figure `i`: the lead's own in its row; in another row of its image its scale, the grounds made
/// to agree; on another image crown and ground are made to agree with the lead's.
fn scale_of(figures: &[Figured<'_>], fit: &Fit, lead: usize, i: usize) -> (f64, f64) {
    if in_one_row(&figures[i], &figures[lead]) {
        return (fit.units_per_px, fit.zero_px);
    }
    let (a, b) = (&figures[lead].drawn, &figures[i].drawn);
    let same_image = figures[i].candidate.image == figures[lead].candidate.image;
    let larger = if same_image { 1.0 } else { a.height() / b.height() };
    let units_per_px = fit.units_per_px * larger;
    let ground_y = (fit.zero_px - a.ground_px) * fit.units_per_px;
    (units_per_px, b.ground_px + ground_y / units_per_px)
}

/// Among the figures that show the front or the back: decides which is the front, and returns the lead.
fn tell_front_from_back(
    figures: &[Figured<'_>],
    mesh: &MeshViews,
    found: &mut [Option<Assigned>],
    lead: usize,
) -> usize {
    let frontal: Vec<usize> = (0..found.len())
        .filter(|&i| {
            figures[i].candidate.asked == Asked::Any
                && found[i].as_ref().is_some_and(|f| f.0 == Azimuth::FRONT)
        })
        .collect();
    if frontal.len() < 2 {
        return lead;
    }
    let both: Vec<[Fit; 2]> = frontal
        .par_iter()
        .filter_map(|&i| {
            let fit = &found[i].as_ref()?.1;
            Some(
                [&mesh.front, &mesh.back]
                    .map(|m| shifts(&[figures[i].pair(m)], fit.units_per_px, fit.zero_px, Care::Fine)),
            )
        })
        .collect();
    let distinct = |[f, b]: &[Fit; 2]| b.cost < DISTINCT * f.cost || f.cost < DISTINCT * b.cost;
    let front = if both.iter().any(distinct) {
        frontal
            .iter()
            .zip(&both)
            .min_by(|a, b| (a.1[0].cost / a.1[1].cost).total_cmp(&(b.1[0].cost / b.1[1].cost)))
            .map(|(&i, _)| i)
    } else {
        // Where no drawn face tells, the first from the left is the front: common practice, no source.
        let faces: Vec<f64> = frontal.iter().map(|&i| figures[i].signs.face).collect();
        views::facing(&faces).next().map(|k| frontal[k])
    };
    let front = front.unwrap_or(lead);
    for (&i, [_, back]) in frontal.iter().zip(both) {
        if i != front {
            found[i] = Some((Azimuth::BACK, back));
        }
    }
    front
}

/// With every view known, scale and ground are found once more from all upright views of the lead's row together.
/// Returns the common fit and how sure it is.
fn refit(
    figures: &[Figured<'_>],
    mesh: &MeshViews,
    given: &Given,
    found: &mut [Option<Assigned>],
    lead: usize,
) -> Option<(Fit, Option<Spread>)> {
    let mut same: Vec<(usize, Azimuth)> = found
        .iter()
        .enumerate()
        .filter(|(i, _)| in_one_row(&figures[*i], &figures[lead]))
        .filter(|(i, _)| given.lead.is_none() || *i == lead)
        .filter_map(|(i, f)| Some((i, f.as_ref()?.0)))
        .collect();
    same.sort_by_key(|&(i, _)| (i != lead, i));
    let pairs: Vec<Pair<'_>> = same.iter().map(|&(i, a)| figures[i].pair(mesh.view(a))).collect();
    let known: Known = given.known(&figures[lead].drawn);
    let common = everything(&pairs, &known, Effort::Everywhere, Care::Fine)?;
    let (spread, alone) = rayon::join(
        || certainty(&pairs, &common, &known),
        || -> Vec<Fit> { (0..pairs.len()).map(|k| common.one(k, &pairs[k])).collect() },
    );
    for (&(i, a), alone) in same.iter().zip(alone) {
        found[i] = Some((a, alone));
    }
    for i in 0..found.len() {
        let Some((a, _)) = found[i].as_ref().filter(|_| same.iter().all(|s| s.0 != i)) else {
            continue;
        };
        let a = *a;
        let (units_per_px, zero_px) = scale_of(figures, &common, lead, i);
        let pair = [figures[i].pair(mesh.view(a))];
        found[i] = Some((a, shifts(&pair, units_per_px, zero_px, Care::Fine)));
    }
    Some((common, spread))
}

/// Tells where each side view looks: by its silhouette where that is distinct, else by its feet. Returns whether the
/// two contradict each other, where both speak.
fn tell_facing(figures: &[Figured<'_>], mesh: &MeshViews, found: &mut [Option<Assigned>]) -> Option<bool> {
    let (mut with, mut against) = (0, 0);
    for (f, found) in figures.iter().zip(found.iter_mut()) {
        let Some((azimuth, fit)) = found.as_mut() else {
            continue;
        };
        if *azimuth != Azimuth::FACING_RIGHT && *azimuth != Azimuth::FACING_LEFT {
            continue;
        }
        let toes = f.signs.toes;
        let feet = if toes > 0.0 {
            Azimuth::FACING_RIGHT
        } else {
            Azimuth::FACING_LEFT
        };
        if toes.abs() < TOES {
            continue;
        }
        let other = if *azimuth == Azimuth::FACING_RIGHT {
            Azimuth::FACING_LEFT
        } else {
            Azimuth::FACING_RIGHT
        };
        let turned = shifts(
            &[f.pair(mesh.view(other))],
            fit.units_per_px,
            fit.zero_px,
            Care::Fine,
        );
        if fit.cost < DISTINCT * turned.cost {
            with += usize::from(feet == *azimuth);
            against += usize::from(feet != *azimuth);
        } else if feet != *azimuth {
            // The silhouette says nothing: the drawn feet do.
            *azimuth = other;
            *fit = turned;
        }
    }
    (with + against > 0).then_some(against > with)
}

/// Whether the drawing itself tells that its views were taken for each other: what is fitted as a front is drawn from
/// the side, and what is fitted from the side is drawn from the front.
fn contradicted(figures: &[Figured<'_>], found: &[Option<Assigned>]) -> bool {
    let (signs, frontal): (Vec<Signs>, Vec<bool>) = figures
        .iter()
        .zip(found)
        .filter(|(f, _)| f.candidate.asked == Asked::Any)
        .filter_map(|(f, a)| Some((f.signs, a.as_ref()?.0)))
        .map(|(s, a)| (s, a == Azimuth::FRONT || a == Azimuth::BACK))
        .unzip();
    let shows = views::shows(&signs);
    let drawn_so = |front: bool, so: bool| {
        let mut of = shows
            .iter()
            .zip(&frontal)
            .filter(|(_, f)| **f == front)
            .map(|(s, _)| (*s == Shows::Middle) == so)
            .peekable();
        of.peek().is_some() && of.all(|yes| yes)
    };
    drawn_so(true, false) && drawn_so(false, true)
}

/// Adds the views from between and from above to the upright ones.
fn complete(
    figures: &[Figured<'_>],
    look: &Look<'_>,
    mut found: Vec<Option<Assigned>>,
    (common, lead): (&Fit, usize),
) -> Result<Vec<Assigned>> {
    for (i, f) in figures.iter().enumerate() {
        let at = scale_of(figures, common, lead, i);
        let same = f.candidate.image == figures[lead].candidate.image;
        found[i] = Some(match (found[i].take(), f.role) {
            (Some(upright), _) => upright,
            (None, Role::Oblique) => oblique::turned(f, look, at)?,
            (None, Role::Above) => above::placed(f, look, same.then_some(common.units_per_px))?,
            (None, _) => {
                let low = above::placed(f, look, same.then_some(common.units_per_px))?;
                let upright = oblique::upright(f, look, at)?;
                if low.1.cost < upright.1.cost { low } else { upright }
            }
        });
    }
    Ok(found.into_iter().flatten().collect())
}

fn finish(found: Vec<Assigned>) -> Vec<Placed> {
    let plain: Vec<(&str, Facing)> = found
        .iter()
        .map(|(a, _)| {
            let facing = match a.degrees() {
                0.0 => Facing::Viewer,
                180.0 => Facing::Away,
                a if a > 0.0 => Facing::Right,
                _ => Facing::Left,
            };
            let name = match a.degrees() {
                _ if a.is_above() => "top",
                0.0 => "front",
                180.0 => "back",
                90.0 | -90.0 => "side",
                _ => "three-quarter",
            };
            (name, facing)
        })
        .collect();
    views::number(&plain)
        .into_iter()
        .zip(found)
        .map(|((name, facing), (azimuth, fit))| Placed {
            name,
            facing,
            azimuth,
            placement: fit.placement(0),
            agreeing: fit.agreeing,
        })
        .collect()
}
