//! The arms of a drawn front or back view.

use super::line::Flat;
use super::shape::{Shape, trace};
use crate::anatomy::{Anatomy, Side};
use crate::profile::Outline;
use crate::space::{Point, ViewUnits};

/// The drawn arms in the mesh's frontal plane, the character's left one first; `None` where the outline shows none.
/// `from_behind`: the view is a back view, whose x runs the other way.
pub fn drawn(outline: &Outline<ViewUnits>, anatomy: &Anatomy, from_behind: bool) -> [Option<Shape>; 2] {
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
        let arm = anatomy.arms.iter().find(|a| a.side == seen(left))?;
        let sign = if from_behind { -1.0 } else { 1.0 };
        let way: Vec<Flat> = arm.axis.iter().map(|s| [sign * s.at.x, s.at.y]).collect();
        trace(outline, &way)
    })
}
