//! What turning an arm costs at the shoulder: width, volume, and whether the loops there can carry it.
//!
//! Method: the arm is turned until it hangs and until it is raised overhead. A turned vertex keeps its distance from the
//! joint, the straight edge between two that turn by different angles does not: it cuts across. The edge's least distance
//! over what its ends would have kept between them is the width that is left, above the arm's line (shoulder) and below
//! it (armpit). Volume is the whole mesh's (divergence theorem), its change held against a diameter of the arm at the
//! joint.

use super::found::{Figure, MeshArm};
use super::pose::to_degrees;
use super::turn::{Turn, rotated, share, turned};
use crate::limbs::EdgeLoops;
use crate::mesh::Mesh;
use crate::mesh::vector::{Vector, cross, dot, mean, sub};

/// How far an arm hangs, and how far it is raised overhead, degrees below the horizontal. Common practice, no source.
pub(super) const POSES: [(&str, f64); 2] = [("hanging", 80.0), ("overhead", -80.0)];
/// Places along an edge at which its distance is taken.
const PLACES: usize = 4;
/// Loops within so many half widths of the joint, to either side, carry its turn.
const LOOPS_WITHIN: f64 = 1.25;
/// The least corners of a loop around an arm.
const LEAST_CORNERS: usize = 4;

/// What a turn costs.
#[derive(Debug, Clone, PartialEq)]
pub struct Collapse {
    /// `hanging` or `overhead`.
    pub pose: &'static str,
    /// The angle turned, degrees, down positive.
    pub turned_deg: f64,
    /// Change of volume, percent of that of one diameter of the arm at the joint; negative: lost.
    pub volume_pct: f64,
    /// Width lost above the arm's line, percent.
    pub shoulder_pct: f64,
    /// Width lost below it.
    pub armpit_pct: f64,
    /// Largest part of the turn between two vertices of one edge, degrees.
    pub step_deg: f64,
}

/// The loops around an arm at its shoulder joint; `None` where the arm is a shell of its own, which turns whole.
pub fn loops(mesh: &Mesh, figure: &Figure, arm: &MeshArm) -> Option<usize> {
    bends(mesh, figure, arm).then(|| {
        let all = EdgeLoops::of(mesh, figure.table(), figure.spokes());
        let near = |l: usize| {
            let places = all.vertices(l).iter().map(|&v| mesh.positions()[v as usize]);
            let middle = mean(places.clone());
            arm.along(middle).abs() <= LOOPS_WITHIN * arm.radius
                && arm.away(middle) <= arm.radius
                && places
                    .clone()
                    .all(|p| arm.along(p).abs() <= 2.0 * LOOPS_WITHIN * arm.radius)
                && turns_around(arm, places)
        };
        (0..all.count())
            .filter(|&l| all.closed(l) && all.vertices(l).len() >= LEAST_CORNERS && near(l))
            .count()
    })
}

/// Whether places lie on all four sides of the arm's line.
fn turns_around(arm: &MeshArm, places: impl Iterator<Item = Vector>) -> bool {
    let mut sides = [false; 4];
    for p in places {
        let (up, front) = (arm.shape.upper.off([p[0], p[1]]), p[2] - arm.shoulder[2]);
        sides[usize::from(up > 0.0) + 2 * usize::from(front > 0.0)] = true;
    }
    sides == [true; 4]
}

/// Whether any edge has ends that turn by different shares.
fn bends(mesh: &Mesh, figure: &Figure, arm: &MeshArm) -> bool {
    let of = |v: u32| share(arm, v as usize, mesh.positions()[v as usize]);
    figure.table().edges().iter().any(|&[a, b]| of(a) != of(b))
}

/// What both poses cost; empty where the arm turns whole.
pub fn collapse(mesh: &Mesh, figure: &Figure, arm: &MeshArm) -> Vec<Collapse> {
    if !bends(mesh, figure, arm) {
        return Vec::new();
    }
    let around = volume_about(mesh, arm.shoulder);
    POSES
        .iter()
        .map(|&(pose, degrees)| {
            let turn = to_degrees(arm, degrees);
            let posed = turned(mesh, &[(arm, turn)]);
            let diameter = 2.0 * std::f64::consts::PI * arm.radius.powi(3);
            let [shoulder, armpit, step] = widths(mesh, figure, arm, &turn);
            Collapse {
                pose,
                turned_deg: turn.shoulder.to_degrees() * if arm.left { -1.0 } else { 1.0 },
                volume_pct: 100.0 * (volume_about(&posed, arm.shoulder) - around) / diameter,
                shoulder_pct: 100.0 * shoulder,
                armpit_pct: 100.0 * armpit,
                step_deg: step.abs().to_degrees(),
            }
        })
        .collect()
}

/// Largest shares of width lost above and below the arm's line, and the largest step of the turn along an edge.
fn widths(mesh: &Mesh, figure: &Figure, arm: &MeshArm, turn: &Turn) -> [f64; 3] {
    let mut out = [0.0_f64; 3];
    let joint = arm.joint();
    for &[a, b] in figure.table().edges() {
        let (p, q) = (mesh.positions()[a as usize], mesh.positions()[b as usize]);
        let shares = [share(arm, a as usize, p), share(arm, b as usize, q)];
        let step = (shares[1] - shares[0]) * turn.shoulder;
        out[2] = out[2].max(step.abs());
        if step == 0.0 {
            continue;
        }
        let flat = [[p[0], p[1]], [q[0], q[1]]];
        let ends = [0, 1].map(|k| rotated(flat[k], joint, shares[k] * turn.shoulder));
        let from = |p: [f64; 2]| (p[0] - joint[0]).hypot(p[1] - joint[1]);
        for i in 1..PLACES {
            let t = i as f64 / PLACES as f64;
            let between = |e: [[f64; 2]; 2]| {
                [
                    e[0][0] + t * (e[1][0] - e[0][0]),
                    e[0][1] + t * (e[1][1] - e[0][1]),
                ]
            };
            let modelled = between(flat);
            // At the joint itself there is no width to lose.
            if from(modelled) < 0.5 * arm.radius {
                continue;
            }
            let lost = 1.0 - from(between(ends)) / from(modelled);
            let above = (arm.shape.upper.off(modelled) > 0.0) == arm.left;
            let k = usize::from(!above);
            out[k] = out[k].max(lost);
        }
    }
    out
}

/// Signed volume, about a place near the figure so that no digits are lost.
fn volume_about(mesh: &Mesh, about: Vector) -> f64 {
    mesh.triangles()
        .map(|t| {
            let [a, b, c] = t.map(|v| sub(mesh.positions()[v as usize], about));
            dot(a, cross(b, c)) / 6.0
        })
        .sum()
}
