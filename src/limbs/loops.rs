//! Edge loops: from edge to edge straight through vertices of four edges.
//!
//! Every edge belongs to one loop. A loop closes, or ends at a pole, at a border, or at a vertex with a face that is no
//! quad on the way across.

use crate::mesh::Mesh;
use crate::mesh::adjacency::{Adjacency, Spokes};

/// Edges that a straight way passes through at a vertex.
const STRAIGHT: usize = 4;

/// The edge loops of a mesh, in the order of their first edge.
#[derive(Debug, Clone, Default)]
pub struct EdgeLoops {
    vertices: Vec<u32>,
    starts: Vec<u32>,
    closed: Vec<bool>,
}

impl EdgeLoops {
    /// Finds the loops.
    pub fn of(mesh: &Mesh, table: &Adjacency, spokes: &Spokes) -> Self {
        let mut done = vec![false; table.edges().len()];
        let mut out = Self {
            starts: vec![0],
            ..Self::default()
        };
        for e in 0..table.edges().len() {
            if done[e] {
                continue;
            }
            done[e] = true;
            let [a, b] = table.edges()[e];
            let begin = out.vertices.len();
            out.vertices.extend([a, b]);
            let closed = out.walk(table, spokes, &mut done, e as u32, b);
            if closed {
                // The first vertex came round again.
                out.vertices.pop();
            } else {
                let forward = out.vertices.len();
                out.vertices.push(a);
                out.walk(table, spokes, &mut done, e as u32, a);
                // Backwards part first: reversed, without the vertex that both parts share.
                let mut back: Vec<u32> = out.vertices.drain(forward + 1..).collect();
                out.vertices.pop();
                back.reverse();
                back.extend(out.vertices.drain(begin..));
                out.vertices.extend(back);
            }
            out.closed.push(closed);
            out.starts.push(out.vertices.len() as u32);
        }
        debug_assert!(
            out.vertices
                .iter()
                .all(|&v| (v as usize) < mesh.positions().len())
        );
        out
    }

    /// Goes on from an edge through a vertex; says whether it came back to the edge.
    fn walk(&mut self, table: &Adjacency, spokes: &Spokes, done: &mut [bool], first: u32, from: u32) -> bool {
        let (mut edge, mut vertex) = (first, from);
        while let Some(next) = straight(table, spokes, edge, vertex) {
            if next == first {
                return true;
            }
            if done[next as usize] {
                return false;
            }
            done[next as usize] = true;
            let [a, b] = table.edges()[next as usize];
            vertex = if a == vertex { b } else { a };
            edge = next;
            self.vertices.push(vertex);
        }
        false
    }

    /// Number of loops.
    pub fn count(&self) -> usize {
        self.closed.len()
    }

    /// The vertices of a loop in their order; a closed one does not repeat its first.
    pub fn vertices(&self, of: usize) -> &[u32] {
        &self.vertices[self.starts[of] as usize..self.starts[of + 1] as usize]
    }

    /// Whether a loop closes.
    pub fn closed(&self, of: usize) -> bool {
        self.closed[of]
    }
}

/// The edge that goes on straight behind a vertex.
fn straight(table: &Adjacency, spokes: &Spokes, edge: u32, vertex: u32) -> Option<u32> {
    let around = spokes.of(vertex);
    if around.len() != STRAIGHT || around.iter().any(|&e| table.uses(e as usize).len() != 2) {
        return None;
    }
    let beside: Vec<u32> = table.faces(edge as usize).collect();
    around
        .iter()
        .copied()
        .find(|&e| e != edge && table.faces(e as usize).all(|f| !beside.contains(&f)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A tube of 5 rings of 6 vertices: the 3 inner rings close, lengthwise chains end at the borders, border edges
    /// stand alone.
    #[test]
    fn rings_of_a_tube_close() {
        let positions = (0..30)
            .map(|i| [f64::from(i % 6), f64::from(i / 6), 0.0])
            .collect();
        let faces = (0..24_u32).map(|i| {
            let (r, k) = (i / 6 * 6, i % 6);
            [r + k, r + (k + 1) % 6, r + 6 + (k + 1) % 6, r + 6 + k]
        });
        let mesh = Mesh::from_polygons(positions, faces).unwrap();
        let table = Adjacency::of(&mesh);
        let loops = EdgeLoops::of(&mesh, &table, &table.spokes(30));
        let closed: Vec<usize> = (0..loops.count()).filter(|&l| loops.closed(l)).collect();
        assert_eq!(closed.len(), 3);
        assert!(closed.iter().all(|&l| loops.vertices(l).len() == 6));
        let along = (0..loops.count()).filter(|&l| !loops.closed(l) && loops.vertices(l).len() == 5);
        assert_eq!(along.count(), 6);
    }
}
