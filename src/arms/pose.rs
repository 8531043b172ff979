//! Both arms of a mesh turned to an angle, without a drawing.

use super::found::{Figure, MeshArm, Told, find};
use super::line::Flat;
use super::shape::{Shape, turn};
use super::turn::{Turn, turned};
use crate::error::{Error, Result};
use crate::mesh::Mesh;

/// Share of an arm's length at which the elbow lies on the mean (Drillis and Contini 1966, in Winter 2009).
const ELBOW: f64 = 0.423;

/// A mesh whose arms were turned.
#[derive(Debug, Clone)]
pub struct Posed {
    /// The same vertices, faces and groups; only positions differ.
    pub mesh: Mesh,
    /// The arms as they were modelled, and how each was turned.
    pub arms: Vec<(MeshArm, Turn)>,
}

/// The turn after which an upper arm points so far below the horizontal, degrees; the elbow keeps its bend.
pub fn to_degrees(arm: &MeshArm, degrees: f64) -> Turn {
    let down = -degrees.to_radians();
    let heading = if arm.left {
        down
    } else {
        std::f64::consts::PI - down
    };
    Turn {
        shoulder: turn(heading - arm.shape.upper.heading()),
        elbow: None,
    }
}

/// The turn that lays an arm onto a drawn one; `other`: the one of the other side.
pub fn onto(arm: &MeshArm, drawn: &Shape, other: bool) -> Turn {
    let sign = if other { -1.0 } else { 1.0 };
    let heading = |h: f64| if other { std::f64::consts::PI - h } else { h };
    let shoulder = turn(heading(drawn.upper.heading()) - arm.shape.upper.heading());
    let bend = |s: &Shape| s.fore.map_or(0.0, |f| turn(f.heading() - s.upper.heading()));
    let more = turn(sign * bend(drawn) - bend(&arm.shape));
    let straight = drawn.fore.is_none() && arm.shape.fore.is_none();
    Turn {
        shoulder,
        elbow: (!straight).then(|| (elbow(arm, drawn), more)),
    }
}

/// The mesh's own elbow, or where the drawn one lies, in shares of the arm.
fn elbow(arm: &MeshArm, drawn: &Shape) -> Flat {
    arm.elbow().unwrap_or_else(|| {
        let line = arm.shape.upper.beginning_at(arm.joint());
        let share = drawn.elbow().map_or(ELBOW, |e| {
            let whole = drawn.length(arm.joint());
            1.0 - drawn.last().beginning_at(e).s(drawn.tip) / whole
        });
        line.place(share * arm.length(), 0.0)
    })
}

/// Turns both upper arms of a mesh that stands upright, y up and facing +z, until they point so far below the
/// horizontal, degrees.
///
/// # Errors
/// No arm is found.
pub fn pose(mesh: &Mesh, degrees: f64, told: &[Told; 2]) -> Result<Posed> {
    let found = Figure::new(mesh, None)
        .map(|figure| find(mesh, &figure, told))
        .unwrap_or_default();
    if found.is_empty() {
        return Err(Error::new("no arm is found in the mesh").advise(
            "name joints and vertices under [[arm]] in a setup file, or see whether the figure stands y up",
        ));
    }
    let turns: Vec<Turn> = found.iter().map(|a| to_degrees(a, degrees)).collect();
    let all: Vec<(&MeshArm, Turn)> = found.iter().zip(turns.iter().copied()).collect();
    let mesh = turned(mesh, &all);
    Ok(Posed {
        mesh,
        arms: found.into_iter().zip(turns).collect(),
    })
}
