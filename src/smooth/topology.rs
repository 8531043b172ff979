//! Who is whose neighbour in a cage, and in what a step of smoothing makes of it.

use crate::mesh::Mesh;

/// A sharp edge of a cage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crease {
    /// Its vertices.
    pub edge: [u32; 2],
    /// For how many steps it stays sharp; infinite: always.
    pub sharpness: f32,
}

/// Faces, edges and how sharp these are.
#[derive(Debug, Clone)]
pub struct Topology {
    vertices: usize,
    corners: Vec<u32>,
    starts: Vec<u32>,
    /// For each corner the edge to the face's next corner.
    corner_edges: Vec<u32>,
    edges: Vec<[u32; 2]>,
    /// Sharpness of each edge, infinite at borders. Empty where there is none but at borders.
    sharpness: Vec<f32>,
    /// How many faces use each edge, at most 255 are counted.
    uses: Vec<u8>,
}

impl Topology {
    /// That of a cage. A crease that is no edge of it is left out.
    pub fn of(mesh: &Mesh, creases: &[Crease]) -> Self {
        let (corners, starts) = (mesh.corners(), mesh.starts());
        let key = |a: u32, b: u32| (u64::from(a.min(b)) << 32) | u64::from(a.max(b));
        let mut sides: Vec<(u64, u32)> = Vec::with_capacity(corners.len());
        for ends in starts.windows(2) {
            let (first, last) = (ends[0] as usize, ends[1] as usize);
            for c in first..last {
                let next = if c + 1 == last { first } else { c + 1 };
                sides.push((key(corners[c], corners[next]), c as u32));
            }
        }
        sides.sort_unstable();
        let mut corner_edges = vec![0; corners.len()];
        let (mut edges, mut uses): (Vec<[u32; 2]>, Vec<u8>) = (Vec::new(), Vec::new());
        let mut last = None;
        for (k, c) in sides {
            if last != Some(k) {
                edges.push([(k >> 32) as u32, k as u32]);
                uses.push(0);
                last = Some(k);
            }
            let e = edges.len() - 1;
            uses[e] = uses[e].saturating_add(1);
            corner_edges[c as usize] = e as u32;
        }
        let mut sharpness = Vec::new();
        for crease in creases {
            let [a, b] = crease.edge;
            if let Ok(e) = edges.binary_search(&[a.min(b), a.max(b)]) {
                sharpness.resize(edges.len(), 0.0);
                sharpness[e] = crease.sharpness.max(0.0);
            }
        }
        Self {
            vertices: mesh.positions().len(),
            corners: corners.to_vec(),
            starts: if starts.is_empty() {
                vec![0]
            } else {
                starts.to_vec()
            },
            corner_edges,
            edges,
            sharpness,
            uses,
        }
    }

    /// What a step makes of it. Vertices: the old ones, one for each edge, one for each face. Faces: one for each corner,
    /// beginning with the old vertex.
    pub fn refined(&self) -> Self {
        let (v, e) = (self.vertices as u32, self.edges.len() as u32);
        let count = self.corners.len();
        let (mut corners, mut corner_edges) = (Vec::with_capacity(4 * count), Vec::with_capacity(4 * count));
        // Edges: two halves of each old one, first the half at its first vertex; then one from each corner's edge to
        // the middle of its face.
        let half = |edge: u32, at: u32| 2 * edge + u32::from(self.edges[edge as usize][0] != at);
        let mut edges = Vec::with_capacity(self.edges.len() * 2 + count);
        for (i, [a, b]) in (0u32..).zip(&self.edges) {
            edges.push([*a, v + i]);
            edges.push([v + i, *b]);
        }
        for (f, ends) in (0u32..).zip(self.starts.windows(2)) {
            let (first, last) = (ends[0] as usize, ends[1] as usize);
            let middle = v + e + f;
            for c in first..last {
                let before = if c == first { last - 1 } else { c - 1 };
                let (out, into) = (self.corner_edges[c], self.corner_edges[before]);
                let at = self.corners[c];
                corners.extend([at, v + out, middle, v + into]);
                corner_edges.extend([
                    half(out, at),
                    2 * e + c as u32,
                    2 * e + before as u32,
                    half(into, at),
                ]);
                edges.push([v + out, middle]);
            }
        }
        let mut uses = Vec::with_capacity(edges.len());
        uses.extend(self.uses.iter().flat_map(|u| [*u; 2]));
        uses.resize(edges.len(), 2);
        let mut sharpness = Vec::new();
        if self.sharpness.iter().any(|s| *s > 1.0) {
            sharpness.extend(self.sharpness.iter().flat_map(|s| [(s - 1.0).max(0.0); 2]));
            sharpness.resize(edges.len(), 0.0);
        }
        Self {
            vertices: self.vertices + self.edges.len() + self.starts.len() - 1,
            starts: (0..=count as u32).map(|c| 4 * c).collect(),
            corners,
            corner_edges,
            edges,
            sharpness,
            uses,
        }
    }

    /// Number of vertices.
    pub fn vertex_count(&self) -> usize {
        self.vertices
    }

    /// Number of faces.
    pub fn face_count(&self) -> usize {
        self.starts.len() - 1
    }

    /// As [`Mesh::corners`].
    pub fn corners(&self) -> &[u32] {
        &self.corners
    }

    /// As [`Mesh::starts`].
    pub fn starts(&self) -> &[u32] {
        &self.starts
    }

    /// For each corner the edge to the face's next corner.
    pub fn corner_edges(&self) -> &[u32] {
        &self.corner_edges
    }

    /// The vertices of each edge.
    pub fn edges(&self) -> &[[u32; 2]] {
        &self.edges
    }

    /// How sharp an edge is: 0 smooth, from 1 on sharp in the next step, infinite at a border.
    pub fn sharpness(&self, edge: usize) -> f32 {
        if self.uses[edge] != 2 {
            return f32::INFINITY;
        }
        self.sharpness.get(edge).copied().unwrap_or(0.0)
    }
}
