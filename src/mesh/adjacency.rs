//! Which faces meet along which edge: the table that every look at a mesh's build starts from.
//!
//! An edge is an unordered pair of different vertices; a use of it is a corner whose face runs from that corner
//! to the next one along the edge. Edges stand in the order of their lower, then their higher vertex, uses in
//! the order of the file, so that nothing depends on the number of threads.
//!
//! Method: corners are counted into buckets by their lower vertex, each bucket is sorted by its higher vertex.
//! O(corners) for meshes whose vertices have a bounded number of edges.

use super::Mesh;

/// No edge, no face, no vertex.
pub const NONE: u32 = u32::MAX;

/// The edges of a mesh and their uses.
#[derive(Debug, Clone)]
pub struct Adjacency {
    edges: Vec<[u32; 2]>,
    starts: Vec<u32>,
    uses: Vec<u32>,
    edge_of: Vec<u32>,
    face_of: Vec<u32>,
    /// For each corner the other use of its edge, where it has just two.
    across: Vec<u32>,
}

/// For each vertex the edges that end in it, in the order of the edges.
#[derive(Debug, Clone)]
pub struct Spokes {
    starts: Vec<u32>,
    edges: Vec<u32>,
}

impl Adjacency {
    /// The edges of all faces.
    pub fn of(mesh: &Mesh) -> Self {
        Self::without(mesh, |_| false)
    }

    /// The edges of the faces that are not left out. Corners of faces that are left out have no edge.
    pub fn without(mesh: &Mesh, left_out: impl Fn(usize) -> bool) -> Self {
        let corners = mesh.corners();
        let mut face_of = vec![NONE; corners.len()];
        let mut bucket = vec![0_u32; mesh.positions().len() + 1];
        let ends = |range: &std::ops::Range<usize>, c: usize| {
            let b = if c + 1 == range.end { range.start } else { c + 1 };
            (corners[c], corners[b])
        };
        let ranges = || {
            mesh.starts()
                .windows(2)
                .map(|w| w[0] as usize..w[1] as usize)
                .enumerate()
                .filter(|(f, _)| !left_out(*f))
        };
        for (f, range) in ranges() {
            for c in range.clone() {
                face_of[c] = f as u32;
                let (a, b) = ends(&range, c);
                if a != b {
                    bucket[a.min(b) as usize + 1] += 1;
                }
            }
        }
        for v in 1..bucket.len() {
            bucket[v] += bucket[v - 1];
        }
        // The higher vertex above, the corner below: one number to sort by.
        let mut keys = vec![0_u64; bucket.last().map_or(0, |&n| n as usize)];
        let mut fill = bucket.clone();
        for (_, range) in ranges() {
            for c in range.clone() {
                let (a, b) = ends(&range, c);
                if a != b {
                    let at = &mut fill[a.min(b) as usize];
                    keys[*at as usize] = u64::from(a.max(b)) << 32 | c as u64;
                    *at += 1;
                }
            }
        }
        let mut edges = Vec::with_capacity(keys.len() / 2 + 1);
        let mut starts = Vec::with_capacity(keys.len() / 2 + 2);
        let mut uses = Vec::with_capacity(keys.len());
        let mut edge_of = vec![NONE; corners.len()];
        let mut across = vec![NONE; corners.len()];
        for low in 0..bucket.len().saturating_sub(1) {
            let within = &mut keys[bucket[low] as usize..bucket[low + 1] as usize];
            within.sort_unstable();
            for same in within.chunk_by(|a, b| a >> 32 == b >> 32) {
                let edge = edges.len() as u32;
                edges.push([low as u32, (same[0] >> 32) as u32]);
                starts.push(uses.len() as u32);
                for &key in same {
                    let corner = key as u32;
                    edge_of[corner as usize] = edge;
                    uses.push(corner);
                }
                if let &[a, b] = same {
                    across[a as u32 as usize] = b as u32;
                    across[b as u32 as usize] = a as u32;
                }
            }
        }
        starts.push(uses.len() as u32);
        Self {
            edges,
            starts,
            uses,
            edge_of,
            face_of,
            across,
        }
    }

    /// The edges, lower vertex first, in ascending order.
    pub fn edges(&self) -> &[[u32; 2]] {
        &self.edges
    }

    /// The corners whose faces run along an edge.
    pub fn uses(&self, edge: usize) -> &[u32] {
        &self.uses[self.starts[edge] as usize..self.starts[edge + 1] as usize]
    }

    /// The edge from a corner to the next one of its face; [`NONE`] where both are one vertex.
    pub fn edge_of(&self, corner: usize) -> u32 {
        self.edge_of[corner]
    }

    /// The face of a corner; [`NONE`] where it was left out.
    pub fn face_of(&self, corner: usize) -> u32 {
        self.face_of[corner]
    }

    /// The faces along an edge, once for each use.
    pub fn faces(&self, edge: usize) -> impl Iterator<Item = u32> + '_ {
        self.uses(edge).iter().map(|&c| self.face_of[c as usize])
    }

    /// The edge between two vertices.
    pub fn between(&self, a: u32, b: u32) -> Option<usize> {
        self.edges.binary_search(&[a.min(b), a.max(b)]).ok()
    }

    /// The use of an edge by another corner, where it has just two.
    pub fn across(&self, corner: usize) -> Option<u32> {
        Some(self.across[corner]).filter(|&other| other != NONE)
    }

    /// The edges that end in each vertex.
    pub fn spokes(&self, vertices: usize) -> Spokes {
        let mut starts = vec![0_u32; vertices + 1];
        for &[a, b] in &self.edges {
            starts[a as usize + 1] += 1;
            starts[b as usize + 1] += 1;
        }
        for v in 1..starts.len() {
            starts[v] += starts[v - 1];
        }
        let mut fill = starts.clone();
        let mut edges = vec![0; 2 * self.edges.len()];
        for (e, ends) in self.edges.iter().enumerate() {
            for &v in ends {
                edges[fill[v as usize] as usize] = e as u32;
                fill[v as usize] += 1;
            }
        }
        Spokes { starts, edges }
    }

    /// `V - E + F` of what is in the table, counting only vertices that have an edge (Euler 1758).
    pub fn euler_characteristic(&self) -> i64 {
        let mut vertices: Vec<u32> = self.edges.iter().flatten().copied().collect();
        vertices.sort_unstable();
        vertices.dedup();
        let mut faces: Vec<u32> = self.face_of.iter().copied().filter(|&f| f != NONE).collect();
        faces.dedup();
        vertices.len() as i64 - self.edges.len() as i64 + faces.len() as i64
    }
}

impl Spokes {
    /// The edges that end in a vertex.
    pub fn of(&self, vertex: u32) -> &[u32] {
        &self.edges[self.starts[vertex as usize] as usize..self.starts[vertex as usize + 1] as usize]
    }

    /// The vertices at the other ends of a vertex's edges.
    pub fn neighbours<'a>(&'a self, adjacency: &'a Adjacency, vertex: u32) -> impl Iterator<Item = u32> + 'a {
        self.of(vertex).iter().map(move |&e| {
            let [a, b] = adjacency.edges()[e as usize];
            if a == vertex { b } else { a }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two quads side by side and a third hung on their common edge.
    fn three_leaves() -> Mesh {
        let positions = (0..8).map(|i| [f64::from(i), f64::from(i * i), 0.0]).collect();
        Mesh::from_polygons(positions, [[0, 1, 4, 3], [1, 2, 5, 4], [1, 4, 7, 6]]).unwrap()
    }

    #[test]
    fn uses_are_counted_for_each_edge() {
        let mesh = three_leaves();
        let table = Adjacency::of(&mesh);
        assert_eq!(table.edges().len(), 10);
        let common = table.between(4, 1).unwrap();
        assert_eq!(table.faces(common).collect::<Vec<_>>(), [0, 1, 2]);
        assert_eq!(table.across(1), None);
        let fewer = Adjacency::without(&mesh, |f| f == 2);
        assert_eq!(fewer.across(1), Some(7));
        assert_eq!(fewer.face_of(9), NONE);
        let spokes = table.spokes(8);
        assert_eq!(spokes.neighbours(&table, 1).collect::<Vec<_>>(), [0, 2, 4, 6]);
    }

    #[test]
    fn a_repeated_corner_has_no_edge() {
        let mesh = Mesh::from_polygons(vec![[0.0; 3]; 3], [[0, 1, 1, 2]]).unwrap();
        let table = Adjacency::of(&mesh);
        assert_eq!(table.edges(), [[0, 1], [0, 2], [1, 2]]);
        assert_eq!(table.edge_of(1), NONE);
    }
}
