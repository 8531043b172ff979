//! Where faults are: neighbouring ones together, each place in words.
//!
//! Words come from the height and the side, in the trade's own terms for a standing figure; which limb a place belongs
//! to is said where limbs were found. Heights of the parts as shares of the figure's: Drillis and Contini 1966, in
//! Winter 2009.

use super::found::{Found, counted};
use super::model::{Place, Side};
use crate::limbs::{Kind, Limb};
use crate::mesh::adjacency::Adjacency;
use crate::mesh::vector::{Vector, distance, mean};
use crate::mesh::{Extent, Mesh};
use crate::sets::Sets;

/// Places of a check that are listed and drawn; the rest is in the indices.
const MOST_PLACES: usize = 12;
/// Vertices that a place lists.
const MOST_LISTED: usize = 64;
/// How far from a limb's axis, in its radii, a place is still on it. Found by reasoning.
const REACH: f64 = 1.6;
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
    /// Place, reach and name.
    limbs: Vec<(Vector, f64, String)>,
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

    /// Adds a limb: places nearer to its axis than [`REACH`] of its radius are said to be on it, in its upper, middle or
    /// lower part.
    pub(super) fn limb(&mut self, limb: &Limb, side: Side, ground: f64) {
        let lengths = limb.lengths();
        let whole = lengths.last().copied().unwrap_or(0.0);
        for (station, length) in limb.axis.iter().zip(&lengths) {
            let share = length / whole.max(f64::MIN_POSITIVE);
            // Shares of the limb: Drillis and Contini 1966; a leg is said by its height.
            let part = match limb.kind {
                Kind::Arm if share < 0.42 => "upper arm",
                Kind::Arm if share < 0.75 => "forearm",
                Kind::Arm => "hand",
                Kind::Leg => match (station.at[1] - ground) / (limb.axis[0].at[1] - ground) {
                    y if y > 0.59 => "thigh",
                    y if y > 0.1 => "lower leg",
                    _ => "foot",
                },
                Kind::Head => "head or neck",
            };
            let name = match side {
                _ if limb.kind == Kind::Head => part.to_string(),
                side => format!("{} {part}", side.word()),
            };
            self.limbs.push((station.at, REACH * station.radius, name));
        }
    }

    /// A point in words.
    pub(super) fn of(&self, p: Vector) -> String {
        let share = if self.height > 0.0 {
            (p[1] - self.ground) / self.height
        } else {
            0.0
        };
        let nearest = self
            .limbs
            .iter()
            .map(|(at, reach, name)| (distance(*at, p) / reach, name))
            .filter(|(share, _)| *share <= 1.0)
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
    let mut spots: Vec<(Vec<u32>, String, Option<Vector>)> = if found.spots.is_empty() {
        let clusters = clusters(mesh, table, found);
        clusters
            .into_iter()
            .map(|(vertices, text)| (vertices, text, None))
            .collect()
    } else {
        found
            .spots
            .iter()
            .take(MOST_PLACES)
            .map(|s| (s.vertices.clone(), s.text.clone(), s.at))
            .collect()
    };
    spots.truncate(MOST_PLACES);
    spots
        .into_iter()
        .map(|(mut vertices, text, at)| {
            *number += 1;
            let at = if let Some(at) = at {
                at
            } else if found.spots.is_empty() {
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
