//! Vertices that share a place.
//!
//! Two vertices share a place if they are apart by no more than the rounding of the file.

use rayon::prelude::*;

use crate::mesh::Mesh;
use crate::mesh::near::Near;
use crate::sets::Sets;

/// The index of all vertices by place; cells as wide as an edge.
pub(super) fn index(mesh: &Mesh, edge_length: f64) -> Near<'_> {
    Near::new(mesh.positions(), edge_length)
}

/// For each vertex the first one that shares its place.
pub(super) fn same(mesh: &Mesh, near: &Near<'_>, rounding: f64) -> Vec<u32> {
    let pairs: Vec<(u32, u32)> = mesh
        .positions()
        .par_iter()
        .enumerate()
        .filter_map(|(v, &p)| {
            let first = near.nearest_first(p, rounding);
            first.filter(|&f| f < v as u32).map(|f| (v as u32, f))
        })
        .collect();
    let mut sets = Sets::new(mesh.positions().len());
    for &(a, b) in &pairs {
        sets.join(a, b);
    }
    (0..mesh.positions().len() as u32).map(|v| sets.root(v)).collect()
}
