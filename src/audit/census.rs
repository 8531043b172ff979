//! Faults that each face, edge or vertex shows by itself: degenerate and doubled faces, n-gons, edges with three
//! faces, vertices with more than one fan, vertices without a face.

use rayon::prelude::*;

use super::found::{Found, counted};
use super::model::Outcome;
use crate::mesh::Mesh;
use crate::mesh::adjacency::{Adjacency, NONE, Spokes};
use crate::mesh::vector::{distance, newell, norm};

/// A face whose area is below this part of its longest edge squared has none: files commonly write six significant
/// digits, so that corners meant to lie on one line are off it by some 5e-6 of a coordinate, and a face is seldom
/// longer than a tenth of that coordinate. Found by reasoning.
const NO_AREA: f64 = 1e-6;
/// Corners that a quad has.
const QUAD: usize = 4;

/// Whether a face names fewer than three different vertices.
pub(super) fn collapsed(face: &[u32]) -> bool {
    let first = face[0];
    let second = face.iter().find(|&&v| v != first);
    second.is_none_or(|&second| face.iter().all(|&v| v == first || v == second))
}

/// Whether a face has no area, or names a vertex twice.
pub(super) fn degenerate(mesh: &Mesh, face: &[u32]) -> bool {
    let twice = face.iter().enumerate().any(|(i, v)| face[i + 1..].contains(v));
    if twice {
        return true;
    }
    let points: Vec<_> = face.iter().map(|&v| mesh.positions()[v as usize]).collect();
    let longest = (0..points.len())
        .map(|i| distance(points[i], points[(i + 1) % points.len()]))
        .fold(0.0, f64::max);
    // Newell's vector is twice the area.
    norm(newell(&points)) <= 2.0 * NO_AREA * longest * longest
}

/// Faces without area.
pub(super) fn degenerate_faces(mesh: &Mesh) -> Found {
    let faces = (0..mesh.face_count() as u32)
        .into_par_iter()
        .filter(|&f| degenerate(mesh, mesh.face(f as usize)))
        .collect();
    Found::faces(faces, Outcome::Fail, "every face has an area", |n| {
        format!(
            "{} without area, or with a vertex named twice",
            counted(n, "face")
        )
    })
}

/// Faces that have the same corners as an earlier one. `same` gives for each vertex the one that stands for its
/// place.
pub(super) fn doubled_faces(mesh: &Mesh, same: &[u32]) -> Vec<u32> {
    let key = |f: u32| {
        // Sums that do not depend on the order of the corners, in 64 bits that wrap.
        mesh.face(f as usize).iter().fold((0_u64, 0_u64), |(s, q), &v| {
            let h = u64::from(same[v as usize])
                .wrapping_add(1)
                .wrapping_mul(0x9e37_79b9_7f4a_7c15);
            (s.wrapping_add(h), q.wrapping_add(h.wrapping_mul(h)))
        })
    };
    let mut keyed: Vec<((u64, u64), u32)> = (0..mesh.face_count() as u32)
        .into_par_iter()
        .map(|f| (key(f), f))
        .collect();
    keyed.par_sort_unstable();
    let sorted = |f: u32| {
        let mut corners: Vec<u32> = mesh.face(f as usize).iter().map(|&v| same[v as usize]).collect();
        corners.sort_unstable();
        corners
    };
    let mut doubled = Vec::new();
    for equal in keyed.chunk_by(|a, b| a.0 == b.0).filter(|c| c.len() > 1) {
        let first = sorted(equal[0].1);
        doubled.extend(equal[1..].iter().map(|e| e.1).filter(|&f| sorted(f) == first));
    }
    doubled.sort_unstable();
    doubled
}

/// Faces with more than four corners.
pub(super) fn n_gons(mesh: &Mesh) -> Found {
    let faces: Vec<u32> = (0..mesh.face_count() as u32)
        .filter(|&f| mesh.face(f as usize).len() > QUAD)
        .collect();
    let triangles = mesh.face_counts().triangles;
    let also = if triangles == 0 {
        String::new()
    } else {
        format!("; {} counted, not faulted", counted(triangles, "triangle"))
    };
    Found::faces(
        faces,
        Outcome::Warn,
        &format!("no face has more than four corners{also}"),
        |n| format!("{} with more than four corners{also}", counted(n, "face")),
    )
}

/// Edges with three faces or more. `collapsed` faces take no part in the table.
pub(super) fn non_manifold_edges(table: &Adjacency) -> Found {
    let edges = (0..table.edges().len())
        .filter(|&e| table.uses(e).len() > 2)
        .map(|e| table.edges()[e])
        .collect();
    Found::edges(edges, Outcome::Fail, "no edge has more than two faces", |n| {
        format!("{} with three faces or more", counted(n, "edge"))
    })
}

/// Vertices where surfaces touch in a point only: the faces around them are more than one fan. Vertices of edges with
/// three faces are left to that check, vertices of open borders count as touching only where no border could be
/// walked through them.
pub(super) fn pinched_vertices(mesh: &Mesh, table: &Adjacency, spokes: &Spokes) -> Found {
    let fans = |v: u32| -> bool {
        let edges = spokes.of(v);
        if edges.len() < 2 || edges.iter().any(|&e| table.uses(e as usize).len() > 2) {
            return false;
        }
        // Walk from face to face about the vertex; what is not reached is another fan.
        let faces_of = |e: u32| table.faces(e as usize);
        let start = edges
            .iter()
            .copied()
            .find(|&e| table.uses(e as usize).len() == 1)
            .unwrap_or(edges[0]);
        let (mut edge, mut seen, mut last) = (start, 1, NONE);
        loop {
            let Some(face) = faces_of(edge).find(|&f| f != last) else {
                break;
            };
            let Some(&next) = edges
                .iter()
                .find(|&&e| e != edge && faces_of(e).any(|f| f == face))
            else {
                break;
            };
            if next == start || seen > edges.len() {
                break;
            }
            (edge, last) = (next, face);
            seen += 1;
        }
        seen < edges.len()
    };
    let vertices = (0..mesh.positions().len() as u32)
        .into_par_iter()
        .filter(|&v| fans(v))
        .collect();
    Found::vertices(
        vertices,
        Outcome::Fail,
        "no surfaces touch in a single vertex",
        |n| format!("{} where surfaces touch in a point only", counted(n, "vertex")),
    )
}

/// Vertices that no face uses.
pub(super) fn loose_vertices(mesh: &Mesh) -> Found {
    let mut used = vec![false; mesh.positions().len()];
    mesh.corners().iter().for_each(|&v| used[v as usize] = true);
    let loose = (0..used.len() as u32).filter(|&v| !used[v as usize]).collect();
    Found::vertices(loose, Outcome::Warn, "every vertex belongs to a face", |n| {
        format!("{} without a face", counted(n, "vertex"))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn faces_without_area_are_told_from_thin_ones() {
        let points = vec![[0.0; 3], [10.0, 0.0, 0.0], [20.0, 0.0, 0.0], [10.0, 0.1, 0.0]];
        let mesh = Mesh::from_polygons(points, [vec![0, 1, 2], vec![0, 2, 3], vec![0, 1, 3, 1]]).unwrap();
        assert_eq!(degenerate_faces(&mesh).faces, [0, 2]);
        assert!(collapsed(&[1, 2, 1, 2]) && !collapsed(&[1, 2, 1, 3]));
    }

    #[test]
    fn a_doubled_face_may_start_anywhere_and_run_either_way() {
        let mesh = Mesh::from_polygons(
            vec![[0.0; 3]; 5],
            [
                vec![0, 1, 2, 3],
                vec![2, 1, 0, 3],
                vec![0, 1, 2],
                vec![1, 2, 3, 4],
            ],
        )
        .unwrap();
        assert_eq!(doubled_faces(&mesh, &[0, 1, 2, 3, 4]), [1]);
        assert_eq!(doubled_faces(&mesh, &[0, 1, 2, 3, 0]), [1, 3]);
    }

    #[test]
    fn two_cones_that_touch_at_their_tips_are_pinched() {
        let mut points = vec![[0.0; 3]];
        let mut faces = Vec::new();
        for (base, y) in [(1_u32, 1.0), (5, -1.0)] {
            points.extend([[1.0, y, 0.0], [0.0, y, 1.0], [-1.0, y, 0.0], [0.0, y, -1.0]]);
            faces.extend((0..4).map(|i| [0, base + i, base + (i + 1) % 4]));
        }
        let mesh = Mesh::from_polygons(points, faces).unwrap();
        let table = Adjacency::of(&mesh);
        let spokes = table.spokes(mesh.positions().len());
        assert_eq!(pinched_vertices(&mesh, &table, &spokes).vertices, [0]);
    }
}
