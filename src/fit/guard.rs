//! Takes back as much of a move as would turn a face over or push the surface through itself.

use crate::mesh::Mesh;
use crate::mesh::adjacency::{Adjacency, NONE, Spokes};
use crate::mesh::crossing::{crossings, is_sliver};
use crate::mesh::shells::Shells;
use crate::mesh::vector::{Vector, cross, dot, norm, sub};

use super::slots::Partners;

/// What a vertex of a faulty face, one beside it, and one beside that keep of their moves each time.
const KEPT: [f64; 3] = [0.6, 0.75, 0.9];
/// Times that moves are taken back in part; then those at faulty faces are taken back whole.
const TRIES: usize = 16;
/// Moves below this share of the height are none.
const NO_MOVE: f64 = 1e-9;

/// Shortens moves until no face turns over and no faces cross that did not before; says how many vertices go less far.
pub(super) fn guard(
    cage: &Mesh,
    table: &Adjacency,
    spokes: &Spokes,
    partners: Partners<'_>,
    moves: &mut [Vector],
    height: f64,
) -> usize {
    let shells = Shells::of(cage);
    let moves_at_all = |v: u32, moves: &[Vector]| norm(moves[v as usize]) > NO_MOVE * height;
    let touched: Vec<bool> = cage
        .faces()
        .map(|f| f.iter().any(|&v| moves_at_all(v, moves)))
        .collect();
    if !touched.contains(&true) {
        return 0;
    }
    let before = crossings(cage, cage.positions(), partners.same, &shells, |f| touched[f]);
    let mut held = vec![false; moves.len()];
    for attempt in 0..=TRIES {
        let places: Vec<Vector> = cage
            .positions()
            .iter()
            .zip(&*moves)
            .map(|(p, m)| std::array::from_fn(|i| p[i] + m[i]))
            .collect();
        let mut faulty: Vec<u32> = (0..cage.face_count() as u32)
            .filter(|&f| touched[f as usize] && turns_over(cage, f as usize, &places))
            .collect();
        let crossing = crossings(cage, &places, partners.same, &shells, |f| touched[f]);
        let new = crossing
            .into_iter()
            .filter(|pair| before.binary_search(pair).is_err());
        faulty.extend(new.flatten());
        if faulty.is_empty() {
            break;
        }
        take_back(
            cage,
            table,
            spokes,
            partners,
            moves,
            &faulty,
            attempt == TRIES,
            &mut held,
        );
    }
    held.iter().filter(|h| **h).count()
}

/// Whether a triangle of a face looks the other way in its new place.
fn turns_over(cage: &Mesh, face: usize, places: &[Vector]) -> bool {
    let corners = cage.face(face);
    corners[1..].windows(2).any(|edge| {
        let normal = |at: &[Vector]| {
            let [a, b, c] = [corners[0], edge[0], edge[1]].map(|v| at[v as usize]);
            cross(sub(b, a), sub(c, a))
        };
        let (old, new) = (normal(cage.positions()), normal(places));
        let corners = [corners[0], edge[0], edge[1]].map(|v| cage.positions()[v as usize]);
        !is_sliver(corners) && (dot(old, new) < 0.0 || norm(new) == 0.0)
    })
}

#[allow(clippy::too_many_arguments, reason = "one step of the loop above")]
fn take_back(
    cage: &Mesh,
    table: &Adjacency,
    spokes: &Spokes,
    partners: Partners<'_>,
    moves: &mut [Vector],
    faulty: &[u32],
    whole: bool,
    held: &mut [bool],
) {
    let mut kept = vec![1.0_f64; moves.len()];
    let mut ring: Vec<u32> = faulty
        .iter()
        .flat_map(|&f| cage.face(f as usize).iter().copied())
        .collect();
    for share in KEPT {
        ring.sort_unstable();
        ring.dedup();
        let share = if whole { 0.0 } else { share };
        for &v in &ring {
            kept[v as usize] = kept[v as usize].min(share);
        }
        ring = ring.iter().flat_map(|&v| spokes.neighbours(table, v)).collect();
    }
    for v in 0..moves.len() {
        let first = partners.same[v] as usize;
        kept[first] = kept[first].min(kept[v]);
    }
    for v in 0..moves.len() {
        kept[v] = kept[v].min(kept[partners.same[v] as usize]);
    }
    for v in 0..moves.len() {
        let partner = partners.of[v];
        let share = if partner == NONE {
            kept[v]
        } else {
            kept[v].min(kept[partner as usize])
        };
        if share < 1.0 {
            held[v] |= moves[v] != [0.0; 3];
            moves[v] = moves[v].map(|c| c * share);
        }
    }
}
