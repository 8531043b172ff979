//! Evens out a move where it would turn a face over or push the surface through itself.
//!
//! What folds is a move that differs too much from one vertex to the next. Around each faulty face the moves are averaged with
//! their neighbours' until the surface goes along as one piece; taking a part of each move back instead would only make the
//! next one differ more.

use std::collections::HashMap;

use crate::mesh::Mesh;
use crate::mesh::adjacency::{Adjacency, NONE, Spokes};
use crate::mesh::crossing::{crossings, is_sliver};
use crate::mesh::shells::Shells;
use crate::mesh::vector::{Vector, cross, dot, norm, sub};

use super::slots::Partners;

/// Rings of vertices around a faulty face that are evened out at first; one more every second time.
const RINGS: usize = 2;
/// Rounds of averaging each time.
const AVERAGES: usize = 12;
/// Times that moves are evened out; then those around faulty faces are taken back whole.
const TRIES: usize = 12;
/// Moves below this share of the height are none.
const NO_MOVE: f64 = 1e-9;

/// Evens out moves until no face turns over and no faces cross that did not before; says how many vertices go otherwise than
/// asked.
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
    let mut twins: HashMap<u32, Vec<u32>> = HashMap::new();
    for (v, &first) in (0..).zip(partners.same) {
        if first != v {
            twins.entry(first).or_insert_with(|| vec![first]).push(v);
        }
    }
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
        let region = around(cage, table, spokes, partners, &faulty, RINGS + attempt / 2);
        if attempt == TRIES {
            for &v in &region {
                moves[v as usize] = [0.0; 3];
            }
        } else {
            for _ in 0..AVERAGES {
                average(&region, &twins, table, spokes, partners, moves);
            }
        }
        for &v in &region {
            held[v as usize] = true;
        }
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

/// The vertices of some faces and those up to so many rings around them, with all at their places and their partners;
/// ascending.
fn around(
    cage: &Mesh,
    table: &Adjacency,
    spokes: &Spokes,
    partners: Partners<'_>,
    faces: &[u32],
    rings: usize,
) -> Vec<u32> {
    let mut inside = vec![false; cage.positions().len()];
    let mut ring: Vec<u32> = faces
        .iter()
        .flat_map(|&f| cage.face(f as usize).iter().copied())
        .collect();
    for _ in 0..=rings {
        ring.retain(|&v| !std::mem::replace(&mut inside[v as usize], true));
        ring = ring.iter().flat_map(|&v| spokes.neighbours(table, v)).collect();
    }
    let known: Vec<usize> = (0..inside.len()).filter(|v| inside[*v]).collect();
    for v in known {
        inside[partners.same[v] as usize] = true;
        if partners.of[v] != NONE {
            inside[partners.of[v] as usize] = true;
        }
    }
    (0..inside.len() as u32)
        .filter(|&v| inside[v as usize] || inside[partners.same[v as usize] as usize])
        .collect()
}

/// Gives each vertex of a region the mean move of its neighbours, those at one place the same, mirrored ones mirrored.
fn average(
    region: &[u32],
    twins: &HashMap<u32, Vec<u32>>,
    table: &Adjacency,
    spokes: &Spokes,
    partners: Partners<'_>,
    moves: &mut [Vector],
) {
    let before: Vec<(u32, Vector)> = region
        .iter()
        .map(|&v| {
            let first = partners.same[v as usize];
            let own = [v];
            let all = twins.get(&first).map_or(&own[..], Vec::as_slice);
            let others = all
                .iter()
                .flat_map(|&u| spokes.neighbours(table, u))
                .filter(|&u| partners.same[u as usize] != first);
            let (mut sum, mut count) = (moves[v as usize], 1.0);
            for u in others {
                (0..3).for_each(|i| sum[i] += moves[u as usize][i]);
                count += 1.0;
            }
            (v, sum.map(|c| c / count))
        })
        .collect();
    for (v, m) in before {
        moves[v as usize] = m;
    }
    for &v in region {
        let partner = partners.of[v as usize];
        if partner == v {
            moves[v as usize][0] = 0.0;
        } else if partner != NONE && partner > v {
            let [x, y, z] = moves[v as usize];
            moves[partner as usize] = [-x, y, z];
        }
    }
    for &v in region {
        moves[v as usize] = moves[partners.same[v as usize] as usize];
    }
}
