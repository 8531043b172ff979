//! The rim of a mesh in a view: the edges where what faces the viewer meets what faces away, also those that other parts
//! hide. Every point of the view's outline lies on one of them.

use super::azimuth::Azimuth;
use super::cancel;
use crate::mesh::Mesh;
use crate::profile::{DistanceIndex, Outline};
use crate::space::{Point, ViewUnits};

/// An edge of the rim, walked with what is covered on its left.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RimEdge {
    /// Where it begins and ends: vertices of the mesh.
    pub ends: [u32; 2],
}

/// A place on the rim.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnRim {
    /// The edge, as an index into [`Rim::edges`].
    pub edge: usize,
    /// How far along it, 0 at its beginning to 1 at its end.
    pub along: f64,
    /// Distance of the place that was asked for, in units of the view.
    pub distance: f64,
}

/// The rim of a mesh in one view, with an index of places.
#[derive(Debug, Clone)]
pub struct Rim {
    edges: Vec<RimEdge>,
    /// Where each edge runs in the view.
    lines: Vec<[Point<ViewUnits>; 2]>,
    index: DistanceIndex<ViewUnits>,
}

impl Rim {
    /// The rim of a mesh as seen from an azimuth. Edges seen end on are left out.
    pub fn of(mesh: &Mesh, azimuth: Azimuth) -> Self {
        let seen = |v: u32| {
            let p = mesh.positions()[v as usize];
            Point::new(azimuth.view_x(p), azimuth.view_y(p))
        };
        let (mut edges, mut lines) = (Vec::new(), Vec::new());
        cancel::each_remaining(mesh, &[azimuth], |_, [a, b], times| {
            let ends = if times > 0 { [a, b] } else { [b, a] };
            let line = ends.map(seen);
            if line[0] != line[1] {
                edges.push(RimEdge { ends });
                lines.push(line);
            }
        });
        // A ring of two points has two segments: there and back.
        let rings = lines.iter().map(|l| l.to_vec()).collect();
        let index = DistanceIndex::new(&Outline { rings });
        Self { edges, lines, index }
    }

    /// The edges, in the order of their lower, then of their higher vertex.
    pub fn edges(&self) -> &[RimEdge] {
        &self.edges
    }

    /// The nearest place of the rim; `None` without a rim.
    pub fn nearest(&self, p: Point<ViewUnits>) -> Option<OnRim> {
        let mut segment = usize::MAX;
        let (at, distance) = self.index.nearest_near(p, &mut segment)?;
        let edge = segment / 2;
        let [a, b] = self.lines[edge];
        let (dx, dy) = (b.x - a.x, b.y - a.y);
        let along = ((at.x - a.x) * dx + (at.y - a.y) * dy) / (dx * dx + dy * dy);
        Some(OnRim {
            edge,
            along: along.clamp(0.0, 1.0),
            distance,
        })
    }

    /// Where an edge runs in the view.
    pub fn line(&self, edge: usize) -> [Point<ViewUnits>; 2] {
        self.lines[edge]
    }

    /// The direction that points away from what an edge bounds, of length 1.
    pub fn outward(&self, edge: usize) -> [f64; 2] {
        let [a, b] = self.lines[edge];
        let long = a.distance(b);
        [(b.y - a.y) / long, (a.x - b.x) / long]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::silhouette::Silhouette;

    fn cube() -> Mesh {
        let corners = (0..8).map(|i| [i & 1, i >> 1 & 1, i >> 2].map(|c| 2.0 * f64::from(c) - 1.0));
        let faces = [
            [0, 2, 3, 1],
            [4, 5, 7, 6],
            [0, 1, 5, 4],
            [2, 6, 7, 3],
            [0, 4, 6, 2],
            [1, 3, 7, 5],
        ];
        Mesh::from_polygons(corners.collect(), faces).unwrap()
    }

    #[test]
    fn every_place_of_an_outline_lies_on_the_rim_and_faces_outward() {
        let mesh = cube();
        for degrees in [0.0, 20.0, 90.0, 145.0] {
            let azimuth = Azimuth::from_degrees(degrees);
            let rim = Rim::of(&mesh, azimuth);
            for p in Silhouette::new(&mesh, azimuth).outline(50).rings.concat() {
                let on = rim.nearest(p).unwrap();
                assert!(on.distance < 1e-9, "{degrees}: {p:?} {on:?}");
                let [a, b] = rim.line(on.edge);
                let at = [a.x + on.along * (b.x - a.x), a.y + on.along * (b.y - a.y)];
                assert!((at[0] - p.x).hypot(at[1] - p.y) < 1e-9);
                // The middle of a cube is inside of all its edges.
                let out = rim.outward(on.edge);
                assert!(out[0] * p.x + out[1] * p.y > 0.5, "{degrees}: {p:?} {out:?}");
            }
        }
    }
}
