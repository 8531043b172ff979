//! How far a correction reaches over the surface before it has faded out.

use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashMap};

use super::Ask;
use super::slots::Partners;
use crate::mesh::Mesh;
use crate::mesh::adjacency::{Adjacency, NONE, Spokes};
use crate::mesh::vector::distance;

/// A correction fades out over this share of the height: about half way round a thigh, so that a part that is too deep
/// follows in its whole width.
pub(super) const FADE: f64 = 0.15;

/// A vertex that waits for its turn, nearest first.
#[derive(PartialEq)]
struct Waiting(f64, u32);

impl Eq for Waiting {}

impl Ord for Waiting {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0).then(self.1.cmp(&other.1))
    }
}

impl PartialOrd for Waiting {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

/// Distances along edges from some vertices, up to a limit; infinite beyond it (Dijkstra 1959). Vertices at one place are
/// one.
fn distances(
    mesh: &Mesh,
    table: &Adjacency,
    spokes: &Spokes,
    same: &[u32],
    from: impl Iterator<Item = u32>,
    limit: f64,
) -> Vec<f64> {
    let mut twins: HashMap<u32, Vec<u32>> = HashMap::new();
    for (v, &first) in (0..).zip(same) {
        if first != v {
            twins.entry(first).or_insert_with(|| vec![first]).push(v);
        }
    }
    let mut far = vec![f64::INFINITY; mesh.positions().len()];
    let mut waiting = BinaryHeap::new();
    for v in from {
        far[v as usize] = 0.0;
        waiting.push(Reverse(Waiting(0.0, v)));
    }
    while let Some(Reverse(Waiting(own, v))) = waiting.pop() {
        if own > far[v as usize] {
            continue;
        }
        let beside = twins.get(&same[v as usize]).into_iter().flatten().copied();
        for u in spokes.neighbours(table, v).chain(beside) {
            let there = own + distance(mesh.positions()[v as usize], mesh.positions()[u as usize]);
            if there <= limit && there < far[u as usize] {
                far[u as usize] = there;
                waiting.push(Reverse(Waiting(there, u)));
            }
        }
    }
    far
}

/// The vertices that may move when some are touched: those within reach that are allowed to, all at one place and both of a
/// mirrored pair or none.
pub(super) fn free(
    cage: &Mesh,
    table: &Adjacency,
    spokes: &Spokes,
    touched: &[bool],
    partners: Partners<'_>,
    ask: &Ask<'_>,
) -> Vec<bool> {
    let from = (0..touched.len()).filter(|v| touched[*v]);
    let both = from
        .flat_map(|v| [v as u32, partners.of[v]])
        .filter(|v| *v != NONE);
    let far = distances(cage, table, spokes, partners.same, both, FADE * ask.height);
    let mut free: Vec<bool> = (0..touched.len())
        .map(|v| far[v].is_finite() && ask.movable.get(v).copied().unwrap_or(true))
        .collect();
    // Once among those at one place, once over to the partners, and once more among those.
    for _ in 0..2 {
        for (v, &first) in partners.same.iter().enumerate() {
            free[first as usize] &= free[v];
        }
        let known = free.clone();
        let all = free.iter_mut().zip(partners.same).zip(partners.of);
        for ((free, &first), &partner) in all {
            *free &= known[first as usize] && (partner == NONE || known[partner as usize]);
        }
    }
    free
}
