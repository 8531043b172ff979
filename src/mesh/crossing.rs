//! Where a surface goes through itself.
//!
//! Faces are cut into fans; two triangles cross where an edge of one pierces the inside of the other (after Möller 1997,
//! by signs of volumes). Triangles are found by a tree of boxes. Faces that share a vertex and faces that lie in one plane
//! do not count, nor do slivers; parts that are shells of their own may overlap, as many figures are built.

use rayon::prelude::*;

use super::Mesh;
use super::shells::Shells;
use super::vector::{Vector, cross, dot, norm, sub};

/// Triangles of a leaf.
const LEAF: usize = 6;

#[derive(Debug, Clone, Copy)]
struct Box3 {
    min: Vector,
    max: Vector,
}

impl Box3 {
    fn around(points: &[Vector; 3]) -> Self {
        let by =
            |f: fn(f64, f64) -> f64| std::array::from_fn(|i| f(f(points[0][i], points[1][i]), points[2][i]));
        Self {
            min: by(f64::min),
            max: by(f64::max),
        }
    }

    fn join(self, other: Self) -> Self {
        Self {
            min: std::array::from_fn(|i| self.min[i].min(other.min[i])),
            max: std::array::from_fn(|i| self.max[i].max(other.max[i])),
        }
    }

    fn meets(&self, other: &Self) -> bool {
        (0..3).all(|i| self.min[i] <= other.max[i] && other.min[i] <= self.max[i])
    }
}

struct Node {
    own: Box3,
    /// Triangles of a leaf as a range of the order; of an inner node the number of its second child, the first one follows.
    first: u32,
    /// 0 for an inner node.
    count: u32,
}

struct Tree {
    nodes: Vec<Node>,
    order: Vec<u32>,
}

impl Tree {
    fn of(boxes: &[Box3]) -> Self {
        let mut out = Self {
            nodes: Vec::new(),
            order: (0..boxes.len() as u32).collect(),
        };
        if !boxes.is_empty() {
            out.split(boxes, 0, boxes.len());
        }
        out
    }

    fn split(&mut self, boxes: &[Box3], first: usize, end: usize) {
        let of = |t: u32| boxes[t as usize];
        let own = self.order[first..end]
            .iter()
            .map(|t| of(*t))
            .reduce(Box3::join)
            .expect("at least one");
        let here = self.nodes.len();
        self.nodes.push(Node {
            own,
            first: first as u32,
            count: (end - first) as u32,
        });
        if end - first <= LEAF {
            return;
        }
        let size: Vector = std::array::from_fn(|i| own.max[i] - own.min[i]);
        let axis = (0..3).max_by(|a, b| size[*a].total_cmp(&size[*b])).unwrap_or(0);
        let middle = (first + end) / 2;
        let key = |t: u32| of(t).min[axis] + of(t).max[axis];
        self.order[first..end]
            .select_nth_unstable_by(middle - first, |a, b| key(*a).total_cmp(&key(*b)).then(a.cmp(b)));
        self.split(boxes, first, middle);
        let second = self.nodes.len() as u32;
        self.split(boxes, middle, end);
        (self.nodes[here].first, self.nodes[here].count) = (second, 0);
    }

    fn each(&self, query: &Box3, mut found: impl FnMut(u32)) {
        let mut pending = vec![0_u32];
        while let Some(n) = pending.pop() {
            let Some(node) = self.nodes.get(n as usize) else {
                return;
            };
            if !node.own.meets(query) {
                continue;
            }
            if node.count == 0 {
                pending.extend([n + 1, node.first]);
            } else {
                let own = node.first as usize..(node.first + node.count) as usize;
                self.order[own].iter().for_each(|t| found(*t));
            }
        }
    }
}

/// Pairs of faces of one shell that go through each other, of which at least one is looked at; lower number first,
/// ascending. `positions` are the mesh's vertices, wherever they are now; `same` has the first vertex at the place of each
/// one: faces that meet at a place share it.
///
/// # Panics
/// There are fewer positions than vertices.
pub fn crossings(
    mesh: &Mesh,
    positions: &[Vector],
    same: &[u32],
    shells: &Shells,
    looked_at: impl Fn(usize) -> bool + Sync,
) -> Vec<[u32; 2]> {
    let mut faces: Vec<u32> = Vec::with_capacity(mesh.triangle_count());
    for (f, face) in (0..).zip(mesh.faces()) {
        faces.extend(std::iter::repeat_n(f, face.len() - 2));
    }
    // Which side of a sliver something lies on is rounding.
    let (faces, triangles): (Vec<u32>, Vec<[u32; 3]>) = faces
        .into_iter()
        .zip(mesh.triangles())
        .filter(|(_, t)| !is_sliver(t.map(|v| mesh.positions()[v as usize])))
        .unzip();
    let places = |t: usize| triangles[t].map(|v| positions[v as usize]);
    let boxes: Vec<Box3> = (0..triangles.len()).map(|t| Box3::around(&places(t))).collect();
    let tree = Tree::of(&boxes);
    let shell = |f: u32| shells.of_vertex(mesh.face(f as usize)[0]);
    let mut out: Vec<[u32; 2]> = (0..triangles.len())
        .into_par_iter()
        .filter(|t| looked_at(faces[*t] as usize))
        .flat_map_iter(|t| {
            let (face, corners) = (faces[t], places(t));
            let mut found = Vec::new();
            tree.each(&boxes[t], |u| {
                let u = u as usize;
                let other = faces[u];
                // Of two that are both looked at the lower one reports.
                if other == face || (other < face && looked_at(other as usize)) || shell(other) != shell(face)
                {
                    return;
                }
                let first = |v: &u32| same[*v as usize];
                let own = mesh.face(face as usize);
                let touching = mesh
                    .face(other as usize)
                    .iter()
                    .any(|v| own.iter().any(|w| first(v) == first(w)));
                if !touching && boxes[u].meets(&boxes[t]) && cross_each_other(&corners, &places(u)) {
                    found.push([face.min(other), face.max(other)]);
                }
            });
            found
        })
        .collect();
    out.par_sort_unstable();
    out.dedup();
    out
}

/// A triangle whose double area is less than this share of the square of its longest side is a sliver.
const SLIVER: f64 = 1e-3;

/// Whether a triangle is so thin that rounding decides which way it looks.
pub fn is_sliver([a, b, c]: [Vector; 3]) -> bool {
    let long = [sub(b, a), sub(c, a), sub(c, b)]
        .map(norm)
        .into_iter()
        .fold(0.0, f64::max);
    norm(cross(sub(b, a), sub(c, a))) <= SLIVER * long * long
}

fn cross_each_other(a: &[Vector; 3], b: &[Vector; 3]) -> bool {
    let pierced =
        |edges: &[Vector; 3], by: &[Vector; 3]| (0..3).any(|i| pierces(edges[i], edges[(i + 1) % 3], by));
    pierced(a, b) || pierced(b, a)
}

/// Six times the signed volume of a tetrahedron.
fn volume(a: Vector, b: Vector, c: Vector, d: Vector) -> f64 {
    dot(sub(b, a), cross(sub(c, a), sub(d, a)))
}

/// Whether a line from p to q goes through the inside of a triangle.
fn pierces(p: Vector, q: Vector, [a, b, c]: &[Vector; 3]) -> bool {
    let (before, behind) = (volume(*a, *b, *c, p), volume(*a, *b, *c, q));
    if before * behind >= 0.0 {
        return false;
    }
    let sides = [volume(p, q, *a, *b), volume(p, q, *b, *c), volume(p, q, *c, *a)];
    sides.iter().all(|s| *s > 0.0) || sides.iter().all(|s| *s < 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A strip of ten quads, bent so that its end goes through its beginning, or stops short of it.
    fn strip(last: f64) -> Mesh {
        let mut positions = Vec::new();
        for i in 0..=10_u32 {
            let turn = f64::from(i) / 10.0 * last;
            let (s, c) = turn.sin_cos();
            // A spiral inward: what comes round lies inside.
            let r = 1.0 - 0.02 * f64::from(i);
            positions.extend([[r * c, r * s, 0.0], [r * c, r * s, 1.0]]);
        }
        // The end is pushed outward, through the beginning.
        let n = positions.len();
        for p in &mut positions[n - 2..] {
            p[0] *= 1.3;
            p[1] *= 1.3;
        }
        let faces = (0..10_u32).map(|i| [2 * i, 2 * i + 1, 2 * i + 3, 2 * i + 2]);
        Mesh::from_polygons(positions, faces).unwrap()
    }

    #[test]
    fn a_strip_through_itself_is_found_and_one_that_stops_short_is_not() {
        for (last, expected) in [(6.8, true), (5.5, false)] {
            let mesh = strip(last);
            let own: Vec<u32> = (0..mesh.positions().len() as u32).collect();
            let found = crossings(&mesh, mesh.positions(), &own, &Shells::of(&mesh), |_| true);
            assert_eq!(!found.is_empty(), expected, "{last}: {found:?}");
            // Whichever of the two is looked at.
            for pair in &found {
                for one in pair {
                    let again = crossings(&mesh, mesh.positions(), &own, &Shells::of(&mesh), |f| {
                        f as u32 == *one
                    });
                    assert!(again.contains(pair));
                }
            }
        }
    }
}
