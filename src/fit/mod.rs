//! Moves of a cage's vertices that bring its silhouettes onto the drawing, its topology untouched.
//!
//! In rounds: the outline of the surface that counts is matched with the drawing's (`pairs`), every place that is off asks
//! the cage vertices it is made of to go square to the drawing's line, and the move that does so and bends the surface
//! least is solved for (`plate`, `solve`). Places that agree hold the surface where it is. Mirrored vertices share their
//! unknowns, so halves stay mirrors (after Laplacian editing, Sorkine et al. 2004, and silhouette sketching, Nealen et
//! al. 2005). `guard` takes back what would turn faces over or push the surface through itself, `rest` says what is left
//! and why, `advice` puts the moves into a modeller's words.
//!
//! The cage stands upright, facing +z; everything is in its units. Nothing here reads files or knows how a sheet was read.

mod advice;
mod guard;
mod pairs;
mod plate;
mod reach;
mod rest;
mod slots;
mod solve;
mod traced;
mod wanted;

pub use advice::{Move, Stretch, advise};
pub use rest::{Reason, Rest};
pub use solve::LeastSquares;
pub use wanted::Pull;

use std::borrow::Cow;

use rayon::prelude::*;

use crate::error::Result;
use crate::mesh::Mesh;
use crate::mesh::adjacency::{Adjacency, NONE};
use crate::mesh::vector::{Vector, norm};
use crate::profile::Outline;
use crate::silhouette::Azimuth;
use crate::smooth::{Plan, Smoothing};
use crate::space::{Point, ViewUnits};
use plate::Plate;
use slots::{Partners, Slots};
use solve::LeastSquares as Sum;
use wanted::Seen;

/// Most rounds: each follows the outline anew.
const MOST_ROUNDS: usize = 8;
/// A round that takes away less than this share of what was left, in squares, is the last.
const WORTHWHILE: f64 = 0.1;
/// What already agrees within this share of the tolerance is left alone.
pub const LEFT_ALONE: f64 = 0.25;
/// Stiffness of the surface: waves longer than some thirty times this share of the height follow the drawing.
const STIFF: f64 = 0.002;
/// What keeps a move small where nothing else is said.
const STAY: f64 = 1e-9;
/// Largest move where none is given, in shares of the height.
pub const MOST_MOVE: f64 = 0.15;

/// A drawn view that the cage is to match.
pub struct Target<'a> {
    /// Where the viewer stands.
    pub azimuth: Azimuth,
    /// The drawing's outline in the mesh's units.
    pub drawing: &'a Outline<ViewUnits>,
    /// How much it counts against the others.
    pub weight: f64,
    /// Whether a place of the mesh's outline may be corrected.
    pub asked: &'a (dyn Fn(Point<ViewUnits>) -> bool + Sync),
}

/// How to fit.
pub struct Ask<'a> {
    /// Height of the drawn figure.
    pub height: f64,
    /// How far the mesh may lie off, in units.
    pub tolerance: f64,
    /// The surface that counts; `None`: the cage itself.
    pub smoothing: Option<Smoothing>,
    /// Who mirrors whom about x = c, itself on the centre line; as long as the vertices. [`NONE`] without a partner.
    pub partners: &'a [u32],
    /// The first vertex at the place of each one: those at one place stay together. As long as the vertices.
    pub same: &'a [u32],
    /// Vertices that may move; shorter than the vertices where all may.
    pub movable: &'a [bool],
    /// Faces of the cage that count for the outline; `None`: all. The others go along unseen.
    pub counting: Option<&'a [bool]>,
    /// Largest move of a vertex, in units.
    pub most_move: f64,
    /// Share of the way to go, 0 to 1.
    pub amount: f64,
    /// Told the number of each round as it begins.
    pub progress: &'a (dyn Fn(usize) + Sync),
}

/// What a fit found.
#[derive(Debug, Clone, Default)]
pub struct Fit {
    /// For each vertex how far it goes.
    pub moves: Vec<Vector>,
    /// Places of the outlines that were off before, and what was asked of them.
    pub pulls: Vec<Pull>,
    /// What is left, and why.
    pub rest: Vec<Rest>,
    /// Rounds that were gone.
    pub rounds: usize,
    /// Vertices that move although no outline passes them.
    pub unseen: usize,
    /// Vertices whose move was cut to the largest one.
    pub cut: usize,
    /// Vertices that go less far than asked, so that no face turns over and nothing is pushed through.
    pub held_back: usize,
}

impl Fit {
    /// Number of vertices that move.
    pub fn moved(&self) -> usize {
        self.moves.iter().filter(|m| **m != [0.0; 3]).count()
    }

    /// Length of the largest move, in units.
    pub fn largest(&self) -> f64 {
        self.moves.iter().map(|m| norm(*m)).fold(0.0, f64::max)
    }

    /// The vertices of a cage, moved.
    pub fn positions(&self, cage: &Mesh) -> Vec<Vector> {
        let places = cage.positions().iter().zip(&self.moves);
        places
            .map(|(p, m)| std::array::from_fn(|i| p[i] + m[i]))
            .collect()
    }
}

/// Finds the moves that bring a cage onto its drawn views.
///
/// # Errors
/// The surface would have too many faces, or the equations cannot be solved.
pub fn fit(cage: &Mesh, targets: &[Target<'_>], ask: &Ask<'_>) -> Result<Fit> {
    let count = cage.positions().len();
    let mut out = Fit {
        moves: vec![[0.0; 3]; count],
        ..Fit::default()
    };
    let table = Adjacency::of(cage);
    let spokes = table.spokes(count);
    let plate = Plate::of(cage, &table, ask.height);
    let partners = Partners {
        of: ask.partners,
        same: ask.same,
    };
    let plan = ask.smoothing.map(|s| Plan::new(cage, s, &[])).transpose()?;
    let drawn: Vec<traced::Traced> = targets
        .iter()
        .map(|t| traced::Traced::of(t.drawing, wanted::STEP * ask.height))
        .collect();
    // Vertices that a correction has reached: they are followed until they arrive.
    let mut touched = vec![false; count];
    // Of these the ones that a correction begins at, and all that it may reach.
    let mut begun = vec![false; count];
    let mut free = vec![false; count];
    let mut on_outline = vec![false; count];
    // Places that were pushed within the drawing: when their neighbours have become the outline they must not come back.
    let mut kept: Vec<wanted::Wanted> = Vec::new();
    let mut left = f64::INFINITY;
    loop {
        (ask.progress)(out.rounds + 1);
        let now = cage.moved(out.positions(cage));
        let surface = surface(&now, plan.as_ref(), ask)?;
        let seen: Vec<Seen> = targets
            .par_iter()
            .zip(&drawn)
            .map(|(target, drawn)| wanted::look(&surface, plan.as_ref(), target, drawn, ask, &touched))
            .collect();
        for wanted in seen.iter().flat_map(|s| &s.wanted) {
            wanted.each_vertex(|v, _| on_outline[v as usize] = true);
        }
        if out.rounds == 0 {
            out.pulls = wanted::pulls(&seen);
        }
        let active = || seen.iter().flat_map(|s| &s.wanted).filter(|w| w.active);
        let worst = active().map(|w| w.off.abs()).fold(0.0, f64::max);
        let remains: f64 = active().map(|w| w.off * w.off).sum();
        let done = worst <= 0.5 * LEFT_ALONE * ask.tolerance || remains > (1.0 - WORTHWHILE) * left;
        if done || out.rounds == MOST_ROUNDS {
            out.rest = rest::rest(&seen, &out.moves, targets, ask);
            break;
        }
        left = remains;
        for wanted in seen.iter().flat_map(|s| &s.wanted).filter(|w| w.active) {
            wanted.each_vertex(|v, share| {
                if share >= wanted::MAIN {
                    touched[v as usize] = true;
                    // Where a correction fades out others are pulled along: that is no reason to go farther still, but for
                    // what only now can be seen, such as the inner sides of legs that touched.
                    let anew = !free[v as usize] && wanted.off.abs() > ask.tolerance;
                    begun[v as usize] |= out.rounds == 0 || anew;
                }
            });
        }
        free = reach::free(cage, &table, &spokes, &begun, partners, ask);
        let mut all: Vec<&wanted::Wanted> = seen.iter().flat_map(|s| &s.wanted).collect();
        all.extend(kept.iter().filter(|k| k.still_counts(&out.moves, ask.tolerance)));
        let found = solve_round(&plate, partners, &free, &all, &out.moves, ask)?;
        let pushed = seen.iter().flat_map(|s| &s.wanted);
        kept.extend(pushed.filter_map(|w| w.kept(&out.moves)));
        out.moves = found;
        out.cut = shorten(&mut out.moves, ask.most_move);
        out.rounds += 1;
    }
    for m in &mut out.moves {
        *m = m.map(|c| c * ask.amount);
    }
    out.held_back = guard::guard(cage, &table, &spokes, partners, &mut out.moves, ask.height);
    for m in &mut out.moves {
        if norm(*m) < wanted::NO_MOVE * ask.height {
            *m = [0.0; 3];
        }
    }
    out.unseen = (0..count)
        .filter(|&v| out.moves[v] != [0.0; 3] && !on_outline[v])
        .count();
    Ok(out)
}

/// The surface that is seen: smoothed where that counts, without the faces that do not.
fn surface<'a>(cage: &'a Mesh, plan: Option<&Plan>, ask: &Ask<'_>) -> Result<Cow<'a, Mesh>> {
    let Some(plan) = plan else {
        return Ok(match ask.counting {
            None => Cow::Borrowed(cage),
            Some(counting) => Cow::Owned(cage.keep_faces(counting)),
        });
    };
    let smoothed = plan.mesh(cage)?;
    let Some(counting) = ask.counting else {
        return Ok(Cow::Owned(smoothed));
    };
    let mut keep = vec![false; smoothed.face_count()];
    for (face, _) in counting.iter().enumerate().filter(|(_, counts)| **counts) {
        let [first, end] = plan.faces_of([face, face + 1]);
        keep[first..end].fill(true);
    }
    Ok(Cow::Owned(smoothed.keep_faces(&keep)))
}

/// The whole move of every vertex after a round.
fn solve_round(
    plate: &Plate,
    partners: Partners<'_>,
    free: &[bool],
    wanted: &[&wanted::Wanted],
    moves: &[Vector],
    ask: &Ask<'_>,
) -> Result<Vec<Vector>> {
    let targets: Vec<Vector> = wanted.iter().map(|w| w.target(moves)).collect();
    let axes: Vec<Vec<f64>> = (0..3)
        .into_par_iter()
        .map(|axis| along_axis(axis, plate, partners, free, wanted, &targets, ask))
        .collect::<Result<_>>()?;
    Ok((0..moves.len())
        .map(|v| std::array::from_fn(|i| axes[i][v]))
        .collect())
}

fn along_axis(
    axis: usize,
    plate: &Plate,
    partners: Partners<'_>,
    free: &[bool],
    wanted: &[&wanted::Wanted],
    targets: &[Vector],
    ask: &Ask<'_>,
) -> Result<Vec<f64>> {
    let slots = Slots::new(axis, partners, free);
    let mut sum = Sum::new(slots.count);
    plate.each_bend(&slots, partners, |row, weight| {
        sum.add(row, 0.0, STIFF.powi(3) * weight);
    });
    for v in 0..free.len() {
        if let Some((slot, _)) = slots.get(v as u32) {
            sum.add(&[(slot, 1.0)], 0.0, STAY / STIFF * plate.area(v));
        }
    }
    for (wanted, target) in wanted.iter().zip(targets) {
        let weight = wanted.weight_along(axis);
        if weight > 0.0 {
            let shares = slots.gathered(wanted.shares());
            if !shares.is_empty() {
                sum.add(&shares, target[axis] / ask.height, weight);
            }
        }
    }
    let found = sum.solve()?;
    let of = |v: usize| {
        slots
            .get(v as u32)
            .map_or(0.0, |(slot, sign)| sign * found[slot] * ask.height)
    };
    Ok((0..free.len()).map(of).collect())
}

/// Cuts moves to the largest one that is allowed; says how many.
fn shorten(moves: &mut [Vector], most: f64) -> usize {
    let mut cut = 0;
    for m in moves {
        let long = norm(*m);
        if long > most {
            *m = m.map(|c| c * most / long);
            cut += 1;
        }
    }
    cut
}

/// No partner, for whoever makes [`Ask::partners`].
pub const NO_PARTNER: u32 = NONE;
