//! How a move of the surface is judged by itself: as the bending of a thin plate.
//!
//! The Laplacian of a move says by how much it changes the form from one vertex to the next; its square, summed over the
//! surface, is what is kept small (Sorkine et al. 2004), so that edge flow and detail go along. Weights of edges are those
//! of finite volumes: the width of the surface that an edge stands for over its length. On grids of rectangles and on
//! triangles of equal sides they are those of the cotangents, and they are never negative.

use super::slots::{Partners, Slots};
use crate::mesh::Mesh;
use crate::mesh::adjacency::{Adjacency, NONE};
use crate::mesh::vector::{distance, newell, norm};

/// Weights of edges lie between these: what is far off is a sliver of the mesh, no form.
const WEIGHTS: [f64; 2] = [0.02, 50.0];
/// The surface around a vertex counts for at least this share of the mean.
const LEAST_AREA: f64 = 0.02;

/// The Laplacian of a mesh, with the area around each vertex, in units of the figure's height.
#[derive(Debug)]
pub(super) struct Plate {
    starts: Vec<u32>,
    /// Neighbours and weights.
    entries: Vec<(u32, f64)>,
    area: Vec<f64>,
}

impl Plate {
    pub(super) fn of(mesh: &Mesh, table: &Adjacency, height: f64) -> Self {
        let at = |v: u32| mesh.positions()[v as usize];
        let count = mesh.positions().len();
        let mut face_areas = Vec::with_capacity(mesh.face_count());
        let mut area = vec![0.0; count];
        let mut corners = Vec::new();
        for face in mesh.faces() {
            corners.clear();
            corners.extend(face.iter().map(|&v| at(v)));
            let own = 0.5 * norm(newell(&corners)) / (height * height);
            face_areas.push(own);
            for &v in face {
                area[v as usize] += own / face.len() as f64;
            }
        }
        let mean = area.iter().sum::<f64>() / count.max(1) as f64;
        for a in &mut area {
            *a = a.max(LEAST_AREA * mean).max(f64::MIN_POSITIVE);
        }
        // An edge without length bounds nothing: its ends go together.
        let border = |e: usize| {
            let [a, b] = table.edges()[e];
            table.uses(e).len() != 2 && at(a) != at(b)
        };
        let mut on_border = vec![false; count];
        let mut degree = vec![0_u32; count + 1];
        for (e, ends) in table.edges().iter().enumerate() {
            for &v in ends {
                on_border[v as usize] |= border(e);
                degree[v as usize + 1] += 1;
            }
        }
        for v in 0..count {
            degree[v + 1] += degree[v];
        }
        let mut fill = degree.clone();
        let mut entries = vec![(NONE, 0.0); 2 * table.edges().len()];
        for (e, &[a, b]) in table.edges().iter().enumerate() {
            let long = (distance(at(a), at(b)) / height).max(f64::MIN_POSITIVE);
            let width: f64 = table
                .faces(e)
                .map(|f| 2.0 * face_areas[f as usize] / mesh.face(f as usize).len() as f64 / long)
                .sum();
            let weight = (width / long).clamp(WEIGHTS[0], WEIGHTS[1]);
            for (v, other) in [(a, b), (b, a)] {
                // A border bends along itself: across it there is nothing on the other side.
                let weight = match (on_border[v as usize], border(e)) {
                    (true, false) => 0.0,
                    (true, true) => 1.0,
                    _ => weight,
                };
                let place = &mut fill[v as usize];
                entries[*place as usize] = (other, weight);
                *place += 1;
            }
        }
        Self {
            starts: degree,
            entries,
            area,
        }
    }

    /// Area around a vertex over the square of the height.
    pub(super) fn area(&self, vertex: usize) -> f64 {
        self.area[vertex]
    }

    fn around(&self, vertex: usize) -> &[(u32, f64)] {
        &self.entries[self.starts[vertex] as usize..self.starts[vertex + 1] as usize]
    }

    /// Calls `each` for every vertex at which the plate bends when an unknown moves: the sum over the unknowns that says
    /// how much, and its weight.
    pub(super) fn each_bend(
        &self,
        slots: &Slots,
        partners: Partners<'_>,
        mut each: impl FnMut(&[(usize, f64)], f64),
    ) {
        for v in 0..self.area.len() {
            let partner = partners.of[v];
            // Both of a pair bend alike.
            if partner != NONE && (partner as usize) < v {
                continue;
            }
            let times = if partner == NONE || partner == v as u32 {
                1.0
            } else {
                2.0
            };
            let around = self.around(v);
            let sum: f64 = around.iter().map(|e| e.1).sum();
            if sum == 0.0 {
                continue;
            }
            let own = std::iter::once((v as u32, sum));
            let row = slots.gathered(own.chain(around.iter().map(|&(u, w)| (u, -w))));
            if !row.is_empty() {
                each(&row, times / self.area[v]);
            }
        }
    }
}
