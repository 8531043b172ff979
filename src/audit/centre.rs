//! The centre line and the mirror halves, from the partners that the walk found.
//!
//! Belongs on the plane: a vertex that is its own partner, a vertex of a seam along the centre, a border vertex of a half
//! model between others that are on the plane. How far it is off plays no part in telling, so that a thousandth of the
//! figure height is found as well as a tenth. Moved: two partners that are no mirror images. Missing: no partner.

use super::found::{Found, Spot, counted};
use super::model::Outcome;
use super::plane::Plane;
use super::symmetry::{Symmetry, unevenness};
use crate::mesh::Mesh;
use crate::mesh::adjacency::{Adjacency, NONE, Spokes};
use crate::mesh::vector::{distance, mirrored};

/// Share of the vertices that must agree with their partners: below, the mesh is not meant to mirror, or too far from
/// it to say which vertex is wrong. Common practice, no source: a cage is modelled as one half.
const LEAST_MIRRORED: f64 = 0.8;
/// Neighbouring vertices of a half's border off the plane by less than this part of their edges are meant to be on it.
/// Found by reasoning: an opening that begins at the plane leaves it by a whole edge.
const DRIFT: f64 = 0.35;
/// Which of two partners sticks out must differ by this factor to call the other one right. Found by reasoning.
const CLEARLY: f64 = 1.5;
/// Places that get words of their own.
const MOST_SPOTS: usize = 200;

/// Two partners that are no mirror images.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MovedPair {
    /// The vertices, the lower number first.
    pub vertices: [u32; 2],
    /// How far one is from the mirror image of the other.
    pub by: f64,
    /// The one that sits clearly more evenly among its neighbours.
    pub right: Option<u32>,
}

/// What both checks need.
pub(super) struct Asked<'a> {
    pub(super) mesh: &'a Mesh,
    pub(super) table: &'a Adjacency,
    pub(super) spokes: &'a Spokes,
    pub(super) plane: Plane,
    pub(super) rounding: f64,
    /// For each vertex the first one at its place.
    pub(super) same: &'a [u32],
}

/// Vertices meant for the plane that are off it.
pub(super) fn centre_line(asked: &Asked<'_>, symmetry: Option<&Symmetry>) -> Found {
    let x = |v: u32| asked.mesh.positions()[v as usize][0] - asked.plane.x;
    let meant: Vec<u32> = match symmetry {
        Some(s) => (0..asked.mesh.positions().len() as u32)
            .filter(|&v| s.partner[v as usize] == v || in_seam(asked, s, v))
            .collect(),
        None => half_border(asked),
    };
    let off: Vec<u32> = meant
        .iter()
        .copied()
        .filter(|&v| x(v).abs() > asked.rounding)
        .collect();
    let spots = off
        .iter()
        .take(MOST_SPOTS)
        .map(|&v| Spot {
            vertices: vec![v],
            text: format!("vertex {v} is off the plane by {:.5}", x(v)),
            at: None,
        })
        .collect();
    let worst = off.iter().map(|&v| x(v).abs()).fold(0.0, f64::max);
    let all = counted(meant.len(), "vertex");
    let mut found = Found::vertices(
        off,
        Outcome::Fail,
        &format!("{all} of the centre line, all on x = {}", asked.plane.x),
        |n| {
            format!(
                "{} of the centre line off the mirror plane x = {}, by up to {worst:.5}",
                counted(n, "vertex"),
                asked.plane.x
            )
        },
    );
    found.spots = spots;
    found
}

/// Two partners on open borders that lie together: a seam that was not welded.
fn in_seam(asked: &Asked<'_>, symmetry: &Symmetry, v: u32) -> bool {
    let u = symmetry.partner[v as usize];
    u != NONE && u != v && asked.same[v as usize] == asked.same[u as usize]
}

/// Vertices of a half's border that belong on the plane.
fn half_border(asked: &Asked<'_>) -> Vec<u32> {
    let mut out = Vec::new();
    for border in super::borders::borders(asked.table) {
        let count = border.vertices.len();
        let position = |i: usize| asked.mesh.positions()[border.vertices[i % count] as usize];
        let off = |i: usize| (position(i)[0] - asked.plane.x).abs();
        let on: Vec<bool> = (0..count)
            .map(|i| {
                let edge = distance(position(i), position(i + count - 1))
                    .min(distance(position(i), position(i + 1)));
                off(i) <= asked.rounding || off(i) <= DRIFT * edge
            })
            .collect();
        if on.iter().filter(|o| **o).count() * 2 > count {
            out.extend((0..count).filter(|&i| on[i]).map(|i| border.vertices[i]));
        }
    }
    out.sort_unstable();
    out
}

/// Vertices without a mirror partner in their place.
pub(super) fn mirror(asked: &Asked<'_>, symmetry: &Symmetry, used: &[bool]) -> (Found, Vec<MovedPair>) {
    let plane = asked.plane.x;
    let position = |v: u32| asked.mesh.positions()[v as usize];
    // One of two vertices in one place may have the partner for both: that is a fault of its own.
    let mut place_has_partner = vec![false; asked.same.len()];
    for (v, &u) in symmetry.partner.iter().enumerate() {
        place_has_partner[asked.same[v] as usize] |= u != NONE;
    }
    let (mut missing, mut moved, mut judged) = (Vec::new(), Vec::new(), 0);
    for v in (0..asked.mesh.positions().len() as u32).filter(|&v| used[v as usize]) {
        judged += 1;
        let u = symmetry.partner[v as usize];
        if u == NONE {
            if !place_has_partner[asked.same[v as usize] as usize] {
                missing.push(v);
            }
        } else if u == v || in_seam(asked, symmetry, v) {
            // The centre line has a check of its own.
        } else if distance(mirrored(position(v), plane), position(u)) > 2.0 * asked.rounding {
            moved.push((v, u));
        }
    }
    let bad = missing.len() + moved.len();
    if (judged - bad) as f64 <= LEAST_MIRRORED * f64::from(judged as u32) {
        let mut found = Found::nothing(format!(
            "not judged: only {} of {} have a partner in its place, the mesh does not look mirrored",
            judged - bad,
            counted(judged, "vertex")
        ));
        found.outcome = Some(Outcome::Warn);
        return (found, Vec::new());
    }
    let pairs: Vec<MovedPair> = moved
        .iter()
        .filter(|(v, u)| v < u)
        .map(|&(v, u)| {
            let [a, b] = [v, u].map(|w| unevenness(asked.mesh, asked.table, asked.spokes, w));
            MovedPair {
                vertices: [v, u],
                by: distance(mirrored(position(v), plane), position(u)),
                right: if a > CLEARLY * b {
                    Some(u)
                } else {
                    (b > CLEARLY * a).then_some(v)
                },
            }
        })
        .collect();
    let mut spots: Vec<Spot> = pairs
        .iter()
        .take(MOST_SPOTS)
        .map(|pair| {
            let [v, u] = pair.vertices;
            let right = pair.right.map_or_else(String::new, |r| {
                format!("; {r} sits more evenly among its neighbours and is likely right")
            });
            // The mark goes to the one that moved.
            let vertices = if pair.right == Some(v) {
                vec![u, v]
            } else {
                vec![v, u]
            };
            Spot {
                vertices,
                text: format!(
                    "vertices {v} and {u} are partners but differ by {:.5}{right}",
                    pair.by
                ),
                at: None,
            }
        })
        .collect();
    spots.extend(missing.iter().take(MOST_SPOTS).map(|&v| Spot {
        vertices: vec![v],
        text: format!("vertex {v} has no partner"),
        at: None,
    }));
    let (lost, shifted) = (missing.len(), moved.len());
    let mut vertices: Vec<u32> = missing
        .into_iter()
        .chain(moved.into_iter().map(|m| m.0))
        .collect();
    vertices.sort_unstable();
    let mut found = Found::vertices(
        vertices,
        Outcome::Fail,
        &format!("both halves match about x = {plane}"),
        |_| {
            let mut parts = Vec::new();
            if shifted > 0 {
                parts.push(format!(
                    "{} moved against their partners",
                    counted(shifted, "vertex")
                ));
            }
            if lost > 0 {
                parts.push(format!("{} without a partner", counted(lost, "vertex")));
            }
            parts.join(", ")
        },
    );
    found.spots = spots;
    (found, pairs)
}
