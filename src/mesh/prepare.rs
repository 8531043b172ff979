//! Everything that is done to a mesh before it is measured, in its one order.

use super::mirror::mirror;
use super::plane::{Noted, leave_out_drawing_planes};
use super::select::{Choice, choose};
use super::usable::check_usable;
use super::{Axes, Mesh, axes};
use crate::Result;

/// How to prepare a mesh.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Preparation {
    /// Which way the mesh stands and looks in its file.
    pub axes: Axes,
    /// Which groups count.
    pub choice: Choice,
    /// The mesh is one half of the model.
    pub mirror: bool,
}

/// Chooses groups, turns the mesh to y up, leaves out drawing planes, mirrors, and checks that there is
/// something to measure. Vertices of the file keep their numbers.
///
/// Drawing planes are looked for only where no groups are named to be kept: who names groups, names what counts.
///
/// # Errors
/// As [`choose`], [`mirror`] and [`check_usable`].
pub fn prepare(mesh: Mesh, preparation: &Preparation) -> Result<Noted> {
    let mesh = axes::turn_upright(choose(mesh, &preparation.choice)?, preparation.axes);
    let mut noted = if preparation.choice.groups.is_empty() {
        leave_out_drawing_planes(mesh)
    } else {
        Noted {
            mesh,
            notes: Vec::new(),
        }
    };
    if preparation.mirror {
        let whole = mirror(noted.mesh)?;
        noted.mesh = whole.mesh;
        noted.notes.extend(whole.notes);
    }
    check_usable(&noted.mesh)?;
    Ok(noted)
}
