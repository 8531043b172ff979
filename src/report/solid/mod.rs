//! A mesh as a softly shaded body, seen as one of the compared views.
//!
//! Method: a depth buffer with nine samples a pixel ([`raster`]), normals that run smoothly over the surface but for sharp
//! edges ([`Body`]), diffuse light of a key and of sky and ground, darkened where the surface lies behind its
//! surroundings ([`light`]). Faces are seen from both sides, so that a face that is the wrong way round leaves no hole.
//! The same mesh gives the same bytes, with any number of threads.

mod light;
mod raster;

use rayon::prelude::*;

use crate::mesh::Mesh;
use crate::mesh::vector::{Vector, add_scaled, cross, dot, sub, unit};
use crate::silhouette::Azimuth;

pub(crate) use light::Shaded;

/// Corners whose face leans from the vertex's mean normal by more than this keep the face's own: an edge that is meant to
/// be sharp. Cosine of 50 degrees; a limb of eight sides has 45 between neighbours, 22 from the mean.
const SHARP: f64 = 0.643;
/// Vertices and triangles that one thread works on at a time, at least.
const TOGETHER: usize = 4096;

/// Three numbers: right, up, towards the viewer.
type Place = [f32; 3];

/// A triangle as the raster takes it: places in units of the view, and normals.
struct Triangle {
    at: [Place; 3],
    normals: [Place; 3],
}

/// A mesh turned towards a viewer.
pub(crate) struct Body {
    triangles: Vec<Triangle>,
}

/// Where a body is drawn, in pixels: columns and rows count from the picture's own corner.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Window {
    pub(crate) width: usize,
    pub(crate) height: usize,
    /// Column of view x = 0 and row of view y = 0.
    pub(crate) zero: (f64, f64),
    /// Pixels a unit.
    pub(crate) scale: f64,
}

impl Body {
    /// Turns a mesh as it stands (y up, facing +z) towards the viewer of a view.
    pub(crate) fn new(mesh: &Mesh, azimuth: Azimuth) -> Self {
        let axis = |k: usize| -> Vector { std::array::from_fn(|i| if i == k { 1.0 } else { 0.0 }) };
        let right: Vector = std::array::from_fn(|k| azimuth.view_x(axis(k)));
        let up: Vector = std::array::from_fn(|k| azimuth.view_y(axis(k)));
        let toward = cross(right, up);
        let seen = |p: Vector| [dot(p, right), dot(p, up), dot(p, toward)];
        let positions = mesh.positions();
        let triangles: Vec<[u32; 3]> = mesh.triangles().collect();
        // Weighed by area: the vector product is twice as long as its triangle is large.
        let faces: Vec<Vector> = triangles
            .par_iter()
            .with_min_len(TOGETHER)
            .map(|t| {
                let [a, b, c] = t.map(|v| positions[v as usize]);
                cross(sub(b, a), sub(c, a))
            })
            .collect();
        let mut sums: Vec<Vector> = vec![[0.0; 3]; positions.len()];
        for (t, face) in triangles.iter().zip(&faces) {
            for v in t {
                let sum = &mut sums[*v as usize];
                *sum = add_scaled(*sum, 1.0, *face);
            }
        }
        let single = |p: Vector| p.map(|c| c as f32);
        let triangles = triangles
            .par_iter()
            .with_min_len(TOGETHER)
            .zip(&faces)
            .filter_map(|(t, face)| {
                let own = unit(*face)?;
                Some(Triangle {
                    at: t.map(|v| single(seen(positions[v as usize]))),
                    normals: t.map(|v| {
                        let mean = unit(sums[v as usize]).filter(|n| dot(*n, own) >= SHARP);
                        single(seen(mean.unwrap_or(own)))
                    }),
                })
            })
            .collect();
        Self { triangles }
    }

    /// Draws the body in a window; `figure` is the figure's height in units, for what is near.
    pub(crate) fn shade(&self, window: &Window, figure: f64) -> Shaded {
        light::shade(&raster::raster(&self.triangles, window), window, figure)
    }
}

#[cfg(test)]
mod tests;
