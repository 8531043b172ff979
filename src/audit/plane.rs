//! The mirror plane x = c of a mesh, and whether the mesh is one half of a model.
//!
//! Method: vertices that agree in y and z are mirror partners as a rule; the middles of such pairs vote, the most
//! frequent middle wins. A half model has no pairs: its plane is where its open border runs, at one end of its extent.
//! A plane at 0 that is off by rounding only is put there.

use rayon::prelude::*;

use crate::mesh::adjacency::Adjacency;
use crate::mesh::{Extent, Mesh};

/// A half's open border lies within this part of the largest extent of its plane, as in `mesh::mirror`.
const REACH: f64 = 1e-3;
/// Share of the used vertices whose pairs must agree on the plane: below, the mesh is not built about one.
const LEAST_VOTES: f64 = 0.2;
/// A half's border spans this part of the mesh seen from the side, as in `mesh::mirror`.
const LEAST_BORDER: f64 = 0.25;

/// Where the mirror plane lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plane {
    /// x of the plane.
    pub x: f64,
    /// The mesh is one half, open along the plane.
    pub half: bool,
    /// How far from the plane the border of a half may run and still be meant.
    pub reach: f64,
}

/// Finds the plane; `given` says where it is. `None` where the mesh is not built about a plane.
pub(super) fn find(
    mesh: &Mesh,
    table: &Adjacency,
    extent: &Extent,
    rounding: f64,
    given: Option<f64>,
) -> Option<Plane> {
    let reach = REACH * extent.largest();
    let half = half_plane(mesh, table, extent, reach, given);
    if let Some(x) = half {
        return Some(Plane { x, half: true, reach });
    }
    let x = given.or_else(|| vote(mesh, rounding))?;
    Some(Plane {
        x,
        half: false,
        reach,
    })
}

fn half_plane(
    mesh: &Mesh,
    table: &Adjacency,
    extent: &Extent,
    reach: f64,
    given: Option<f64>,
) -> Option<f64> {
    let ends = given.map_or([extent.min[0], extent.max[0]], |g| [g, g]);
    for (k, end) in ends.into_iter().enumerate() {
        // All of the mesh must lie on one side of the plane.
        let sides = [end - extent.min[0], extent.max[0] - end];
        if sides[0].min(sides[1]) > reach {
            continue;
        }
        let mut points = Vec::new();
        let mut xs = Vec::new();
        for e in (0..table.edges().len()).filter(|&e| table.uses(e).len() == 1) {
            let ends = table.edges()[e].map(|v| mesh.positions()[v as usize]);
            // Twice the reach: a vertex off by it may itself be the end of the mesh.
            if ends.iter().all(|p| (p[0] - end).abs() <= 2.0 * reach) {
                xs.extend(ends.map(|p| p[0]));
                points.extend(ends);
            }
        }
        let diagonal = |e: &Extent| e.size()[1].hypot(e.size()[2]);
        let Some(around) = Extent::around(points) else {
            continue;
        };
        if diagonal(&around) < LEAST_BORDER * diagonal(extent) {
            continue;
        }
        if given.is_some() || k > 2 {
            return given;
        }
        xs.sort_by(f64::total_cmp);
        let middle = xs[xs.len() / 2];
        return Some(if middle.abs() <= rounding_of(extent) {
            0.0
        } else {
            middle
        });
    }
    None
}

fn rounding_of(extent: &Extent) -> f64 {
    super::ROUNDING * extent.largest()
}

/// The most frequent middle of pairs that agree in y and z.
fn vote(mesh: &Mesh, rounding: f64) -> Option<f64> {
    let mut used = vec![false; mesh.positions().len()];
    mesh.corners().iter().for_each(|&v| used[v as usize] = true);
    let step = |c: f64| (c / rounding).round() as i64;
    let mut keyed: Vec<((i64, i64), f64)> = mesh
        .positions()
        .iter()
        .zip(&used)
        .filter(|(_, used)| **used)
        .map(|(p, _)| ((step(p[1]), step(p[2])), p[0]))
        .collect();
    let count = keyed.len();
    keyed.par_sort_unstable_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let mut middles: Vec<f64> = Vec::with_capacity(count);
    for group in keyed.chunk_by(|a, b| a.0 == b.0) {
        // The outermost with the outermost, inwards.
        for i in 0..group.len() / 2 {
            middles.push(f64::midpoint(group[i].1, group[group.len() - 1 - i].1));
        }
    }
    middles.par_sort_unstable_by(f64::total_cmp);
    // The longest run of middles within the rounding of one another.
    let (mut best, mut from) = ((0, 0), 0);
    for to in 0..middles.len() {
        while middles[to] - middles[from] > 2.0 * rounding {
            from += 1;
        }
        if to + 1 - from > best.1 - best.0 {
            best = (from, to + 1);
        }
    }
    let votes = best.1 - best.0;
    // A pair is two vertices.
    if 2.0 * (votes as f64) < LEAST_VOTES * count as f64 {
        return None;
    }
    let middle = middles[best.0 + votes / 2];
    Some(if middle.abs() <= rounding { 0.0 } else { middle })
}
