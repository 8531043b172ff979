//! The arms of a drawn front or back view.
//!
//! An arm that stands off the body is traced by its middle line, see [`super::shape`]. Of one that lies on the body only the
//! outer edge is seen: the line about the mesh's joint is looked for beside which the drawn outer edge runs as the mesh's
//! own does.
//!
//! Limits: beside the body the drawn arm is taken to be as thick as the mesh's, and straight; a hand in front of a thigh
//! is not seen at all.

use super::found::MeshArm;
use super::line::{Flat, Line, fit};
use super::shape::{Shape, Slice, Traced, traced};
use crate::anatomy::{Anatomy, Side};
use crate::profile::{Across, Outline};
use crate::space::{Point, ViewUnits};

/// A traced arm is at least this share of the mesh's long, or only its hand stands off the body.
const LEAST_LENGTH: f64 = 0.5;
/// A traced arm whose middles lie off its lines by more than this share of its length (root of the mean square) is no
/// arm: a hand is true to a third of it.
const ROUGH: f64 = 0.006;
/// Angles and bends that ways are tried with, degrees, and where they bend.
const TRIED: [f64; 6] = [5.0, 20.0, 35.0, 50.0, 65.0, 80.0];
const BENDS: [f64; 4] = [0.0, 20.0, 40.0, 65.0];
const BENDS_AT: f64 = 0.43;
/// A traced upper arm passes the mesh's joint within so many half widths of the mesh's arm.
const HOME: f64 = 1.5;
/// Angles below the horizontal that are tried, degrees, and the step.
const HANGING: [f64; 2] = [20.0, 95.0];
const ANGLE_STEP: f64 = 0.75;
/// Shares of the mesh's length between which outer edges are compared, and at how many places.
const COMPARED: [f64; 2] = [0.15, 0.8];
const PLACES: usize = 60;
/// The drawn edge is the arm's where it lies within this part of the half width from the mesh's.
const NEAR: f64 = 0.35;
/// That many of the places must be so.
const LEAST_NEAR: f64 = 0.7;
/// The arm ends between these shares of the mesh's length.
const ENDS: [f64; 2] = [0.5, 1.6];

/// The drawn arms in the mesh's frontal plane, the character's left one first; `None` where the outline shows none.
/// `from_behind`: the view is a back view, whose x runs the other way. `mesh` are the mesh's arms.
pub fn drawn(
    outline: &Outline<ViewUnits>,
    anatomy: &Anatomy,
    from_behind: bool,
    mesh: &[MeshArm],
) -> [Option<Shape>; 2] {
    let mirrored;
    let outline = if from_behind {
        mirrored = Outline {
            rings: outline
                .rings
                .iter()
                .map(|r| r.iter().rev().map(|p| Point::new(-p.x, p.y)).collect())
                .collect(),
        };
        &mirrored
    } else {
        outline
    };
    // From the front the character's left is on the right.
    let seen = |left: bool| {
        if left == from_behind {
            Side::Left
        } else {
            Side::Right
        }
    };
    [true, false].map(|left| {
        let own = mesh.iter().find(|a| a.left == left);
        let traced = anatomy
            .arms
            .iter()
            .find(|a| a.side == seen(left))
            .and_then(|arm| {
                let sign = if from_behind { -1.0 } else { 1.0 };
                // What an outline shows of an arm may begin at the elbow only; the shoulder is about where the mesh has it.
                let mut way: Vec<Flat> = own.map(MeshArm::joint).into_iter().collect();
                way.extend(arm.axis.iter().map(|s| [sign * s.at.x, s.at.y]));
                traced(outline, &way)
            });
        let long_enough =
            |t: &Traced| own.is_none_or(|a| t.shape.length(a.joint()) >= LEAST_LENGTH * a.length());
        let smooth = |t: &Traced| own.is_none_or(|a| t.left <= ROUGH * a.length());
        let traced = traced.filter(long_enough);
        if traced.as_ref().is_some_and(smooth) {
            return traced.map(|t| t.shape);
        }
        // The outline's own parts led nowhere, or to what is no line: ways from the mesh's joint.
        let Some(arm) = own else {
            return traced.map(|t| t.shape);
        };
        let best = traced
            .into_iter()
            .chain(ways(arm).iter().filter_map(|w| self::traced(outline, w)))
            .filter(|t| long_enough(t) && is_at_home(arm, &t.shape))
            .min_by(|a, b| a.left.total_cmp(&b.left));
        match best {
            Some(t) if smooth(&t) => Some(t.shape),
            best => by_outer_edge(outline, arm).or(best.map(|t| t.shape)),
        }
    })
}

/// Rough ways from the mesh's joint.
fn ways(arm: &MeshArm) -> Vec<Vec<Flat>> {
    let side = if arm.left { 1.0 } else { -1.0 };
    let step = |from: Flat, degrees: f64, length: f64| -> Flat {
        let (sin, cos) = degrees.to_radians().sin_cos();
        [from[0] + side * cos * length, from[1] - sin * length]
    };
    let long = arm.length();
    let mut out = Vec::new();
    for angle in TRIED {
        for bend in BENDS {
            let elbow = step(arm.joint(), angle, BENDS_AT * long);
            let end = step(elbow, angle + bend, (0.95 - BENDS_AT) * long);
            let middle = |a: Flat, b: Flat| [f64::midpoint(a[0], b[0]), f64::midpoint(a[1], b[1])];
            out.push(vec![
                arm.joint(),
                middle(arm.joint(), elbow),
                elbow,
                middle(elbow, end),
                end,
            ]);
        }
    }
    out
}

/// Whether a traced arm hangs at the mesh's joint.
fn is_at_home(arm: &MeshArm, shape: &Shape) -> bool {
    shape.upper.off(arm.joint()).abs() <= HOME * arm.radius
        && shape.upper.along[0] * if arm.left { 1.0 } else { -1.0 } > -0.1
}

/// Distance of the outer edge of an arm's line.
fn outer(left: bool, slice: [f64; 2]) -> f64 {
    if left { slice[1] } else { -slice[0] }
}

/// The mesh's outer edge at some places along its upper arm: how far from the joint, how far from the line.
fn mesh_edge(arm: &MeshArm) -> Vec<(f64, f64)> {
    let begin = arm.shape.upper.s(arm.joint());
    let long = arm.length();
    let slices = &arm.shape.slices;
    (0..PLACES)
        .filter_map(|k| {
            let s = long * (COMPARED[0] + (COMPARED[1] - COMPARED[0]) * k as f64 / (PLACES - 1) as f64);
            let at = slices.partition_point(|c| c.s < begin + s);
            let c: &Slice = slices.get(at)?;
            Some((s, outer(arm.left, [c.low, c.high])))
        })
        .collect()
}

/// A straight arm of which only the outer edge is seen.
fn by_outer_edge(outline: &Outline<ViewUnits>, arm: &MeshArm) -> Option<Shape> {
    if arm.shape.fore.is_some() {
        return None;
    }
    let edge = mesh_edge(arm);
    let long = arm.length();
    // The drawn outer edges beside a line, each held against the mesh's.
    let beside = |line: &Line| -> Vec<(f64, f64, f64)> {
        let across = Across::new(outline, line.at, line.along, 0.0..=long);
        edge.iter()
            .filter_map(|&(s, wanted)| {
                across
                    .spans(s)
                    .iter()
                    .map(|t| outer(arm.left, [t.x0, t.x1]))
                    .min_by(|a, b| (a - wanted).abs().total_cmp(&(b - wanted).abs()))
                    .map(|drawn| (s, drawn, wanted))
            })
            .collect()
    };
    let near = |all: &[(f64, f64, f64)]| -> Vec<(f64, f64, f64)> {
        let close = |p: &&(f64, f64, f64)| (p.1 - p.2).abs() < NEAR * arm.radius;
        all.iter().filter(close).copied().collect()
    };
    let at_angle = |degrees: f64| {
        let (sin, cos) = degrees.to_radians().sin_cos();
        let side = if arm.left { 1.0 } else { -1.0 };
        Line {
            at: arm.joint(),
            along: [side * cos, -sin],
        }
    };
    let steps = ((HANGING[1] - HANGING[0]) / ANGLE_STEP) as usize;
    let cost = |line: &Line| -> f64 {
        let all = beside(line);
        let off: f64 = all
            .iter()
            .map(|p| ((p.1 - p.2).abs() / (NEAR * arm.radius)).min(1.0))
            .sum();
        (off + (edge.len() - all.len()) as f64) / edge.len() as f64
    };
    let mut line = (0..=steps)
        .map(|k| at_angle(HANGING[0] + ANGLE_STEP * k as f64))
        .min_by(|a, b| cost(a).total_cmp(&cost(b)))?;
    // The middles that belong to the edges; the shoulder may be drawn a little elsewhere.
    for _ in 0..4 {
        let kept = near(&beside(&line));
        if (kept.len() as f64) < LEAST_NEAR * edge.len() as f64 {
            return None;
        }
        let sign = if arm.left { 1.0 } else { -1.0 };
        let middles: Vec<Flat> = kept
            .iter()
            .map(|(s, drawn, wanted)| line.place(*s, sign * (drawn - wanted)))
            .collect();
        line = fit(&middles)?.0.beginning_at(arm.joint());
    }
    // The arm ends where its line leaves the figure.
    let across = Across::new(outline, line.at, line.along, 0.0..=ENDS[1] * long);
    let inside = |s: f64| across.spans(s).iter().any(|t| t.x0 <= 0.0 && t.x1 >= 0.0);
    let step = long / 400.0;
    let count = ((ENDS[1] - ENDS[0]) * long / step) as usize;
    let end = (0..count)
        .map(|k| ENDS[0] * long + step * k as f64)
        .find(|s| !inside(*s))?;
    (end > ENDS[0] * long).then(|| Shape {
        upper: line,
        fore: None,
        tip: line.place(end - step / 2.0, 0.0),
        slices: Vec::new(),
        fore_slices: Vec::new(),
    })
}
