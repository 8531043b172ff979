//! Makes vertices at one place one vertex, for formats that split them.
//!
//! A vertex joins the first one within the distance, and with it whatever that has joined. Faces keep their order and
//! their corners; the vertices that are left keep theirs.

use rayon::prelude::*;

use crate::mesh::Mesh;
use crate::mesh::near::Near;
use crate::sets::Sets;

/// The mesh with vertices no farther apart than `distance` joined, and for each vertex before its number now; nothing of
/// a mesh that has none.
pub fn weld(mesh: Mesh, distance: f64) -> (Mesh, Option<Vec<u32>>) {
    let positions = mesh.positions();
    // A surface of n vertices has edges of about its extent over the root of n.
    let extent = mesh.bounds_of_faces().map_or(0.0, |e| e.largest());
    let cell = (extent / (positions.len().max(1) as f64).sqrt()).max(distance);
    let near = Near::new(positions, cell);
    let pairs: Vec<(u32, u32)> = positions
        .par_iter()
        .enumerate()
        .filter_map(|(v, &p)| {
            let first = near.nearest_first(p, distance)?;
            (first < v as u32).then_some((v as u32, first))
        })
        .collect();
    if pairs.is_empty() {
        return (mesh, None);
    }
    let mut sets = Sets::new(positions.len());
    for (a, b) in pairs {
        sets.join(a, b);
    }
    let mut kept = Vec::new();
    let mut now = vec![0u32; positions.len()];
    for v in 0..positions.len() as u32 {
        let root = sets.root(v);
        // A root is the lowest of its set: it comes first.
        if root == v {
            now[v as usize] = kept.len() as u32;
            kept.push(v);
        } else {
            now[v as usize] = now[root as usize];
        }
    }
    let welded = mesh.with_vertices(kept.iter().map(|&v| positions[v as usize]).collect(), &now);
    (welded, Some(now))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_strip_of_loose_triangles_becomes_one_piece() {
        // Two triangles of a square, each with its own corners, one of them off by a hair, one by zero's sign.
        let at = [
            [0.0, 0.0, 0.0],
            [1.0, 0.0, 0.0],
            [1.0, 1.0, 0.0],
            [-0.0, 0.0, 0.0],
            [1.0, 1.0 + 1e-9, 0.0],
            [0.0, 1.0, 0.0],
        ];
        let mesh = Mesh::new(
            at.to_vec(),
            (0..6).collect(),
            vec![0, 3, 6],
            Vec::new(),
            Vec::new(),
        )
        .unwrap();
        let (welded, numbers) = weld(mesh.clone(), 1e-6);
        let numbers = numbers.unwrap();
        assert_eq!(welded.positions(), [0, 1, 2, 5].map(|v| at[v]));
        assert_eq!(numbers, [0, 1, 2, 0, 2, 3]);
        assert_eq!(
            (welded.face(0), welded.face(1)),
            ([0, 1, 2].as_slice(), [0, 2, 3].as_slice())
        );
        assert_eq!(
            weld(mesh, 0.0).0.positions().len(),
            5,
            "only what is at exactly one place"
        );
    }
}
