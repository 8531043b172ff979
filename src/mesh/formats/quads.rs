//! Puts pairs of triangles that were one quad back together.
//!
//! Exporters cut a quad into two triangles that follow each other, mostly from its first corner. Where a triangle makes such
//! a pair with one neighbour in the file only, the pair is sure; triangles about a pole make one with both. Then come, over
//! all edges between two triangles that are left, the flattest and squarest pairs. A pair must make a convex quad whose
//! halves face nearly the same way. What was modelled as a triangle may be taken for half a quad.

use std::collections::HashMap;

use crate::mesh::Mesh;
use crate::mesh::vector::{cross, dot, norm, sub};

/// Halves of a quad lean against each other by no more than this, as a cosine: 60 degrees, as for a folded quad.
const FLAT: f64 = 0.5;
/// A corner of a quad that the file's order does not tell is no farther from a right angle than this, one less its sine: 60
/// degrees. Found by reasoning: beyond, the quad is nearly a triangle.
const SQUARE: f64 = 0.5;
/// Corners of a quad keep away from straight and from folded by so much, as the sine of the angle: 6 degrees.
const CONVEX: f64 = 0.1;

/// The mesh with pairs of triangles joined, in the place of the first of each pair, and how many there were.
pub fn join(mesh: &Mesh) -> (Mesh, usize) {
    let faces = mesh.face_count();
    let mut partner: Vec<Option<(usize, [u32; 4])>> = vec![None; faces];
    let mut taken = vec![false; faces];
    let mut pairs = 0;
    let mut pair = |a: usize, b: usize, quad: [u32; 4], taken: &mut Vec<bool>| {
        (taken[a], taken[b]) = (true, true);
        partner[a.min(b)] = Some((a.max(b), quad));
        pairs += 1;
    };
    let group: Vec<usize> = mesh
        .group_runs()
        .flat_map(|r| r.faces.map(move |_| r.group))
        .collect();
    // The quad of each triangle and the one before it in the file, if both were cut from one corner.
    let fans: Vec<Option<[u32; 4]>> = (0..faces)
        .map(|f| {
            let before = f.checked_sub(1).filter(|&g| group[g] == group[f])?;
            let (a, b) = (mesh.face(before), mesh.face(f));
            let from_one_corner = a[0] == b[0] && a[2] == b[1];
            from_one_corner
                .then(|| quad_of(mesh, before, f))
                .flatten()
                .map(|(quad, _)| quad)
        })
        .collect();
    let is_fan = |f: usize| fans.get(f).is_some_and(Option::is_some);
    for (f, quad) in fans.iter().enumerate() {
        // The first face has none before it.
        if let Some(quad) = quad.filter(|_| !is_fan(f - 1) && !is_fan(f + 1)) {
            pair(f - 1, f, quad, &mut taken);
        }
    }
    // Edges between two triangles that are left.
    let mut first: HashMap<(u32, u32), usize> = HashMap::new();
    let mut possible: Vec<(f64, usize, usize, [u32; 4])> = Vec::new();
    for f in (0..faces).filter(|&f| !taken[f] && mesh.face(f).len() == 3) {
        let face = mesh.face(f);
        for k in 0..3 {
            let (a, b) = (face[k], face[(k + 1) % 3]);
            if let Some(other) = first.insert((a.min(b), a.max(b)), f)
                && group[other] == group[f]
                && let Some((quad, [lean, skew])) = quad_of(mesh, other, f)
                && skew <= SQUARE
            {
                possible.push((lean + skew, other, f, quad));
            }
        }
    }
    possible.sort_by(|p, q| p.0.total_cmp(&q.0).then((p.1, p.2).cmp(&(q.1, q.2))));
    for (_, a, b, quad) in possible {
        if !taken[a] && !taken[b] {
            pair(a, b, quad, &mut taken);
        }
    }
    let second: Vec<bool> = {
        let mut second = vec![false; faces];
        for (b, _) in partner.iter().flatten() {
            second[*b] = true;
        }
        second
    };
    let joined = mesh.with_faces(|f| match &partner[f] {
        Some((_, quad)) => Some(quad.to_vec()),
        None if second[f] => None,
        None => Some(mesh.face(f).to_vec()),
    });
    (joined, pairs)
}

/// The quad of two triangles that share an edge in opposite directions, beginning at the diagonal, and how far it is from
/// flat and from square, 0 to 1 each; `None` if they make none.
fn quad_of(mesh: &Mesh, f: usize, g: usize) -> Option<([u32; 4], [f64; 2])> {
    let (a, b) = (mesh.face(f), mesh.face(g));
    if a.len() != 3 || b.len() != 3 {
        return None;
    }
    let (k, m) = (0..3)
        .flat_map(|k| (0..3).map(move |m| (k, m)))
        .find(|&(k, m)| a[k] == b[(m + 1) % 3] && a[(k + 1) % 3] == b[m])?;
    // The edge runs from a[k] to the next; the other corners lie beside it.
    let quad = [a[(k + 1) % 3], a[(k + 2) % 3], a[k], b[(m + 2) % 3]];
    if quad[1] == quad[3] {
        return None;
    }
    let p = quad.map(|v| mesh.positions()[v as usize]);
    let normal = |a, b, c| cross(sub(b, a), sub(c, a));
    let (n, o) = (normal(p[0], p[1], p[2]), normal(p[0], p[2], p[3]));
    let (long_n, long_o) = (norm(n), norm(o));
    let flat = dot(n, o) / (long_n * long_o).max(f64::MIN_POSITIVE);
    if long_n <= 0.0 || long_o <= 0.0 || flat < FLAT {
        return None;
    }
    let mean = [0, 1, 2].map(|i| n[i] / long_n + o[i] / long_o);
    let mut skew = 0.0f64;
    for i in 0..4 {
        let (u, v) = (sub(p[i], p[(i + 3) % 4]), sub(p[(i + 1) % 4], p[i]));
        let sides = (norm(u) * norm(v)).max(f64::MIN_POSITIVE);
        let sine = dot(cross(u, v), mean) / (sides * norm(mean));
        if sine < CONVEX {
            return None;
        }
        skew = skew.max(1.0 - sine);
    }
    Some((quad, [1.0 - flat, skew]))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A grid of squares, each cut into two triangles, those of a square following each other or not.
    #[test]
    fn a_grid_comes_back() {
        let n = 6u32;
        let at: Vec<[f64; 3]> = (0..n * n)
            .map(|i| [f64::from(i % n), f64::from(i / n), 0.1 * f64::from(i % 5)])
            .collect();
        let squares: Vec<[u32; 4]> = (0..(n - 1) * (n - 1))
            .map(|i| {
                let v = i / (n - 1) * n + i % (n - 1);
                [v, v + 1, v + n + 1, v + n]
            })
            .collect();
        let halves = |q: &[u32; 4]| [[q[0], q[1], q[2]], [q[0], q[2], q[3]]];
        let beside: Vec<[u32; 3]> = squares.iter().flat_map(halves).collect();
        let apart: Vec<[u32; 3]> = (0..2)
            .flat_map(|k| squares.iter().map(move |q| halves(q)[k]))
            .collect();
        for (triangles, sure) in [(beside, true), (apart, false)] {
            let starts = (0..=triangles.len() as u32).map(|i| 3 * i).collect();
            let mesh = Mesh::new(at.clone(), triangles.concat(), starts, Vec::new(), Vec::new()).unwrap();
            let (joined, pairs) = join(&mesh);
            assert_eq!(joined.face_counts().quads, pairs);
            // Away from each other the diagonals of a slanting grid may be taken for sides at its rim.
            let least = if sure {
                squares.len()
            } else {
                squares.len() * 3 / 4
            };
            assert!(pairs >= least, "{pairs}");
            if sure {
                for (f, square) in squares.iter().enumerate() {
                    let mut face = joined.face(f).to_vec();
                    let first = face.iter().position(|v| *v == square[0]).unwrap();
                    face.rotate_left(first);
                    assert_eq!(face, square);
                }
            }
        }
    }

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
        let (made, _) = join(&mesh);
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
