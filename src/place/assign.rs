//! Which drawn view is which, and where each lies on the mesh.
//!
//! Every drawn figure is tried as front and as side view facing either way; the assignment in which the whole sheet
//! fits best wins. Front and back have mirrored silhouettes: of two such figures the one with the drawn face is the
//! front (a mesh that is not symmetric decides by its silhouette). Views of one image share scale and ground.

use rayon::prelude::*;

use super::fit::{Drawn, Effort, Fit, Modelled, Pair, WHOLE, everything, shifts};
use super::transform::Placement;
use crate::error::{Error, Result};
use crate::profile::Outline;
use crate::sheet::read::Figure;
use crate::sheet::views::Facing;
use crate::silhouette::Azimuth;
use crate::space::{Level, ViewUnits};

/// How much better (as a ratio of costs) one of front and back must fit to be told by its silhouette alone.
const DISTINCT: f64 = 0.8;
/// Rows of the mesh outlines that are fitted.
pub const OUTLINE_ROWS: usize = 600;

/// What is known of a drawn figure before the mesh is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    /// Nothing: any view.
    Any,
    /// Given as a front view.
    Front,
    /// Given as a side view.
    Side,
    /// Given as a back view.
    Back,
}

/// One drawn figure of one image.
pub struct Candidate<'a> {
    /// Index of its image.
    pub image: usize,
    /// What it was given as.
    pub asked: Asked,
    /// The figure as it was read.
    pub figure: &'a Figure,
}

/// A drawn figure with its place on the mesh.
#[derive(Debug, Clone)]
pub struct Placed {
    /// `front`, `side`, `back`, `three-quarter`, with a number for further ones.
    pub name: String,
    /// Where it looks.
    pub facing: Facing,
    /// The mesh's view that it shows.
    pub azimuth: Azimuth,
    /// Where it lies.
    pub placement: Placement,
    /// Share of the mesh's outline that agrees with it.
    pub agreeing: f64,
}

/// All figures placed.
#[derive(Debug, Clone)]
pub struct Placing {
    /// One for each candidate.
    pub views: Vec<Placed>,
    /// Index of the leading view.
    pub lead: usize,
    /// Share of the mesh's outline that agrees with the drawing, over all views.
    pub agreeing: f64,
}

/// The mesh's outlines in the views that a figure can show.
pub struct MeshViews {
    front: Modelled,
    back: Modelled,
    right: Modelled,
    left: Modelled,
    /// Views from between, for figures that are drawn so.
    between: Vec<(Azimuth, Modelled)>,
}

impl MeshViews {
    /// Prepares the outlines of the front view and of the side view facing right (the other two are their mirror
    /// images), and those of any views from between.
    ///
    /// # Errors
    /// One of them is empty: the mesh is flat.
    pub fn new(
        front: &Outline<ViewUnits>,
        right: &Outline<ViewUnits>,
        between: &[(Azimuth, Outline<ViewUnits>)],
    ) -> Result<Self> {
        let flipped = |o: &Outline<ViewUnits>| Outline {
            rings: o
                .rings
                .iter()
                .map(|r| {
                    r.iter()
                        .rev()
                        .map(|p| crate::space::Point::new(-p.x, p.y))
                        .collect()
                })
                .collect(),
        };
        let model = |o: &Outline<ViewUnits>| {
            Modelled::new(o).ok_or_else(|| Error::new("the mesh is flat: one of its views has no area"))
        };
        Ok(Self {
            front: model(front)?,
            back: model(&flipped(front))?,
            right: model(right)?,
            left: model(&flipped(right))?,
            between: between
                .iter()
                .map(|(a, o)| Ok((*a, model(o)?)))
                .collect::<Result<_>>()?,
        })
    }

    fn view(&self, azimuth: Azimuth) -> &Modelled {
        match azimuth.degrees() {
            0.0 => &self.front,
            180.0 => &self.back,
            90.0 => &self.right,
            -90.0 => &self.left,
            _ => self
                .between
                .iter()
                .find(|b| b.0 == azimuth)
                .map_or(&self.left, |b| &b.1),
        }
    }
}

/// Places all figures.
///
/// # Errors
/// A figure without an outline.
pub fn place(candidates: &[Candidate<'_>], mesh: &MeshViews, figure_height: Option<f64>) -> Result<Placing> {
    let drawn = candidates
        .iter()
        .map(|c| Drawn::new(&c.figure.level).ok_or_else(|| Error::new("a figure has no outline")))
        .collect::<Result<Vec<Drawn>>>()?;
    let leads: Vec<usize> = match candidates.iter().position(|c| c.asked == Asked::Front) {
        Some(i) => vec![i],
        None => (0..candidates.len())
            .filter(|&i| candidates[i].image == candidates[0].image && !is_oblique(&candidates[i], mesh))
            .collect(),
    };
    // Whole figures are told by their heights alone; only if none is whole is it worth looking everywhere.
    let mut best = assign_best(candidates, &drawn, mesh, figure_height, &leads, Effort::Heights);
    if figure_height.is_none() && best.as_ref().is_none_or(|b| agreeing(&b.1) < WHOLE) {
        best = assign_best(
            candidates,
            &drawn,
            mesh,
            figure_height,
            &leads,
            Effort::Everywhere,
        );
    }
    let (_, mut found, lead) = best.ok_or_else(|| Error::new("the drawing cannot be laid onto the mesh"))?;
    let lead = tell_front_from_back(candidates, &drawn, mesh, &mut found, lead);
    refit(candidates, &drawn, mesh, figure_height, &mut found, lead);
    Ok(finish(found, lead))
}

/// Mean share of the outlines that agree.
fn agreeing(found: &[Assigned]) -> f64 {
    found.iter().map(|(_, f)| f.agreeing).sum::<f64>() / found.len() as f64
}

/// The assignment in which the whole sheet fits best: its cost, and its leading view.
fn assign_best(
    candidates: &[Candidate<'_>],
    drawn: &[Drawn],
    mesh: &MeshViews,
    figure_height: Option<f64>,
    leads: &[usize],
    effort: Effort,
) -> Option<(f64, Vec<Assigned>, usize)> {
    let tried: Vec<Option<Vec<Assigned>>> = leads
        .par_iter()
        .map(|&lead| {
            let lead_view = match candidates[lead].asked {
                Asked::Side => Azimuth::FACING_RIGHT,
                _ => Azimuth::FRONT,
            };
            assign(candidates, drawn, mesh, (figure_height, effort), lead, lead_view)
        })
        .collect();
    let mut best: Option<(f64, Vec<Assigned>, usize)> = None;
    for (&lead, found) in leads.iter().zip(tried) {
        let Some(found) = found else { continue };
        let cost = found.iter().map(|(_, f)| f.cost).sum::<f64>() / found.len() as f64;
        if best.as_ref().is_none_or(|b| cost < b.0 * 0.999) {
            best = Some((cost, found, lead));
        }
    }
    best
}

/// The mesh's view that a figure shows, and how it lies on it.
type Assigned = (Azimuth, Fit);

/// Whether a figure's drawing tells that it is seen from between, and there are such views to compare with.
fn is_oblique(candidate: &Candidate<'_>, mesh: &MeshViews) -> bool {
    candidate.asked == Asked::Any && candidate.figure.oblique && !mesh.between.is_empty()
}

fn azimuths(candidate: &Candidate<'_>, mesh: &MeshViews) -> Vec<Azimuth> {
    if is_oblique(candidate, mesh) {
        return mesh.between.iter().map(|b| b.0).collect();
    }
    const ANY: [Azimuth; 3] = [Azimuth::FRONT, Azimuth::FACING_RIGHT, Azimuth::FACING_LEFT];
    match candidate.asked {
        Asked::Any => ANY.to_vec(),
        Asked::Front => ANY[..1].to_vec(),
        Asked::Side => ANY[1..].to_vec(),
        Asked::Back => vec![Azimuth::BACK],
    }
}

/// Scale and ground from the lead alone, then the best view and shift of every other figure.
fn assign(
    candidates: &[Candidate<'_>],
    drawn: &[Drawn],
    mesh: &MeshViews,
    how: (Option<f64>, Effort),
    lead: usize,
    lead_view: Azimuth,
) -> Option<Vec<Assigned>> {
    let fit = lead_fit(&drawn[lead], mesh.view(lead_view), how)?;
    let mut out = Vec::with_capacity(candidates.len());
    for (i, c) in candidates.iter().enumerate() {
        if i == lead {
            out.push((lead_view, fit.clone()));
            continue;
        }
        let (units_per_px, zero_px) = scale_of(candidates, drawn, &fit, lead, i);
        let best = azimuths(c, mesh)
            .into_iter()
            .map(|a| {
                (
                    a,
                    shifts(
                        &[Pair {
                            drawn: &drawn[i],
                            modelled: mesh.view(a),
                        }],
                        units_per_px,
                        zero_px,
                    ),
                )
            })
            .min_by(|a, b| a.1.cost.total_cmp(&b.1.cost))?;
        out.push(best);
    }
    Some(out)
}

fn lead_fit(
    drawn: &Drawn,
    modelled: &Modelled,
    (figure_height, effort): (Option<f64>, Effort),
) -> Option<Fit> {
    let pair = [Pair { drawn, modelled }];
    match figure_height {
        Some(h) => Some(shifts(
            &pair,
            h / (drawn.ground_px - drawn.crown_px),
            drawn.ground_px,
        )),
        None => everything(&pair, effort),
    }
}

/// Scale and row of zero for figure `i`: the lead's own on its image; on another image crown and ground are made
/// to agree with the lead's.
fn scale_of(candidates: &[Candidate<'_>], drawn: &[Drawn], fit: &Fit, lead: usize, i: usize) -> (f64, f64) {
    if candidates[i].image == candidates[lead].image {
        return (fit.units_per_px, fit.zero_px);
    }
    let (a, b) = (&drawn[lead], &drawn[i]);
    let units_per_px = fit.units_per_px * (a.ground_px - a.crown_px) / (b.ground_px - b.crown_px);
    let ground_y = (fit.zero_px - a.ground_px) * fit.units_per_px;
    (units_per_px, b.ground_px + ground_y / units_per_px)
}

/// Among the figures that show the front or the back: decides which is the front, and returns the lead.
fn tell_front_from_back(
    candidates: &[Candidate<'_>],
    drawn: &[Drawn],
    mesh: &MeshViews,
    found: &mut [(Azimuth, Fit)],
    lead: usize,
) -> usize {
    let frontal: Vec<usize> = (0..found.len())
        .filter(|&i| candidates[i].asked == Asked::Any && found[i].0 == Azimuth::FRONT)
        .collect();
    if frontal.len() < 2 {
        return lead;
    }
    let as_back = |i: usize, fit: &Fit| {
        shifts(
            &[Pair {
                drawn: &drawn[i],
                modelled: &mesh.back,
            }],
            fit.units_per_px,
            fit.zero_px,
        )
    };
    let back: Vec<Fit> = frontal.iter().map(|&i| as_back(i, &found[i].1)).collect();
    let distinct = frontal
        .iter()
        .zip(&back)
        .any(|(&i, b)| b.cost < DISTINCT * found[i].1.cost || found[i].1.cost < DISTINCT * b.cost);
    let front = if distinct {
        frontal
            .iter()
            .zip(&back)
            .min_by(|a, b| (found[*a.0].1.cost / a.1.cost).total_cmp(&(found[*b.0].1.cost / b.1.cost)))
            .map(|(&i, _)| i)
    } else {
        frontal
            .iter()
            .copied()
            .max_by(|&a, &b| candidates[a].figure.face.total_cmp(&candidates[b].figure.face))
    };
    let front = front.unwrap_or(lead);
    for (&i, fit) in frontal.iter().zip(back) {
        if i != front {
            found[i] = (Azimuth::BACK, fit);
        }
    }
    front
}

/// With every view known, scale and ground are found once more from all views of the lead's image together.
fn refit(
    candidates: &[Candidate<'_>],
    drawn: &[Drawn],
    mesh: &MeshViews,
    figure_height: Option<f64>,
    found: &mut [(Azimuth, Fit)],
    lead: usize,
) {
    let image = candidates[lead].image;
    let mut same: Vec<usize> = (0..found.len())
        .filter(|&i| candidates[i].image == image)
        .collect();
    same.sort_by_key(|&i| (i != lead, i));
    let pairs: Vec<Pair<'_>> = same
        .iter()
        .map(|&i| Pair {
            drawn: &drawn[i],
            modelled: mesh.view(found[i].0),
        })
        .collect();
    let common = match figure_height {
        Some(h) => {
            let d = &drawn[lead];
            Some(shifts(&pairs, h / (d.ground_px - d.crown_px), d.ground_px))
        }
        None => everything(&pairs, Effort::Everywhere),
    };
    let Some(common) = common else { return };
    for (k, &i) in same.iter().enumerate() {
        let alone = shifts(
            &[Pair {
                drawn: &drawn[i],
                modelled: mesh.view(found[i].0),
            }],
            common.units_per_px,
            common.zero_px,
        );
        found[i].1 = Fit {
            origins_px: vec![common.origins_px[k]],
            cost: alone.cost,
            agreeing: alone.agreeing,
            ..common
        };
    }
    for i in (0..found.len()).filter(|i| !same.contains(i)) {
        let (units_per_px, zero_px) = scale_of(candidates, drawn, &common, lead, i);
        let pair = [Pair {
            drawn: &drawn[i],
            modelled: mesh.view(found[i].0),
        }];
        found[i].1 = shifts(&pair, units_per_px, zero_px);
    }
}

fn finish(found: Vec<(Azimuth, Fit)>, lead: usize) -> Placing {
    let plain: Vec<(&str, Facing)> = found
        .iter()
        .map(|(a, _)| match a.degrees() {
            0.0 => ("front", Facing::Viewer),
            180.0 => ("back", Facing::Away),
            90.0 => ("side", Facing::Right),
            -90.0 => ("side", Facing::Left),
            a if a > 0.0 => ("three-quarter", Facing::Right),
            _ => ("three-quarter", Facing::Left),
        })
        .collect();
    let agreeing = agreeing(&found);
    let views = crate::sheet::views::number(&plain)
        .into_iter()
        .zip(found)
        .map(|((name, facing), (azimuth, fit))| Placed {
            name,
            facing,
            azimuth,
            placement: fit.placement(0),
            agreeing: fit.agreeing,
        })
        .collect();
    Placing {
        views,
        lead,
        agreeing,
    }
}

/// Rows of crown and ground of a figure in a view's units.
pub fn reach(placement: &Placement, figure: &Figure) -> (f64, f64) {
    let y = |px: f64| placement.to_view(crate::space::Point::<Level>::new(0.0, px)).y;
    (y(figure.crown_px), y(figure.ground_px))
}
