//! Pairs of triangles joined to the quads that they were, for counting loops on a mesh that was cut into triangles.
//!
//! Method: every edge between two triangles is a candidate; the pairs that make the best quads, flat and with corners
//! near a right angle, are joined first, each triangle once. Nothing else is made of the result: faults keep to the
//! file's own faces. Limits: where quads were sheared so far that their other cut makes better ones, or the surface never
//! was of quads, loops come out broken and are not counted.

use rayon::prelude::*;

use crate::mesh::Mesh;
use crate::mesh::adjacency::Adjacency;
use crate::mesh::vector::{Vector, cross, dot, norm, sub, unit};

/// A corner of a quad differs from a right angle by no more than this, as a cosine: 60 degrees. Found by reasoning: beyond,
/// the quad is nearly a triangle.
const SKEWED: f64 = 0.866;
/// Two triangles of a quad lean against each other by no more than this, as a cosine: 60 degrees, as for a folded quad.
const FOLDED: f64 = 0.5;

/// The mesh with pairs of triangles joined; other faces stay, vertices keep their numbers. `None` where there are none.
pub(super) fn quads(mesh: &Mesh, table: &Adjacency) -> Option<Mesh> {
    let mut pairs: Vec<(f64, u32, [u32; 4])> = (0..table.edges().len())
        .into_par_iter()
        .filter_map(|e| {
            let quad = quad(mesh, table, e)?;
            Some((skew(mesh, quad)?, e as u32, quad))
        })
        .collect();
    pairs.par_sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let mut joined = vec![false; mesh.face_count()];
    let mut made: Vec<[u32; 4]> = Vec::with_capacity(mesh.face_count() / 2);
    for (_, e, quad) in pairs {
        let [a, b] = [0, 1].map(|k| table.face_of(table.uses(e as usize)[k] as usize) as usize);
        if !joined[a] && !joined[b] {
            (joined[a], joined[b]) = (true, true);
            made.push(quad);
        }
    }
    let left = (0..mesh.face_count())
        .filter(|&f| !joined[f])
        .map(|f| mesh.face(f));
    let all = left.chain(made.iter().map(<[u32; 4]>::as_slice));
    Mesh::from_polygons(mesh.positions().to_vec(), all).ok()
}

/// The quad that the two triangles along an edge make: the edge runs between its first and third corner.
fn quad(mesh: &Mesh, table: &Adjacency, edge: usize) -> Option<[u32; 4]> {
    let &[a, b] = table.uses(edge) else {
        return None;
    };
    let corner = |c: u32| {
        let face = mesh.face(table.face_of(c as usize) as usize);
        let at = (c - mesh.starts()[table.face_of(c as usize) as usize]) as usize;
        (face.len() == 3).then(|| [0, 1, 2].map(|k| face[(at + k) % 3]))
    };
    let ([from, to, beyond], [start, _, other]) = (corner(a)?, corner(b)?);
    // Two faces that run alike pass the edge in opposite directions.
    (start == to && beyond != other).then_some([from, other, to, beyond])
}

/// How far a quad is from a flat one with right angles: 0 for a rectangle. `None` where it is none that one would make.
fn skew(mesh: &Mesh, quad: [u32; 4]) -> Option<f64> {
    let p = quad.map(|v| mesh.positions()[v as usize]);
    let normal =
        |i: usize, j: usize, k: usize| -> Option<Vector> { unit(cross(sub(p[j], p[i]), sub(p[k], p[i]))) };
    let flat = dot(normal(0, 1, 2)?, normal(0, 2, 3)?);
    let mut worst = 0.0_f64;
    for k in 0..4 {
        let (u, w) = (sub(p[(k + 1) % 4], p[k]), sub(p[(k + 3) % 4], p[k]));
        worst = worst.max(dot(u, w).abs() / (norm(u) * norm(w)));
    }
    (flat >= FOLDED && worst <= SKEWED).then_some(worst + (1.0 - flat))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A strip of quads cut along alternating diagonals becomes quads again; a triangle at its end stays.
    #[test]
    fn cut_quads_are_joined_again() {
        let at: Vec<[f64; 3]> = (0..8)
            .map(|i| [f64::from(i / 2), f64::from(i % 2), 0.0])
            .chain([[4.0, 0.5, 0.0]])
            .collect();
        let cut = [
            [0, 2, 3],
            [0, 3, 1],
            [2, 4, 3],
            [4, 5, 3],
            [4, 6, 7],
            [4, 7, 5],
            [6, 8, 7],
        ];
        let mesh = Mesh::from_polygons(at, cut).unwrap();
        let made = quads(&mesh, &Adjacency::of(&mesh)).unwrap();
        let mut faces: Vec<Vec<u32>> = made
            .faces()
            .map(|f| {
                let mut f = f.to_vec();
                f.sort_unstable();
                f
            })
            .collect();
        faces.sort();
        assert_eq!(
            faces,
            [
                vec![0, 1, 2, 3],
                vec![2, 3, 4, 5],
                vec![4, 5, 6, 7],
                vec![6, 7, 8]
            ]
        );
    }
}
