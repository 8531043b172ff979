//! How far a correction reaches over the surface before it has faded out.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::Ask;
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

/// Distances along edges from some vertices, up to a limit; infinite beyond it (Dijkstra 1959).
pub(super) fn distances(
    mesh: &Mesh,
    table: &Adjacency,
    spokes: &Spokes,
    from: impl Iterator<Item = u32>,
    limit: f64,
) -> Vec<f64> {
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
        for u in spokes.neighbours(table, v) {
            let there = own + distance(mesh.positions()[v as usize], mesh.positions()[u as usize]);
            if there <= limit && there < far[u as usize] {
                far[u as usize] = there;
                waiting.push(Reverse(Waiting(there, u)));
            }
        }
    }
    far
}

/// The vertices that may move when some are touched: those within reach that are allowed to, both of a mirrored pair or
/// neither.
pub(super) fn free(
    cage: &Mesh,
    table: &Adjacency,
    spokes: &Spokes,
    touched: &[bool],
    ask: &Ask<'_>,
) -> Vec<bool> {
    let from = (0..touched.len()).filter(|v| touched[*v]);
    let both = from
        .flat_map(|v| [v as u32, ask.partners[v]])
        .filter(|v| *v != NONE);
    let far = distances(cage, table, spokes, both, FADE * ask.height);
    let allowed = |v: usize| far[v].is_finite() && ask.movable.get(v).copied().unwrap_or(true);
    (0..touched.len())
        .map(|v| {
            let partner = ask.partners[v];
            allowed(v) && (partner == NONE || allowed(partner as usize))
        })
        .collect()
}
