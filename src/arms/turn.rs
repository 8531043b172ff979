//! Turning arms about their joints, in the frontal plane.
//!
//! Every vertex turns about the joint by its own share of the angle; the shares rise along the upper arm from none to
//! all over one diameter about the armpit's section. Turns are weighed, not matrices: a blend of two
//! matrices shrinks the radius to the cosine of half of the angle, 0.71 at 90 degrees. A share that depends only on the
//! place along the arm changes volume by its slope times the height above the joint, so what the upper half of a section
//! gains the lower half loses: sections that are symmetric about the arm's line keep their volume. What lies farther
//! from the line than two radii, ribs and neck, does not turn.
//!
//! Limits: at the armpit the surface goes into itself, as the flesh of an arm that hangs lies against the ribs.

use super::found::MeshArm;
use super::line::Flat;
use super::shoulder::AROUND;
use crate::mesh::Mesh;
use crate::mesh::vector::Vector;

/// Up to so many half widths from the arm's line everything turns with it; up to [`AROUND`] less and less.
const WITH_ARM: f64 = 1.05;

/// The shares rise between so many half widths inside and outside the armpit's section, over one diameter: most of it on the
/// arm, whose sections are symmetric. Found by trial on capsule bodies in T- and A-pose.
const FALLOFF: [f64; 2] = [-0.5, 1.5];

/// What lies so many half widths on the trunk's side of the armpit does not turn, so many on the arm's side it does.
const SIDES: f64 = 0.35;
/// Arms that point straight up have no armpit that opens.
const LEAST_OPENING: f64 = 0.1;

/// A turn of an arm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turn {
    /// About the shoulder, radians, counter-clockwise as seen from the front.
    pub shoulder: f64,
    /// About the elbow, before the turn about the shoulder: the joint as modelled, and the angle on top of the
    /// shoulder's.
    pub elbow: Option<(Flat, f64)>,
}

impl Turn {
    /// Where a place of the arm goes that takes the whole turn about the shoulder, and the elbow's if it lies behind it.
    pub fn of(&self, arm: &MeshArm, place: Flat) -> Flat {
        let mut p = place;
        if let Some((elbow, angle)) = self.elbow
            && arm.shape.upper.s(p) > arm.shape.upper.s(elbow)
        {
            p = rotated(p, elbow, angle);
        }
        rotated(p, arm.joint(), self.shoulder)
    }
}

/// A place turned about another one, counter-clockwise.
pub fn rotated(p: Flat, about: Flat, angle: f64) -> Flat {
    let (sin, cos) = angle.sin_cos();
    let (x, y) = (p[0] - about[0], p[1] - about[1]);
    [about[0] + cos * x - sin * y, about[1] + sin * x + cos * y]
}

/// From 0 at 0 to 1 at 1 with level ends (the quintic of Perlin 2002, whose curvature has no jump either).
fn step(t: f64) -> f64 {
    let t = t.clamp(0.0, 1.0);
    t * t * t * (t * (6.0 * t - 15.0) + 10.0)
}

/// The share of the shoulder's turn that a vertex takes.
pub fn share(arm: &MeshArm, vertex: usize, p: Vector) -> f64 {
    if !arm.members[vertex] {
        return 0.0;
    }
    if arm.whole[vertex] {
        return 1.0;
    }
    let r = arm.radius;
    let s = arm.along(p);
    let around = 1.0 - step((arm.away(p) / r - WITH_ARM) / (AROUND - WITH_ARM));
    // Farther out the arm is all that is there, however thick.
    let out = step(s / (2.0 * r));
    // Where the arm hangs somewhat its sections are whole only from the armpit outwards.
    let whole = s - arm
        .along([arm.armpit[0], arm.armpit[1], p[2]])
        .clamp(0.0, 2.0 * r);
    let along = step((whole / r - FALLOFF[0]) / (FALLOFF[1] - FALLOFF[0]));
    along * (around + (1.0 - around) * out) * step((beyond(arm, p) / r + SIDES) / (2.0 * SIDES))
}

/// How far a place lies on the arm's side of the plane through the armpit that halves the angle between the arm and the
/// trunk's side below it.
fn beyond(arm: &MeshArm, p: Vector) -> f64 {
    let along = arm.shape.upper.along;
    // Between the arm and straight down; the arm's side of it is where the arm points.
    let half = [along[0], along[1] - 1.0];
    let long = half[0].hypot(half[1]);
    if long < LEAST_OPENING {
        return f64::INFINITY;
    }
    let square = [-half[1] / long, half[0] / long];
    let sign = if square[0] * along[0] + square[1] * along[1] < 0.0 {
        -1.0
    } else {
        1.0
    };
    sign * ((p[0] - arm.armpit[0]) * square[0] + (p[1] - arm.armpit[1]) * square[1])
}

impl MeshArm {
    /// Whether a place lies clear on the arm's side of the armpit.
    pub(super) fn is_beyond(&self, p: Vector) -> bool {
        beyond(self, p) > SIDES * self.radius
    }
}

/// The angle by which a vertex at a place of the arm as modelled turns in all.
pub fn angle(arm: &MeshArm, turn: &Turn, vertex: usize, p: Vector) -> f64 {
    if !arm.members[vertex] {
        return 0.0;
    }
    share(arm, vertex, p) * turn.shoulder + turn.elbow.map_or(0.0, |e| at_elbow(arm, e, [p[0], p[1]]))
}

/// The part of the elbow's turn that a place takes.
fn at_elbow(arm: &MeshArm, (elbow, angle): (Flat, f64), flat: Flat) -> f64 {
    let s = arm.shape.upper.s(flat) - arm.shape.upper.s(elbow);
    let r = 0.8 * arm.radius;
    angle * step((s + r) / (2.0 * r))
}

/// The mesh with its arms turned.
///
/// # Panics
/// If an arm is not one of this mesh.
pub fn turned(mesh: &Mesh, arms: &[(&MeshArm, Turn)]) -> Mesh {
    let mut positions = mesh.positions().to_vec();
    for (arm, turn) in arms {
        assert_eq!(arm.members.len(), positions.len(), "an arm of another mesh");
        for (v, p) in positions.iter_mut().enumerate() {
            if !arm.members[v] {
                continue;
            }
            let share = share(arm, v, *p);
            let mut flat = [p[0], p[1]];
            if let Some(elbow) = turn.elbow {
                flat = rotated(flat, elbow.0, at_elbow(arm, elbow, flat));
            }
            let [x, y] = rotated(flat, arm.joint(), share * turn.shoulder);
            (p[0], p[1]) = (x, y);
        }
    }
    mesh.moved(positions)
}
