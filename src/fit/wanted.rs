//! What the drawing asks of the surface: for every place of a view's outline how far it is off, in which direction, and of
//! which cage vertices it is made.

use std::collections::HashMap;

use super::pairs::{self, pairs};
use super::traced::{Place, Traced};
use super::{Ask, LEFT_ALONE, Target};
use crate::mesh::Mesh;
use crate::mesh::vector::Vector;
use crate::profile::Outline;
use crate::silhouette::{Azimuth, OnRim, Rim, Silhouette};
use crate::smooth::{Plan, Stencil, summed};
use crate::space::{Point, ViewUnits};

/// Distance of the places that an outline is followed by, in shares of the height.
pub(super) const STEP: f64 = 0.005;
/// Rows of the outline: two of them are closer than its places.
const ROWS: usize = 800;
/// A stretch is corrected if it is off by this share of the tolerance somewhere.
const WORTH: f64 = 0.4;
/// Directions that differ by more, as a cosine, are those of other parts.
const ALIKE: f64 = 0.2;
/// A line that turns inward by more than this sine within so many places is a nook: what is read there is off by as much
/// as the corner is rounded by.
const NOOK_TURN: f64 = 0.4;
const NOOK: usize = 3;
/// So many places on both sides of a break in the matching are passed over.
const BROKEN: usize = 3;
/// So many steps along its line a place of the drawing may lie from one of the mesh that stands for it.
const ASIDE: f64 = 2.0;
/// Least cosine for what is looked for behind an outline.
const HIDDEN_ALIKE: f64 = 0.5;
/// How far a hidden place may be off, in shares of the height.
const HIDDEN_REACH: f64 = 0.06;
/// A vertex with at least this share in a place is what the place is made of.
pub(super) const MAIN: f64 = 0.1;
/// Less is no move, in shares of the height.
pub(super) const NO_MOVE: f64 = 1e-6;
/// What is kept counts so much less than what is seen: its direction is that of an earlier round.
const KEPT_WEIGHT: f64 = 0.3;
/// A place that was pushed within the drawing and lies deeper by this share of the tolerance needs no keeping.
const KEPT_SLACK: f64 = 0.1;
/// What agrees is held in the other direction too, by this much less.
const HELD: f64 = 0.3;

/// What is wanted of a place of the surface.
#[derive(Debug, Clone)]
pub(super) struct Wanted {
    shares: Stencil,
    /// In the view.
    pub(super) at: Point<ViewUnits>,
    /// The drawing's outward direction there, in the view and in space.
    pub(super) out: [f64; 2],
    toward: Vector,
    across: Vector,
    /// How far the drawing lies beyond the mesh, in units.
    pub(super) off: f64,
    /// It is to be corrected; otherwise it holds the surface where it is.
    pub(super) active: bool,
    /// It is off by more than is left alone, but was not asked for.
    pub(super) spared: bool,
    /// Length of outline it stands for, in shares of the height, times the view's and the match's weight.
    weight: f64,
    /// Where the place should be, from where it was in the cage as given, if that was said in an earlier round.
    goal: Option<Vector>,
}

/// One view, followed.
#[derive(Debug, Clone, Default)]
pub(super) struct Seen {
    pub(super) wanted: Vec<Wanted>,
}

/// A place of an outline that was off, and what was asked of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Pull {
    /// Index of the target.
    pub view: usize,
    /// The place in the view, in units.
    pub at: Point<ViewUnits>,
    /// Where it should go from there, in units of the view.
    pub by: [f64; 2],
    /// The cage's vertices it is made of, those with the largest share first.
    pub vertices: Vec<u32>,
}

impl Wanted {
    pub(super) fn shares(&self) -> impl Iterator<Item = (u32, f64)> + '_ {
        self.shares.iter().copied()
    }

    pub(super) fn each_vertex(&self, mut each: impl FnMut(u32, f64)) {
        self.shares.iter().for_each(|&(v, share)| each(v, share));
    }

    /// How much the move along an axis matters.
    pub(super) fn weight_along(&self, axis: usize) -> f64 {
        let square = self.toward[axis] * self.toward[axis];
        let held = if self.active {
            0.0
        } else {
            HELD * self.across[axis] * self.across[axis]
        };
        self.weight * (square + held)
    }

    fn now(&self, moves: &[Vector]) -> Vector {
        let mut sum = [0.0; 3];
        for &(v, share) in &self.shares {
            for (s, m) in sum.iter_mut().zip(moves[v as usize]) {
                *s += share * m;
            }
        }
        sum
    }

    /// How far the place should go in all, from where it was in the cage as given.
    pub(super) fn target(&self, moves: &[Vector]) -> Vector {
        let now = self.now(moves);
        match self.goal {
            Some(goal) => goal,
            None if self.active => std::array::from_fn(|i| now[i] + self.off * self.toward[i]),
            None => now,
        }
    }

    /// A place that reached beyond the drawing, to be kept within it when other places have become the outline.
    pub(super) fn kept(&self, moves: &[Vector]) -> Option<Self> {
        (self.active && self.off < 0.0).then(|| Self {
            goal: Some(self.target(moves)),
            weight: KEPT_WEIGHT * self.weight,
            ..self.clone()
        })
    }

    /// Whether a kept place reaches beyond the drawing, or would if nothing held it.
    pub(super) fn still_counts(&self, moves: &[Vector], tolerance: f64) -> bool {
        let (now, goal) = (self.now(moves), self.goal.unwrap_or_default());
        let beyond: f64 = (0..3).map(|i| (now[i] - goal[i]) * self.toward[i]).sum();
        beyond > -KEPT_SLACK * tolerance
    }
}

/// The directions of a view's x and y in space.
fn directions(azimuth: Azimuth) -> [Vector; 2] {
    let unit = |i: usize| std::array::from_fn(|k| if k == i { 1.0 } else { 0.0 });
    [
        std::array::from_fn(|i| azimuth.view_x(unit(i))),
        std::array::from_fn(|i| azimuth.view_y(unit(i))),
    ]
}

/// A place of the mesh's outline, matched.
struct Match {
    rim: OnRim,
    at: Point<ViewUnits>,
    out: [f64; 2],
    off: f64,
    alike: f64,
    long: f64,
    /// Places of one ring that follow each other have numbers that do.
    order: usize,
    /// The drawing turns inward there, as between two parts that meet.
    nook: bool,
}

/// Follows one view of the surface. `touched` are the cage vertices that corrections have reached.
pub(super) fn look(
    surface: &Mesh,
    plan: Option<&Plan>,
    target: &Target<'_>,
    drawn: &Traced,
    ask: &Ask<'_>,
    touched: &[bool],
) -> Seen {
    let rim = Rim::of(surface, target.azimuth);
    let outline = Silhouette::new(surface, target.azimuth).outline(ROWS);
    let own = Traced::of(&outline, STEP * ask.height);
    let found = pairs(&own, drawn, ask.height);
    let breaks = pairs::from_breaks(&own, drawn, &found);
    let mut matches = Vec::with_capacity(own.places.len());
    let mut used = vec![false; drawn.places.len()];
    let onward = drawn.onward();
    let nooks = nooks(drawn, &onward);
    for (order, (place, &pair)) in own.places.iter().zip(&found).enumerate() {
        if pair == pairs::NONE {
            continue;
        }
        // A place that was matched along the line rather than across it says nothing of what lies there.
        let q = drawn.places[pair];
        let aside = (q.at.x - place.at.x) * q.outward[1] - (q.at.y - place.at.y) * q.outward[0];
        used[pair] |= aside.abs() <= ASIDE * STEP * ask.height;
        // Beside what only one of the two has, the other's outline turns off to where nothing can be told.
        if breaks[order] <= BROKEN {
            continue;
        }
        let (out, off) = beyond(place, drawn, &onward, pair);
        let alike = place.outward[0] * out[0] + place.outward[1] * out[1];
        let Some(on) = rim.nearest(place.at) else { continue };
        if alike >= ALIKE {
            matches.push(Match {
                rim: on,
                at: place.at,
                out,
                off,
                alike,
                long: own.stands_for[order],
                order,
                nook: nooks[pair],
            });
        }
    }
    hidden(&rim, &outline, drawn, &used, ask, own.places.len(), &mut matches);
    let runs = worth_correcting(&matches, ask.tolerance);
    let shares = shares(surface, plan, &rim, &matches);
    let [x, y] = directions(target.azimuth);
    let in_space = |d: [f64; 2]| -> Vector { std::array::from_fn(|i| d[0] * x[i] + d[1] * y[i]) };
    let wanted = matches
        .into_iter()
        .zip(shares)
        .zip(runs)
        .map(|((m, shares), run)| {
            let followed = shares.iter().any(|&(v, s)| s >= MAIN && touched[v as usize]);
            let asked = (target.asked)(m.at);
            Wanted {
                at: m.at,
                out: m.out,
                toward: in_space(m.out),
                across: in_space([-m.out[1], m.out[0]]),
                off: m.off,
                goal: None,
                active: asked && (run || followed),
                spared: run && !asked,
                weight: target.weight * m.alike * m.alike * m.long / ask.height,
                shares,
            }
        })
        .collect();
    Seen { wanted }
}

/// The drawing's outward direction beside a place and how far it lies beyond it, square to its line.
fn beyond(place: &Place, drawn: &Traced, onward: &[usize], pair: usize) -> ([f64; 2], f64) {
    let centre = &drawn.places[pair];
    let next = &drawn.places[onward[pair]];
    // Between two places of the drawing the line runs straight, its direction turns.
    let (dx, dy) = (next.at.x - centre.at.x, next.at.y - centre.at.y);
    let squared = (dx * dx + dy * dy).max(f64::MIN_POSITIVE);
    let t = (((place.at.x - centre.at.x) * dx + (place.at.y - centre.at.y) * dy) / squared).clamp(0.0, 1.0);
    let q = Point::<ViewUnits>::new(centre.at.x + t * dx, centre.at.y + t * dy);
    let mixed = [0, 1].map(|i| centre.outward[i] + t * (next.outward[i] - centre.outward[i]));
    let long = mixed[0].hypot(mixed[1]).max(f64::MIN_POSITIVE);
    let out = mixed.map(|c| c / long);
    (out, (q.x - place.at.x) * out[0] + (q.y - place.at.y) * out[1])
}

/// For each place of the drawing whether its line turns inward around it.
fn nooks(drawn: &Traced, onward: &[usize]) -> Vec<bool> {
    let mut out = vec![false; drawn.places.len()];
    for first in 0..out.len() {
        let mut stretch = [first; NOOK + 1];
        for k in 1..=NOOK {
            stretch[k] = onward[stretch[k - 1]];
        }
        let (a, b) = (drawn.places[first].outward, drawn.places[stretch[NOOK]].outward);
        if a[0] * b[1] - a[1] * b[0] < -NOOK_TURN {
            stretch.iter().for_each(|&place| out[place] = true);
        }
    }
    out
}

/// Lines of the drawing that nothing was matched with and that lie within what the mesh covers, such as the inner sides of
/// legs that touch: what belongs there is a rim that other parts hide.
fn hidden(
    rim: &Rim,
    outline: &Outline<ViewUnits>,
    drawn: &Traced,
    used: &[bool],
    ask: &Ask<'_>,
    first: usize,
    matches: &mut Vec<Match>,
) {
    let onward = drawn.onward();
    let mut near = used.to_vec();
    // A place counts as matched also where one of its neighbours is.
    for _ in 0..2 {
        let before = near.clone();
        for (place, &next) in onward.iter().enumerate() {
            near[place] |= before[next];
            near[next] |= before[place];
        }
    }
    let lonely: Vec<usize> = (0..near.len()).filter(|i| !near[*i]).collect();
    if lonely.is_empty() {
        return;
    }
    let ys: Vec<f64> = lonely.iter().map(|&i| drawn.places[i].at.y).collect();
    let rows = outline.row_spans(&ys);
    let reach = HIDDEN_REACH * ask.height;
    for (row, &i) in lonely.iter().enumerate() {
        let place = &drawn.places[i];
        if !rows
            .row(row)
            .iter()
            .any(|s| s.x0 < place.at.x && place.at.x < s.x1)
        {
            continue;
        }
        let mut best: Option<(f64, OnRim, Point<ViewUnits>)> = None;
        for edge in 0..rim.edges().len() {
            let out = rim.outward(edge);
            if out[0] * place.outward[0] + out[1] * place.outward[1] < HIDDEN_ALIKE {
                continue;
            }
            let [a, b] = rim.line(edge);
            let (dx, dy) = (b.x - a.x, b.y - a.y);
            let t =
                (((place.at.x - a.x) * dx + (place.at.y - a.y) * dy) / (dx * dx + dy * dy)).clamp(0.0, 1.0);
            let at = Point::new(a.x + t * dx, a.y + t * dy);
            let distance = at.distance(place.at);
            if distance <= reach && best.as_ref().is_none_or(|b| distance < b.0) {
                best = Some((
                    distance,
                    OnRim {
                        edge,
                        along: t,
                        distance,
                    },
                    at,
                ));
            }
        }
        if let Some((_, on, at)) = best {
            let off = (place.at.x - at.x) * place.outward[0] + (place.at.y - at.y) * place.outward[1];
            matches.push(Match {
                rim: on,
                at,
                out: place.outward,
                off,
                alike: HIDDEN_ALIKE,
                long: drawn.stands_for[i],
                order: first + i,
                nook: false,
            });
        }
    }
}

/// For each match whether it belongs to a stretch that is off by more than is left alone, and somewhere by more than
/// half of the tolerance.
fn worth_correcting(matches: &[Match], tolerance: f64) -> Vec<bool> {
    let mut out = vec![false; matches.len()];
    let mut first = 0;
    while first < matches.len() {
        let is_off = |m: &Match| m.off.abs() > LEFT_ALONE * tolerance;
        let mut end = first + 1;
        if is_off(&matches[first]) {
            let sign = matches[first].off.signum();
            while end < matches.len()
                && matches[end].order <= matches[end - 1].order + 2
                && is_off(&matches[end])
                && matches[end].off.signum() == sign
            {
                end += 1;
            }
            let own = &matches[first..end];
            let least = |m: &Match| if m.nook { 1.0 } else { WORTH };
            let worth = own.iter().any(|m| m.off.abs() > least(m) * tolerance);
            out[first..end].fill(worth);
        }
        first = end;
    }
    out
}

/// The cage's shares in each match.
fn shares(surface: &Mesh, plan: Option<&Plan>, rim: &Rim, matches: &[Match]) -> Vec<Stencil> {
    let ends = |m: &Match| {
        let [a, b] = rim.edges()[m.rim.edge].ends;
        [(a, 1.0 - m.rim.along), (b, m.rim.along)]
    };
    let Some(plan) = plan else {
        debug_assert!(
            matches
                .iter()
                .all(|m| ends(m).iter().all(|e| (e.0 as usize) < surface.positions().len()))
        );
        return matches.iter().map(|m| ends(m).to_vec()).collect();
    };
    let mut vertices: Vec<u32> = matches.iter().flat_map(|m| ends(m).map(|e| e.0)).collect();
    vertices.sort_unstable();
    vertices.dedup();
    let stencils = plan.stencils(&vertices);
    let of: HashMap<u32, &Stencil> = vertices.iter().copied().zip(&stencils).collect();
    matches
        .iter()
        .map(|m| {
            let all = ends(m);
            let all = all.iter();
            summed(
                all.flat_map(|(v, share)| of[v].iter().map(move |&(u, s)| (u, share * s)))
                    .collect(),
            )
        })
        .collect()
}

/// What is asked in the first round.
pub(super) fn pulls(seen: &[Seen]) -> Vec<Pull> {
    let mut out = Vec::new();
    for (view, seen) in seen.iter().enumerate() {
        for w in seen.wanted.iter().filter(|w| w.active) {
            let mut shares = w.shares.clone();
            shares.retain(|s| s.1 >= MAIN);
            shares.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
            out.push(Pull {
                view,
                at: w.at,
                by: w.out.map(|c| c * w.off),
                vertices: shares.into_iter().map(|s| s.0).collect(),
            });
        }
    }
    out
}
