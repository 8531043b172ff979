//! Who is whose neighbour in a cage, and in what a step of smoothing makes of it.
//!
//! Everything a step needs is kept as lists that are read in order, so that each new position is gathered by itself:
//! no two threads write to one place, and the sums do not depend on how many there are. The lists of a step follow from
//! those of the one before by rule; only the cage's own edges are found by sorting.

use rayon::prelude::*;

use crate::mesh::Mesh;
use crate::mesh::adjacency::NONE;

/// Elements that one thread works through at a time.
pub(super) const CHUNK: usize = 1 << 13;

/// A sharp edge of a cage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crease {
    /// Its vertices.
    pub edge: [u32; 2],
    /// For how many steps it stays sharp; infinite: always.
    pub sharpness: f32,
}

/// A sharp edge at one of its vertices.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct SharpEnd {
    pub(super) vertex: u32,
    /// The edge's other vertex.
    pub(super) other: u32,
    /// 0 smooth, from 1 on sharp in the next step, infinite at a border.
    pub(super) sharpness: f32,
}

/// Faces, edges, how sharp these are, and what meets at each vertex.
#[derive(Debug, Clone, Default)]
pub struct Topology {
    vertices: usize,
    corners: Vec<u32>,
    /// As [`Mesh::starts`].
    starts: Vec<u32>,
    /// Of a cage that has other faces than quads, for each corner its face. Empty: all are quads.
    corner_faces: Vec<u32>,
    /// For each corner the edge to the face's next corner.
    corner_edges: Vec<u32>,
    /// From the corner that is the edge's first to the one after it.
    edges: Vec<[u32; 2]>,
    /// Two corners whose edge it is, [`NONE`] for the second of a border.
    edge_corners: Vec<[u32; 2]>,
    /// Edges that are not smooth, ascending.
    sharp: Vec<(u32, f32)>,
    /// The ends of these, by vertex.
    sharp_ends: Vec<SharpEnd>,
    /// The corners at vertex `v` are `ring[ring_starts[v]..ring_starts[v + 1]]`.
    ring_starts: Vec<u32>,
    ring: Vec<u32>,
}

impl Topology {
    /// That of a cage. A crease that is no edge of it is left out.
    pub fn of(mesh: &Mesh, creases: &[Crease]) -> Self {
        let mut out = Self {
            vertices: mesh.positions().len(),
            corners: mesh.corners().to_vec(),
            starts: if mesh.starts().is_empty() {
                vec![0]
            } else {
                mesh.starts().to_vec()
            },
            ..Self::default()
        };
        if out.starts.windows(2).any(|ends| ends[1] - ends[0] != 4) {
            out.corner_faces = vec![0; out.corners.len()];
            for (f, ends) in (0u32..).zip(out.starts.windows(2)) {
                out.corner_faces[ends[0] as usize..ends[1] as usize].fill(f);
            }
        }
        out.gather_rings();
        out.find_edges();
        out.sharpen(creases);
        out.gather_sharp_ends();
        out
    }

    /// The corners at each vertex, ascending, by counting.
    fn gather_rings(&mut self) {
        let mut at = vec![0u32; self.vertices + 1];
        for &v in &self.corners {
            at[v as usize + 1] += 1;
        }
        for v in 0..self.vertices {
            at[v + 1] += at[v];
        }
        self.ring_starts = at.clone();
        self.ring = vec![0; self.corners.len()];
        for (c, &v) in (0u32..).zip(&self.corners) {
            self.ring[at[v as usize] as usize] = c;
            at[v as usize] += 1;
        }
    }

    /// Edges in the order of their lower, then of their higher vertex; those of other than two faces are sharp for ever.
    fn find_edges(&mut self) {
        self.corner_edges = vec![0; self.corners.len()];
        let mut sides: Vec<(u32, u32)> = Vec::new();
        for v in 0..self.vertices {
            sides.clear();
            for &c in self.ring_at(v) {
                let c = c as usize;
                let (next, before) = (self.next(c), self.before(c));
                if self.corners[next] as usize >= v {
                    sides.push((self.corners[next], c as u32));
                }
                if self.corners[before] as usize > v {
                    sides.push((self.corners[before], before as u32));
                }
            }
            sides.sort_unstable();
            for equal in sides.chunk_by(|a, b| a.0 == b.0) {
                let (e, first) = (self.edges.len() as u32, equal[0].1);
                self.edges.push([
                    self.corners[first as usize],
                    self.corners[self.next(first as usize)],
                ]);
                self.edge_corners
                    .push([first, equal.get(1).map_or(NONE, |side| side.1)]);
                equal
                    .iter()
                    .for_each(|side| self.corner_edges[side.1 as usize] = e);
                if equal.len() != 2 {
                    self.sharp.push((e, f32::INFINITY));
                }
            }
        }
    }

    fn sharpen(&mut self, creases: &[Crease]) {
        if creases.is_empty() {
            return;
        }
        for crease in creases {
            let [a, b] = crease.edge;
            let between = |e: u32| {
                let [p, q] = self.edges[e as usize];
                [p, q] == [a, b] || [q, p] == [a, b]
            };
            if a as usize >= self.vertices {
                continue;
            }
            let found = self
                .ring_at(a as usize)
                .iter()
                .flat_map(|&c| [c as usize, self.before(c as usize)])
                .map(|c| self.corner_edges[c])
                .find(|&e| between(e));
            if let Some(e) = found {
                self.sharp.push((e, crease.sharpness.max(0.0)));
            }
        }
        // Of several values the last counts, but a border stays one.
        self.sharp.sort_by_key(|s| s.0);
        let kept = self.sharp.chunk_by(|a, b| a.0 == b.0).map(|equal| {
            if equal[0].1.is_infinite() {
                equal[0]
            } else {
                equal[equal.len() - 1]
            }
        });
        self.sharp = kept.filter(|s| s.1 > 0.0).collect();
    }

    fn gather_sharp_ends(&mut self) {
        let ends = self.sharp.iter().flat_map(|&(e, sharpness)| {
            let [a, b] = self.edges[e as usize];
            [(a, b), (b, a)].map(|(vertex, other)| SharpEnd {
                vertex,
                other,
                sharpness,
            })
        });
        self.sharp_ends = ends.collect();
        // Stable: the ends of one vertex stay in the order of their edges.
        self.sharp_ends.sort_by_key(|end| end.vertex);
    }

    /// What a step makes of it. Vertices: the old ones, one for each edge, one for each face. Faces: one for each corner,
    /// beginning with the old vertex.
    pub fn refined(&self) -> Self {
        let mut out = self.refined_faces();
        let edge_count = self.edges.len() as u32;
        // Edges: two halves of each old one, first the half at its first vertex; then one from each corner's edge to the
        // middle of its face.
        let half = |edge: u32, at: u32| 2 * edge + u32::from(self.edges[edge as usize][0] != at);
        let mut corner_edges = vec![0; 4 * self.corners.len()];
        corner_edges
            .par_chunks_mut(4 * CHUNK)
            .enumerate()
            .for_each(|(i, chunk)| {
                for (c, four) in (i * CHUNK..).zip(chunk.chunks_exact_mut(4)) {
                    let before = self.before(c);
                    let (out, into) = (self.corner_edges[c], self.corner_edges[before]);
                    let at = self.corners[c];
                    four.copy_from_slice(&[
                        half(out, at),
                        2 * edge_count + c as u32,
                        2 * edge_count + before as u32,
                        half(into, at),
                    ]);
                }
            });
        out.corner_edges = corner_edges;
        self.refine_edges(&mut out);
        self.refine_rings(&mut out);
        out.sharp = self
            .sharp
            .iter()
            .filter(|s| s.1 > 1.0)
            .flat_map(|&(e, s)| [(2 * e, s - 1.0), (2 * e + 1, s - 1.0)])
            .collect();
        out.gather_sharp_ends();
        out
    }

    /// The faces alone of what a step makes of it: enough for the last step.
    pub(super) fn refined_faces(&self) -> Self {
        let count = self.corners.len();
        let (vertices, edges) = (self.vertices as u32, self.edges.len() as u32);
        let mut corners = vec![0; 4 * count];
        corners
            .par_chunks_mut(4 * CHUNK)
            .enumerate()
            .for_each(|(i, chunk)| {
                for (c, four) in (i * CHUNK..).zip(chunk.chunks_exact_mut(4)) {
                    let (out, into) = (self.corner_edges[c], self.corner_edges[self.before(c)]);
                    let middle = vertices + edges + self.face_of(c) as u32;
                    four.copy_from_slice(&[self.corners[c], vertices + out, middle, vertices + into]);
                }
            });
        let mut starts = vec![0; count + 1];
        starts
            .par_iter_mut()
            .enumerate()
            .for_each(|(c, start)| *start = 4 * c as u32);
        Self {
            vertices: self.vertices + self.edges.len() + self.face_count(),
            corners,
            starts,
            ..Self::default()
        }
    }

    fn refine_edges(&self, out: &mut Self) {
        let (vertices, halves) = (self.vertices as u32, 2 * self.edges.len());
        let middles = vertices + self.edges.len() as u32;
        let total = halves + self.corners.len();
        out.edges = vec![[0; 2]; total];
        out.edge_corners = vec![[NONE; 2]; total];
        let (old, inner) = out.edges.split_at_mut(halves);
        let (old_corners, inner_corners) = out.edge_corners.split_at_mut(halves);
        old.par_chunks_mut(2 * CHUNK)
            .zip(old_corners.par_chunks_mut(2 * CHUNK))
            .enumerate()
            .for_each(|(i, (edges, corners))| {
                let pairs = edges.chunks_exact_mut(2).zip(corners.chunks_exact_mut(2));
                for (e, (ends, used)) in (i * CHUNK..).zip(pairs) {
                    let ([a, b], [first, second]) = (self.edges[e], self.edge_corners[e]);
                    let new = vertices + e as u32;
                    // The corner at an end of the edge begins the child at that end; the half is its first side where
                    // the edge leaves that corner, and its last where it comes in.
                    used[0][0] = 4 * first;
                    used[1][0] = 4 * self.next(first as usize) as u32 + 3;
                    if second != NONE {
                        let (leaving, coming) = (4 * second, 4 * self.next(second as usize) as u32 + 3);
                        let along = self.corners[second as usize] == a;
                        used[0][1] = if along { leaving } else { coming };
                        used[1][1] = if along { coming } else { leaving };
                    }
                    // Each begins at the vertex of its first corner: the second half comes in from the new vertex.
                    ends.copy_from_slice(&[[a, new], [new, b]]);
                }
            });
        inner
            .par_chunks_mut(CHUNK)
            .zip(inner_corners.par_chunks_mut(CHUNK))
            .enumerate()
            .for_each(|(i, (edges, corners))| {
                for (c, (ends, used)) in (i * CHUNK..).zip(edges.iter_mut().zip(corners)) {
                    *ends = [vertices + self.corner_edges[c], middles + self.face_of(c) as u32];
                    *used = [4 * c as u32 + 1, 4 * self.next(c) as u32 + 2];
                }
            });
    }

    fn refine_rings(&self, out: &mut Self) {
        let (vertices, edges) = (self.vertices, self.edges.len());
        // Corners at the middle of an edge: two of each of its faces, of no more than two. Counted by chunks, to know where each begins.
        let at_edge = |corners: &[u32; 2]| if corners[1] == NONE { 2 } else { 4 };
        let counts: Vec<usize> = self
            .edge_corners
            .par_chunks(CHUNK)
            .map(|chunk| chunk.iter().map(at_edge).sum())
            .collect();
        let first = self.ring.len();
        let total = first + counts.iter().sum::<usize>() + self.corners.len();
        let mut starts = vec![0; out.vertices + 1];
        let mut ring = vec![0; total];
        let (old_starts, rest) = starts.split_at_mut(vertices);
        old_starts.copy_from_slice(&self.ring_starts[..vertices]);
        let (edge_starts, face_starts) = rest.split_at_mut(edges);
        let (old_ring, rest) = ring.split_at_mut(first);
        let (mut edge_ring, face_ring) = rest.split_at_mut(counts.iter().sum());
        let behind = (first + edge_ring.len()) as u32;
        let mut chunks = Vec::with_capacity(counts.len());
        let mut begin = first;
        for count in counts {
            let (own, others) = edge_ring.split_at_mut(count);
            chunks.push((begin as u32, own));
            (edge_ring, begin) = (others, begin + count);
        }
        old_ring
            .par_iter_mut()
            .zip(&self.ring)
            .with_min_len(CHUNK)
            .for_each(|(new, old)| *new = 4 * old);
        self.edge_corners
            .par_chunks(CHUNK)
            .zip(edge_starts.par_chunks_mut(CHUNK))
            .zip(chunks)
            .for_each(|((edges, starts), (mut begin, mut ring))| {
                for (corners, start) in edges.iter().zip(starts) {
                    *start = begin;
                    let (own, others) = ring.split_at_mut(at_edge(corners));
                    for (two, &c) in own.chunks_exact_mut(2).zip(corners) {
                        two.copy_from_slice(&[4 * c + 1, 4 * self.next(c as usize) as u32 + 3]);
                    }
                    (ring, begin) = (others, begin + own.len() as u32);
                }
            });
        face_starts
            .par_iter_mut()
            .zip(&self.starts)
            .with_min_len(CHUNK)
            .for_each(|(new, old)| *new = behind + old);
        face_ring
            .par_iter_mut()
            .enumerate()
            .with_min_len(CHUNK)
            .for_each(|(c, new)| *new = 4 * c as u32 + 2);
        out.ring_starts = starts;
        out.ring = ring;
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

    /// The lists of faces for a mesh: as [`Mesh::corners`], as [`Mesh::starts`].
    pub(super) fn into_faces(self) -> (Vec<u32>, Vec<u32>) {
        (self.corners, self.starts)
    }

    /// For each corner the edge to the face's next corner.
    pub fn corner_edges(&self) -> &[u32] {
        &self.corner_edges
    }

    /// The vertices of each edge.
    pub fn edges(&self) -> &[[u32; 2]] {
        &self.edges
    }

    /// Two corners whose edge each is, [`NONE`] for the second of a border.
    pub(super) fn edge_corners(&self) -> &[[u32; 2]] {
        &self.edge_corners
    }

    /// Edges that are not smooth and how sharp each is, ascending: from 1 on sharp in the next step, infinite at a border.
    pub fn sharp(&self) -> &[(u32, f32)] {
        &self.sharp
    }

    /// Their ends, by vertex.
    pub(super) fn sharp_ends(&self) -> &[SharpEnd] {
        &self.sharp_ends
    }

    /// The corners at a vertex.
    #[inline]
    pub(super) fn ring_at(&self, vertex: usize) -> &[u32] {
        &self.ring[self.ring_starts[vertex] as usize..self.ring_starts[vertex + 1] as usize]
    }

    /// Whether every face has four corners.
    pub(super) fn is_all_quads(&self) -> bool {
        self.corner_faces.is_empty()
    }

    /// The face of a corner.
    #[inline]
    pub(super) fn face_of(&self, corner: usize) -> usize {
        if self.corner_faces.is_empty() {
            corner >> 2
        } else {
            self.corner_faces[corner] as usize
        }
    }

    /// The corner after this one in its face.
    #[inline]
    pub(super) fn next(&self, corner: usize) -> usize {
        if self.corner_faces.is_empty() {
            return (corner & !3) | ((corner + 1) & 3);
        }
        let f = self.corner_faces[corner] as usize;
        if corner + 1 == self.starts[f + 1] as usize {
            self.starts[f] as usize
        } else {
            corner + 1
        }
    }

    /// The corner before this one in its face.
    #[inline]
    pub(super) fn before(&self, corner: usize) -> usize {
        if self.corner_faces.is_empty() {
            return (corner & !3) | ((corner + 3) & 3);
        }
        let f = self.corner_faces[corner] as usize;
        if corner == self.starts[f] as usize {
            self.starts[f + 1] as usize - 1
        } else {
            corner - 1
        }
    }
}
