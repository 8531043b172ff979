//! A fit in the way a person works: few moves, each of one loop along one axis, fading out over a distance.

use super::Fit;
use super::wanted::Pull;
use crate::limbs::EdgeLoops;
use crate::mesh::Mesh;
use crate::mesh::adjacency::{Adjacency, NONE};
use crate::mesh::vector::{Vector, distance};

/// Most moves that are told for one finding.
const MOST_MOVES: usize = 4;
/// A move that is this share of the largest one of its finding, or less, is not told.
const WORTH: f64 = 0.3;
/// Vertices of a loop that go at least this share of its largest move belong to the move.
const WITH_IT: f64 = 0.5;
/// What goes too far has to be taken back by hand: it counts so much more than what is left to do.
const OVERSHOT: f64 = 4.0;
/// Distances over which a move fades out, in shares of the height, that are tried.
const FADES: [f64; 10] = [0.02, 0.03, 0.04, 0.05, 0.06, 0.08, 0.1, 0.13, 0.16, 0.2];

/// A move that a person can make.
#[derive(Debug, Clone, PartialEq)]
pub struct Move {
    /// The finding it mends: its place in the list that was asked for.
    pub finding: usize,
    /// The vertices that go the whole way, of the loop through the place that is farthest off, in the loop's order; of
    /// mirrored pairs those of one side.
    pub vertices: Vec<u32>,
    /// Whether their mirror images go likewise.
    pub both_sides: bool,
    /// Whether they are one stretch of an edge loop.
    pub is_loop: bool,
    /// 0 for x, 1 for y, 2 for z.
    pub axis: usize,
    /// How far along it, in units, from the vertices' mean place; outward from the plane counts as positive for x of mirrored
    /// vertices.
    pub amount: f64,
    /// Over which distance from them it fades out, in units.
    pub fade: f64,
    /// Mean place of the vertices.
    pub at: Vector,
}

/// Where a finding lies: the target's index and heights.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Index of the target.
    pub view: usize,
    /// Lowest height.
    pub y_from: f64,
    /// Highest height.
    pub y_to: f64,
}

/// The moves that mend some findings, those of each finding largest first.
pub fn advise(cage: &Mesh, fit: &Fit, findings: &[Stretch], partners: &[u32], height: f64) -> Vec<Move> {
    if fit.pulls.is_empty() {
        return Vec::new();
    }
    let table = Adjacency::of(cage);
    let spokes = table.spokes(cage.positions().len());
    let loops = EdgeLoops::of(cage, &table, &spokes);
    let mut through: Vec<Vec<u32>> = vec![Vec::new(); cage.positions().len()];
    for l in 0..loops.count() {
        for &v in loops.vertices(l) {
            through[v as usize].push(l as u32);
        }
    }
    let of = Told {
        cage,
        fit,
        partners,
        loops: &loops,
        through: &through,
        height,
    };
    findings
        .iter()
        .enumerate()
        .flat_map(|(number, finding)| of.moves(number, finding))
        .collect()
}

struct Told<'a> {
    cage: &'a Mesh,
    fit: &'a Fit,
    partners: &'a [u32],
    loops: &'a EdgeLoops,
    through: &'a [Vec<u32>],
    height: f64,
}

/// What a move leaves of itself at a distance: all at its place, nothing from `fade` on.
fn remains(far: f64, fade: f64) -> f64 {
    let t = (far / fade).min(1.0);
    (1.0 - t * t).powi(2)
}

impl Told<'_> {
    fn place(&self, v: u32) -> Vector {
        self.cage.positions()[v as usize]
    }

    /// A vertex of a pair stands for both; the one with x above the plane is told.
    fn of_pair(&self, v: u32) -> u32 {
        let partner = self.partners[v as usize];
        if partner == NONE || self.place(v)[0] >= self.place(partner)[0] {
            v
        } else {
            partner
        }
    }

    fn moves(&self, number: usize, finding: &Stretch) -> Vec<Move> {
        let inside = |p: &&Pull| {
            p.view == finding.view
                && (finding.y_from..=finding.y_to).contains(&p.at.y)
                && !p.vertices.is_empty()
        };
        let mut all: Vec<u32> = self
            .fit
            .pulls
            .iter()
            .filter(inside)
            .map(|p| self.of_pair(p.vertices[0]))
            .collect();
        all.sort_unstable();
        all.dedup();
        // What is still to be told of each one's move.
        let mut left: Vec<(u32, Vector)> = all.iter().map(|&v| (v, self.fit.moves[v as usize])).collect();
        let largest = |left: &[(u32, Vector)]| {
            left.iter()
                .flat_map(|(v, m)| (0..3).map(move |axis| (*v, axis, m[axis])))
                // What another move does too much is no move of its own.
                .filter(|(v, axis, m)| m * self.fit.moves[*v as usize][*axis] > 0.0)
                .max_by(|a, b| a.2.abs().total_cmp(&b.2.abs()))
        };
        let Some((_, _, whole)) = largest(&left) else {
            return Vec::new();
        };
        let mut out = Vec::new();
        while out.len() < MOST_MOVES {
            let Some((v, axis, amount)) = largest(&left) else {
                break;
            };
            if amount == 0.0 || amount.abs() <= WORTH * whole.abs() {
                break;
            }
            let made = self.one(number, v, axis, amount, &left);
            let centre = self.place(v);
            for (u, m) in &mut left {
                m[axis] -= amount * remains(distance(centre, self.place(*u)), made.fade);
            }
            out.push(made);
        }
        out
    }

    /// One move of the loop through a vertex.
    fn one(&self, finding: usize, v: u32, axis: usize, amount: f64, left: &[(u32, Vector)]) -> Move {
        let misfit = |fade: f64| -> f64 {
            left.iter()
                .map(|(u, m)| {
                    let far = distance(self.place(v), self.place(*u));
                    let left = m[axis] - amount * remains(far, fade * self.height);
                    let too_far = if left * amount < 0.0 { OVERSHOT } else { 1.0 };
                    too_far * left * left
                })
                .sum()
        };
        let fade = FADES
            .into_iter()
            .min_by(|a, b| misfit(*a).total_cmp(&misfit(*b)))
            .unwrap_or(FADES[0]);
        let goes = |u: u32| {
            let own = self.fit.moves[u as usize][axis];
            own * amount > 0.0 && own.abs() >= WITH_IT * amount.abs()
        };
        let (mut vertices, is_loop) = match self.level_loop(v) {
            Some(l) => (self.stretch(l, v, goes), true),
            None => (vec![v], false),
        };
        let mirrored = |u: u32| self.partners[u as usize] != NONE && self.partners[u as usize] != u;
        let both_sides = vertices.iter().any(|&u| mirrored(u));
        if both_sides {
            let side = self.of_pair(v);
            let plane = self.place(self.partners[side as usize])[0].midpoint(self.place(side)[0]);
            vertices.retain(|&u| self.place(u)[0] >= plane || !mirrored(u));
        }
        let at = crate::mesh::vector::mean(vertices.iter().map(|&u| self.place(u)));
        Move {
            finding,
            vertices,
            both_sides,
            is_loop,
            axis,
            amount,
            fade: fade * self.height,
            at,
        }
    }

    /// Of the loops through a vertex the one that spreads least in height for its length.
    fn level_loop(&self, v: u32) -> Option<usize> {
        let lean = |l: usize| {
            let own = self.loops.vertices(l);
            let ys = || own.iter().map(|&u| self.place(u)[1]);
            let rise = ys().fold(f64::NEG_INFINITY, f64::max) - ys().fold(f64::INFINITY, f64::min);
            let long: f64 = own
                .windows(2)
                .map(|w| distance(self.place(w[0]), self.place(w[1])))
                .sum();
            rise / long.max(f64::MIN_POSITIVE)
        };
        self.through[v as usize]
            .iter()
            .map(|&l| l as usize)
            .filter(|&l| self.loops.vertices(l).len() > 2)
            .min_by(|a, b| lean(*a).total_cmp(&lean(*b)))
    }

    /// The vertices of a loop on both sides of one of them for as long as they go along.
    fn stretch(&self, l: usize, v: u32, goes: impl Fn(u32) -> bool) -> Vec<u32> {
        let own = self.loops.vertices(l);
        let count = own.len();
        let Some(at) = own.iter().position(|&u| u == v) else {
            return vec![v];
        };
        let closed = self.loops.closed(l);
        let neighbour = |i: usize, forward: bool| match (forward, closed) {
            (true, true) => Some((i + 1) % count),
            (false, true) => Some((i + count - 1) % count),
            (true, false) => (i + 1 < count).then_some(i + 1),
            (false, false) => i.checked_sub(1),
        };
        let mut out = std::collections::VecDeque::from([v]);
        for forward in [true, false] {
            let mut i = at;
            while let Some(next) = neighbour(i, forward) {
                if !goes(own[next]) || out.contains(&own[next]) {
                    break;
                }
                if forward {
                    out.push_back(own[next]);
                } else {
                    out.push_front(own[next]);
                }
                i = next;
            }
        }
        out.into()
    }
}
