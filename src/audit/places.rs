//! Where faults are: neighbouring ones together, each place in words.
//!
//! Words come from the height and the side, in the trade's own terms for a standing figure; which limb a place belongs
//! to is said where limbs were found. Heights of the parts as shares of the figure's: Drillis and Contini 1966, in
//! Winter 2009.

use super::found::{Found, counted};
use super::model::Place;
use crate::mesh::adjacency::Adjacency;
use crate::mesh::shells::Sets;
use crate::mesh::vector::{Vector, mean};
use crate::mesh::{Extent, Mesh};

/// Places of a check that are listed and drawn; the rest is in the indices.
const MOST_PLACES: usize = 12;
/// Vertices that a place lists.
const MOST_LISTED: usize = 64;
/// A place within this share of the height of the plane is called the middle. Found by reasoning.
const MIDDLE: f64 = 0.012;
/// A share of the depth on either side of the middle that is neither front nor back.
const FLANK: f64 = 0.2;

/// Says where a point is.
pub(super) struct Words {
    ground: f64,
    height: f64,
    plane: f64,
    middle_z: f64,
    depth: f64,
    limbs: Vec<(Vec<Vector>, f64, String)>,
}

impl Words {
    pub(super) fn new(extent: &Extent, plane: f64) -> Self {
        let [_, height, depth] = extent.size();
        Self {
            ground: extent.min[1],
            height,
            plane,
            middle_z: f64::midpoint(extent.min[2], extent.max[2]),
            depth,
            limbs: Vec::new(),
        }
    }

    /// Adds the axis of a part, the reach around it, and what it is called.
    pub(super) fn limb(&mut self, axis: Vec<Vector>, reach: f64, name: String) {
        self.limbs.push((axis, reach, name));
    }

    /// A point in words.
    pub(super) fn of(&self, p: Vector) -> String {
        let share = if self.height > 0.0 {
            (p[1] - self.ground) / self.height
        } else {
            0.0
        };
        let along = |(axis, reach, name): &(Vec<Vector>, f64, String)| {
            let d = axis
                .iter()
                .map(|a| crate::mesh::vector::distance(*a, p))
                .fold(f64::MAX, f64::min);
            (d <= *reach).then(|| (d, name.clone()))
        };
        let nearest = self
            .limbs
            .iter()
            .filter_map(along)
            .min_by(|a, b| a.0.total_cmp(&b.0));
        let x = p[0] - self.plane;
        let side = if x.abs() <= MIDDLE * self.height {
            "middle"
        } else if x > 0.0 {
            "left side"
        } else {
            "right side"
        };
        let z = p[2] - self.middle_z;
        let depth = if z > FLANK * self.depth {
            ", front"
        } else if z < -FLANK * self.depth {
            ", back"
        } else {
            ""
        };
        match nearest {
            Some((_, name)) => format!("{name}{depth}, {:.0} % up", 100.0 * share),
            None => format!("{side}{depth}, {:.0} % up", 100.0 * share),
        }
    }
}

/// The places of a check.
pub(super) fn places(
    mesh: &Mesh,
    table: &Adjacency,
    words: &Words,
    found: &Found,
    number: &mut usize,
) -> Vec<Place> {
    let position = |v: u32| mesh.positions()[v as usize];
    let mut spots: Vec<(Vec<u32>, String)> = if found.spots.is_empty() {
        clusters(mesh, table, found)
    } else {
        found
            .spots
            .iter()
            .take(MOST_PLACES)
            .map(|s| (s.vertices.clone(), s.text.clone()))
            .collect()
    };
    spots.truncate(MOST_PLACES);
    spots
        .into_iter()
        .map(|(mut vertices, text)| {
            *number += 1;
            let at = if found.spots.is_empty() {
                mean(vertices.iter().map(|&v| position(v)))
            } else {
                // Two partners lie on both sides: the mark goes to the first.
                marked(mesh, &vertices)
            };
            vertices.truncate(MOST_LISTED);
            Place {
                number: *number,
                at,
                r#where: words.of(at),
                text,
                vertices,
            }
        })
        .collect()
}

/// The middle of a few vertices; of a pair the first.
fn marked(mesh: &Mesh, vertices: &[u32]) -> Vector {
    let position = |v: u32| mesh.positions()[v as usize];
    match vertices {
        [a, _] => position(*a),
        all => mean(all.iter().map(|&v| position(v))),
    }
}

/// Faults that hang together, largest first.
fn clusters(mesh: &Mesh, table: &Adjacency, found: &Found) -> Vec<(Vec<u32>, String)> {
    let mut faulty = vec![false; mesh.positions().len()];
    let mut sets = None;
    let mut join = |list: &[u32]| {
        let sets = sets.get_or_insert_with(|| Sets::new(mesh.positions().len()));
        for pair in list.windows(2) {
            sets.join(pair[0], pair[1]);
        }
        for &v in list {
            faulty[v as usize] = true;
        }
    };
    found.vertices.iter().for_each(|&v| join(&[v]));
    found.edges.iter().for_each(|e| join(e));
    found.faces.iter().for_each(|&f| join(mesh.face(f as usize)));
    let Some(mut sets) = sets else {
        return Vec::new();
    };
    for &[a, b] in table.edges() {
        if faulty[a as usize] && faulty[b as usize] {
            sets.join(a, b);
        }
    }
    let mut keyed: Vec<(u32, u32)> = (0..faulty.len() as u32)
        .filter(|&v| faulty[v as usize])
        .map(|v| (sets.root(v), v))
        .collect();
    keyed.sort_unstable();
    let mut out: Vec<Vec<u32>> = keyed
        .chunk_by(|a, b| a.0 == b.0)
        .map(|c| c.iter().map(|k| k.1).collect())
        .collect();
    out.sort_by_key(|c| std::cmp::Reverse(c.len()));
    out.into_iter()
        .take(MOST_PLACES)
        .map(|vertices| {
            let text = match vertices.as_slice() {
                [v] => format!("vertex {v}"),
                [a, b] => format!("vertices {a} and {b}"),
                all => format!("{}, from {}", counted(all.len(), "vertex"), all[0]),
            };
            (vertices, text)
        })
        .collect()
}
