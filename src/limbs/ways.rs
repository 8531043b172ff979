//! Shortest ways along edges (Dijkstra 1959), and bridges between shells that come near each other.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use rayon::prelude::*;

use crate::mesh::Mesh;
use crate::mesh::adjacency::{Adjacency, NONE};
use crate::mesh::near::Near;
use crate::mesh::shells::Shells;
use crate::mesh::vector::distance;

/// How far a bridge reaches, in lengths of the longest edge at its vertex: overlapping shells cut each other within a
/// face. Found by reasoning.
const REACH: f64 = 1.2;

/// Pairs of vertices of different shells that lie near each other, on one side of the plane.
pub(super) fn bridges(
    mesh: &Mesh,
    table: &Adjacency,
    shells: &Shells,
    near: &Near<'_>,
    plane: f64,
) -> Vec<[u32; 2]> {
    if shells.count() < 2 {
        return Vec::new();
    }
    let mut longest = vec![0.0_f64; mesh.positions().len()];
    for &[a, b] in table.edges() {
        let d = distance(mesh.positions()[a as usize], mesh.positions()[b as usize]);
        for v in [a, b] {
            longest[v as usize] = longest[v as usize].max(d);
        }
    }
    (0..mesh.positions().len() as u32)
        .into_par_iter()
        .filter_map(|v| {
            let own = shells.of_vertex(v);
            if own == NONE {
                return None;
            }
            let side = |w: u32| mesh.positions()[w as usize][0] - plane;
            // Legs that stand close together are no way from one to the other.
            let other = |w: u32| {
                shells.of_vertex(w) != own && shells.of_vertex(w) != NONE && side(v) * side(w) >= 0.0
            };
            near.nearest(mesh.positions()[v as usize], REACH * longest[v as usize], other)
                .map(|(w, _)| [v, w])
        })
        .collect()
}

/// Neighbours of all vertices, with lengths.
struct Roads {
    starts: Vec<u32>,
    to: Vec<(u32, f32)>,
}

impl Roads {
    fn new(mesh: &Mesh, table: &Adjacency, bridges: &[[u32; 2]]) -> Self {
        let mut starts = vec![0_u32; mesh.positions().len() + 1];
        let all = || table.edges().iter().chain(bridges);
        for &[a, b] in all() {
            starts[a as usize + 1] += 1;
            starts[b as usize + 1] += 1;
        }
        for v in 1..starts.len() {
            starts[v] += starts[v - 1];
        }
        let mut fill = starts.clone();
        let mut to = vec![(0, 0.0); starts.last().map_or(0, |&n| n as usize)];
        for &[a, b] in all() {
            let d = distance(mesh.positions()[a as usize], mesh.positions()[b as usize]) as f32;
            for (v, w) in [(a, b), (b, a)] {
                to[fill[v as usize] as usize] = (w, d);
                fill[v as usize] += 1;
            }
        }
        Self { starts, to }
    }

    fn of(&self, v: u32) -> &[(u32, f32)] {
        &self.to[self.starts[v as usize] as usize..self.starts[v as usize + 1] as usize]
    }
}

/// The length of the shortest way from any source to each vertex.
pub(super) fn distances(mesh: &Mesh, table: &Adjacency, bridges: &[[u32; 2]], sources: &[u32]) -> Vec<f64> {
    let roads = Roads::new(mesh, table, bridges);
    let mut away = vec![f64::INFINITY; mesh.positions().len()];
    // Positive doubles order like their bits.
    let mut open: BinaryHeap<Reverse<(u64, u32)>> = BinaryHeap::new();
    for &s in sources {
        away[s as usize] = 0.0;
        open.push(Reverse((0, s)));
    }
    while let Some(Reverse((bits, v))) = open.pop() {
        let d = f64::from_bits(bits);
        if d > away[v as usize] {
            continue;
        }
        for &(w, length) in roads.of(v) {
            let next = d + f64::from(length);
            if next < away[w as usize] {
                away[w as usize] = next;
                open.push(Reverse((next.to_bits(), w)));
            }
        }
    }
    away
}

/// Whether each vertex is joined to `tip` by vertices farther away than `level`.
pub(super) fn beyond(
    table: &Adjacency,
    bridges: &[[u32; 2]],
    away: &[f64],
    tip: u32,
    level: f64,
) -> Vec<bool> {
    let mut sets = crate::sets::Sets::new(away.len());
    let far = |v: u32| away[v as usize] > level && away[v as usize].is_finite();
    for &[a, b] in table.edges().iter().chain(bridges) {
        if far(a) && far(b) {
            sets.join(a, b);
        }
    }
    let root = sets.root(tip);
    (0..away.len() as u32)
        .map(|v| far(v) && sets.root(v) == root)
        .collect()
}
