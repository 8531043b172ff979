//! How a mesh stands and looks in its file, found with the drawing, and where the drawing lies on it.
//!
//! Method: the mesh is placed as it usually stands, y up and facing +z. If enough of its outline then lies on the
//! drawing and the drawing itself does not contradict, nothing else is tried. Otherwise it is placed standing and looking
//! otherwise, and what fits distinctly better is taken. A figure and the same figure turned about have mirrored
//! silhouettes: there the feet of a drawn side view decide, which point forward. Where two readings fit equally well,
//! the person is asked.
//!
//! Limits: a half model can be turned by these rules only about its own mirror plane, so one that faces along x needs
//! `--facing`; a sheet of front views only cannot tell a figure from itself turned about, and the usual way is taken.

use std::borrow::Cow;

use rayon::prelude::*;

use crate::error::{Error, Result};
use crate::mesh::axes::{Axes, Heading, turn_upright};
use crate::mesh::plane::leave_out_drawing_planes;
use crate::mesh::stray::stray;
use crate::mesh::{Mesh, UpAxis};
use crate::place::assign::{Candidate, DISTINCT, Given, OUTLINE_ROWS, Placing, place};
use crate::silhouette::{Azimuth, Silhouette, silhouettes};

/// From this share of agreeing outline on no other reading is looked at. By trial: whole meshes agree to nine tenths,
/// meshes without head and arms to seven, meshes read along a wrong axis to less than four.
const WELL: f64 = 0.6;
/// Another reading lays at least this share of the outline on the drawing, or it is no reading.
const LEAST: f64 = 0.5;

/// The views that a drawn figure usually shows; one walk over the mesh makes them all.
pub const SHOWN: [Azimuth; 4] = [
    Azimuth::FRONT,
    Azimuth::FACING_RIGHT,
    Azimuth::BACK,
    Azimuth::FACING_LEFT,
];

/// How the axes became known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum AxesFrom {
    /// As usual, and the drawing does not contradict.
    Usual,
    /// They fit the drawing distinctly better than the usual ones.
    Fit,
    /// The feet of a drawn side view point that way.
    DrawnFeet,
    /// A person said so.
    Given,
    /// They are those of a held placement.
    Held,
}

/// A mesh as it stands, seen, with the drawing laid onto it.
pub struct Standing<'a> {
    /// The mesh, turned to y up and facing +z.
    pub mesh: Cow<'a, Mesh>,
    /// Its silhouettes, those of every placed view among them.
    pub seen: Vec<Silhouette>,
    /// Where the drawing lies.
    pub placing: Placing,
    /// How it stands in its file.
    pub axes: Axes,
    /// How that became known.
    pub from: AxesFrom,
    /// What a person should know.
    pub notes: Vec<String>,
}

/// What is known of the mesh's axes: `Some` where the mesh has been turned from them and nothing is to be found.
pub type Told = Option<(Axes, AxesFrom)>;

/// Finds how the mesh stands, and lays the drawing onto it.
///
/// `planes`: drawing planes are looked for in a turned mesh, as they were in the one given.
///
/// # Errors
/// The mesh is flat, or the drawing cannot be laid onto it; two readings of the axes fit equally well.
pub fn stand<'a>(
    mesh: &'a Mesh,
    candidates: &[Candidate<'_>],
    given: &Given,
    told: Told,
    planes: bool,
) -> Result<Standing<'a>> {
    stand_seen(mesh, silhouettes(mesh, &SHOWN), candidates, given, told, planes)
}

/// The same of a mesh that was seen from [`SHOWN`] already.
///
/// # Errors
/// As [`stand`].
pub fn stand_seen<'a>(
    mesh: &'a Mesh,
    seen: Vec<Silhouette>,
    candidates: &[Candidate<'_>],
    given: &Given,
    told: Told,
    planes: bool,
) -> Result<Standing<'a>> {
    let (axes, from) = told.unwrap_or((Axes::default(), AxesFrom::Usual));
    let usual = read(Cow::Borrowed(mesh), seen, candidates, given, axes, from)?;
    if told.is_some() {
        return Ok(usual);
    }
    let turned = |axes: Axes, from: AxesFrom| {
        let mesh = turn_upright(mesh.clone(), axes);
        let noted = if planes {
            leave_out_drawing_planes(mesh)
        } else {
            crate::mesh::plane::Noted {
                mesh,
                notes: Vec::new(),
            }
        };
        let seen = silhouettes(&noted.mesh, &SHOWN);
        let mut standing = read(Cow::Owned(noted.mesh), seen, candidates, given, axes, from)?;
        standing.notes.extend(noted.notes);
        Ok::<_, Error>(standing)
    };
    let mut best = usual;
    if best.placing.agreeing < WELL || best.placing.sideways {
        // A figure turned about fits as well: one of each two is enough.
        let others = [
            Axes::new(UpAxis::Y, Heading::X),
            Some(Axes::usual(UpAxis::Z)),
            Axes::new(UpAxis::Z, Heading::X),
        ];
        let mut fitting: Vec<Standing<'_>> = others
            .into_iter()
            .flatten()
            .filter_map(|axes| turned(axes, AxesFrom::Fit).ok())
            .filter(|s| s.placing.agreeing >= LEAST && !s.placing.sideways)
            .filter(|s| best.placing.sideways || s.placing.cost < DISTINCT * best.placing.cost)
            .collect();
        fitting.sort_by(|a, b| a.placing.cost.total_cmp(&b.placing.cost));
        if let [first, second, ..] = fitting.as_slice()
            && DISTINCT * second.placing.cost < first.placing.cost
        {
            return Err(ask(mesh, first.axes, second.axes));
        }
        if let Some(first) = fitting.into_iter().next() {
            best = first;
        }
    }
    match best.placing.backwards {
        Some(true) => turned(best.axes.about(), AxesFrom::DrawnFeet),
        None if [Heading::X, Heading::MinusX].contains(&best.axes.facing()) => {
            Err(ask(mesh, best.axes, best.axes.about()))
        }
        _ => Ok(best),
    }
}

fn ask(mesh: &Mesh, one: Axes, other: Axes) -> Error {
    if let Some(stray) = stray(mesh) {
        return Error::new(stray.to_string())
            .advise("move it back; with it the mesh fits the drawing nowhere");
    }
    Error::new(format!(
        "the mesh fits the drawing equally well as {one} and as {other}"
    ))
    .advise("say which with --up y|z and --facing x|-x|y|-y|z|-z")
}

/// The drawing laid onto a mesh that stands upright and is seen from [`SHOWN`].
fn read<'a>(
    mesh: Cow<'a, Mesh>,
    mut seen: Vec<Silhouette>,
    candidates: &[Candidate<'_>],
    given: &Given,
    axes: Axes,
    from: AxesFrom,
) -> Result<Standing<'a>> {
    let look = |azimuths: &[Azimuth]| {
        let known = |a: &Azimuth| seen.iter().find(|s| s.azimuth() == *a);
        let outlines = |seen: &[&Silhouette]| seen.par_iter().map(|s| s.outline(OUTLINE_ROWS)).collect();
        if let Some(seen) = azimuths.iter().map(known).collect::<Option<Vec<_>>>() {
            return outlines(&seen);
        }
        outlines(&silhouettes(&mesh, azimuths).iter().collect::<Vec<_>>())
    };
    let placing = place(candidates, &look, given)?;
    see(&mesh, &mut seen, &placing);
    Ok(Standing {
        mesh,
        seen,
        placing,
        axes,
        from,
        notes: Vec::new(),
    })
}

/// Adds the silhouettes that placed views show and that are not there yet.
pub fn see(mesh: &Mesh, seen: &mut Vec<Silhouette>, placing: &Placing) {
    let mut missing: Vec<Azimuth> = Vec::new();
    for v in &placing.views {
        if seen.iter().all(|s| s.azimuth() != v.azimuth) && !missing.contains(&v.azimuth) {
            missing.push(v.azimuth);
        }
    }
    seen.extend(silhouettes(mesh, &missing));
}
