//! Form between the views: slices across trunk and limbs, against the ellipse of the same width and depth.
//!
//! Method: the plane cuts each face in segments that are chained over the edges they end on; the largest closed ring
//! counts. Its area over that of the ellipse is 4/π for a box, 2/π for a diamond, 1 for an ellipse: two outlines cannot
//! tell them apart. Information, not failure.
//!
//! Limits: of overlapping shells the largest ring stands for the part.

use std::collections::HashMap;

use rayon::prelude::*;

use super::found::Found;
use super::joints::side;
use super::model::{Section, Side};
use crate::limbs::{Kind, Limbs};
use crate::mesh::adjacency::Adjacency;
use crate::mesh::vector::{Vector, add_scaled, cross, distance, dot, mean, norm, sub, unit};
use crate::mesh::{Extent, Mesh};

/// Slices of a limb and of the trunk.
const SLICES: usize = 6;
/// From here on a slice is boxy: halfway between an ellipse and a box, 4/π.
const BOXY: f64 = 1.137;
/// Up to here it is pinched: halfway between an ellipse and a diamond, 2/π.
const PINCHED: f64 = 0.818;
/// Points of a drawn outline at most.
const MOST_POINTS: usize = 96;

/// A slice to make.
struct Cut {
    part: &'static str,
    side: Side,
    at: Vector,
    along: Vector,
    /// Index of the limb that may be cut; nothing: all but arms.
    limb: Option<u8>,
}

/// Slices across the trunk and all limbs.
pub(super) fn sections(mesh: &Mesh, table: &Adjacency, limbs: &Limbs, extent: &Extent) -> Vec<Section> {
    let mut cuts = Vec::new();
    let start = |kind: Kind| {
        limbs
            .limbs
            .iter()
            .find(|l| l.kind == kind)
            .map(|l| l.axis[0].at[1])
    };
    let height = extent.size()[1];
    // From the crotch to the shoulders; where one of them is missing, from the shares that bodies have on the mean.
    let low = start(Kind::Leg).unwrap_or(extent.min[1] + 0.481 * height);
    let high = start(Kind::Head)
        .or(start(Kind::Arm))
        .unwrap_or(extent.min[1] + 0.818 * height);
    let middle = [0, 2].map(|k| f64::midpoint(extent.min[k], extent.max[k]));
    for i in 0..SLICES {
        let share = (i as f64 + 0.75) / (SLICES as f64 + 0.5);
        cuts.push(Cut {
            part: "trunk",
            side: Side::Middle,
            at: [middle[0], low + share * (high - low), middle[1]],
            along: [0.0, 1.0, 0.0],
            limb: None,
        });
    }
    for (index, limb) in limbs.limbs.iter().enumerate() {
        for i in 0..SLICES {
            // Neither the root nor the tip: they are no tubes.
            let station = (limb.axis.len() - 1) * (i + 1) / (SLICES + 2);
            cuts.push(Cut {
                part: match limb.kind {
                    Kind::Arm => "arm",
                    Kind::Leg => "leg",
                    Kind::Head => "head",
                },
                side: if limb.kind == Kind::Head {
                    Side::Middle
                } else {
                    side(limbs, index)
                },
                at: limb.axis[station].at,
                along: limb.direction(station),
                limb: Some(index as u8),
            });
        }
    }
    let arm = |l: u8| {
        limbs
            .limbs
            .get(usize::from(l))
            .is_some_and(|l| l.kind == Kind::Arm)
    };
    let balls = Ball::around_faces(mesh);
    cuts.par_iter()
        .filter_map(|cut| {
            let wanted = |v: u32| match cut.limb {
                Some(l) => limbs.of_vertex[v as usize] == l,
                None => !arm(limbs.of_vertex[v as usize]),
            };
            section(mesh, table, &balls, cut, wanted)
        })
        .collect()
}

/// A ball around a face, so that most faces are known to be off a plane without a look at their corners.
#[derive(Clone, Copy)]
struct Ball {
    middle: [f32; 3],
    radius: f32,
}

impl Ball {
    fn around_faces(mesh: &Mesh) -> Vec<Self> {
        (0..mesh.face_count())
            .into_par_iter()
            .with_min_len(1 << 10)
            .map(|f| {
                let points = || mesh.face(f).iter().map(|&v| mesh.positions()[v as usize]);
                let middle = mean(points());
                let radius = points().map(|p| distance(p, middle)).fold(0.0, f64::max);
                // Two roundings to single precision of what is not nearer to the origin than this.
                let slack = f64::from(f32::EPSILON) * (4.0 * (norm(middle) + radius));
                Self {
                    middle: middle.map(|c| c as f32),
                    radius: (radius + slack) as f32,
                }
            })
            .collect()
    }

    fn may_cross(&self, at: Vector, along: Vector) -> bool {
        dot(sub(self.middle.map(f64::from), at), along).abs() <= f64::from(self.radius)
    }
}

fn section(
    mesh: &Mesh,
    table: &Adjacency,
    balls: &[Ball],
    cut: &Cut,
    wanted: impl Fn(u32) -> bool,
) -> Option<Section> {
    // Depth is what the side view shows, width what the front view shows.
    let toward = [0.0, 0.0, 1.0];
    let depth_axis = unit(add_scaled(toward, -dot(toward, cut.along), cut.along))?;
    let width_axis = cross(depth_axis, cut.along);
    let rings = rings(mesh, table, balls, cut, wanted);
    let flat = |ring: &Vec<Vector>| -> Vec<[f64; 2]> {
        ring.iter()
            .map(|p| {
                let d = sub(*p, cut.at);
                [dot(d, width_axis), dot(d, depth_axis)]
            })
            .collect()
    };
    let outline = rings
        .iter()
        .map(flat)
        .max_by(|a, b| area(a).total_cmp(&area(b)))?;
    let (mut low, mut high) = ([f64::MAX; 2], [f64::MIN; 2]);
    for p in &outline {
        for k in 0..2 {
            low[k] = low[k].min(p[k]);
            high[k] = high[k].max(p[k]);
        }
    }
    let [width, depth] = [high[0] - low[0], high[1] - low[1]];
    let ellipse = std::f64::consts::FRAC_PI_4 * width * depth;
    let roundness = area(&outline) / ellipse;
    if !roundness.is_finite() {
        return None;
    }
    let step = outline.len().div_ceil(MOST_POINTS);
    Some(Section {
        part: cut.part,
        side: cut.side,
        at: cut.at,
        along: cut.along,
        width,
        depth,
        roundness,
        form: form(roundness),
        outline: vec![outline.into_iter().step_by(step).collect()],
    })
}

pub(super) fn form(roundness: f64) -> &'static str {
    if roundness >= BOXY {
        "boxy"
    } else if roundness <= PINCHED {
        "pinched"
    } else {
        "round"
    }
}

/// Area of a closed ring, without its sign.
pub(super) fn area(ring: &[[f64; 2]]) -> f64 {
    let twice: f64 = (0..ring.len())
        .map(|i| {
            let (p, q) = (ring[i], ring[(i + 1) % ring.len()]);
            p[0] * q[1] - q[0] * p[1]
        })
        .sum();
    twice.abs() / 2.0
}

/// The closed rings in which a plane cuts the wanted part.
fn rings(
    mesh: &Mesh,
    table: &Adjacency,
    balls: &[Ball],
    cut: &Cut,
    wanted: impl Fn(u32) -> bool,
) -> Vec<Vec<Vector>> {
    let height = |v: u32| dot(sub(mesh.positions()[v as usize], cut.at), cut.along);
    let mut ends: HashMap<u32, Vec<u32>> = HashMap::new();
    let mut order: Vec<u32> = Vec::new();
    for (f, ball) in balls.iter().enumerate() {
        if !ball.may_cross(cut.at, cut.along) {
            continue;
        }
        let face = mesh.face(f);
        let above = height(face[0]) > 0.0;
        if face[1..].iter().all(|&v| (height(v) > 0.0) == above) || !face.iter().any(|&v| wanted(v)) {
            continue;
        }
        let start = mesh.starts()[f] as usize;
        let crossed: Vec<u32> = (0..face.len())
            .filter(|&i| (height(face[i]) > 0.0) != (height(face[(i + 1) % face.len()]) > 0.0))
            .map(|i| table.edge_of(start + i))
            .collect();
        for pair in crossed.chunks_exact(2) {
            for (a, b) in [(pair[0], pair[1]), (pair[1], pair[0])] {
                let at = ends.entry(a).or_default();
                if at.is_empty() {
                    order.push(a);
                }
                at.push(b);
            }
        }
    }
    let point = |e: u32| {
        let [a, b] = table.edges()[e as usize];
        let (ha, hb) = (height(a), height(b));
        let (p, q) = (mesh.positions()[a as usize], mesh.positions()[b as usize]);
        add_scaled(p, ha / (ha - hb), sub(q, p))
    };
    let mut done: HashMap<u32, bool> = HashMap::new();
    let mut out = Vec::new();
    for &first in &order {
        if done.contains_key(&first) {
            continue;
        }
        let (mut ring, mut last, mut at) = (vec![first], crate::mesh::adjacency::NONE, first);
        let closed = loop {
            done.insert(at, true);
            let Some(&next) = ends[&at]
                .iter()
                .find(|&&e| e != last && (e == first || !done.contains_key(&e)))
            else {
                break false;
            };
            if next == first {
                break ring.len() > 2;
            }
            ring.push(next);
            (last, at) = (at, next);
        };
        if closed {
            out.push(ring.into_iter().map(point).collect());
        }
    }
    out
}

/// The sections in one sentence.
pub(super) fn found(sections: &[Section]) -> Found {
    if sections.is_empty() {
        return Found::nothing("not judged: no closed slice was found");
    }
    let count = |form: &str| sections.iter().filter(|s| s.form == form).count();
    Found::nothing(format!(
        "{} slices: {} boxy, {} pinched, {} round",
        sections.len(),
        count("boxy"),
        count("pinched"),
        count("round")
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A box fills 4/π of its ellipse, a diamond 2/π.
    #[test]
    fn box_and_diamond() {
        let ellipse = std::f64::consts::PI;
        let square = area(&[[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]) / ellipse;
        let diamond = area(&[[0.0, -1.0], [1.0, 0.0], [0.0, 1.0], [-1.0, 0.0]]) / ellipse;
        assert!((square - 2.0 * std::f64::consts::FRAC_2_PI).abs() < 1e-12);
        assert!((diamond - std::f64::consts::FRAC_2_PI).abs() < 1e-12);
        assert_eq!([square, 1.0, diamond].map(form), ["boxy", "round", "pinched"]);
    }
}
