//! A whole check: mesh and sheet in, one report out. The order of the steps, nothing else.

mod measure;
mod placed;
mod verdict;

use crate::anatomy::Landmark;
use crate::audit::{Options, audit};
use crate::compare::rows::EdgeReading;
use crate::compare::surfaces;
use crate::error::Result;
use crate::mesh::axes::turn_upright;
use crate::mesh::{Axes, Mesh};
use crate::place::assign::{Asked, Candidate, Given, Placed};
use crate::place::held::{self, HeldView};
use crate::place::transform::Placement;
use crate::profile::Outline;
use crate::report::model::{AxesFrom, HeldReport, MeshAudit, MeshInput, Report, Settings, SheetInput};
use crate::sheet::read::{Figure, Reading};
use crate::silhouette::{Azimuth, silhouettes};
use crate::smooth::{Plan, smooth};
use crate::space::ViewUnits;
use crate::standing::{see, stand};
use measure::measure;
use placed::placement_report;

/// Cages of more faces are not smoothed without being asked for: it would take longer than the rest of the check.
const MOST_SMOOTHED_FACES: usize = 20_000;
/// Faces that show the limit surface where it is information only.
const MOST_LIMIT_FACES: usize = 100_000;
/// The file that keeps a placement beside the results.
pub const HELD_FILE: &str = "placement.json";

/// One image of the sheet, read.
pub struct ImageRead {
    /// What it was given as.
    pub asked: Asked,
    /// What each figure was named as, by a person; shorter than the figures where nobody did.
    pub named: Vec<Option<Asked>>,
    /// Levelled column of each figure's view x = 0, where a person gave it; shorter than the figures where nobody did.
    pub axes_px: Vec<Option<f64>>,
    /// What was read.
    pub reading: Reading,
    /// For the report.
    pub input: SheetInput,
}

/// A finished check: the report, and what pictures need besides it.
pub struct Checked {
    /// The one result.
    pub report: Report,
    /// For each compared view what a picture needs.
    pub views: Vec<Shown>,
    /// The placement that was used, to be kept for a series; `None` where it cannot be relied on.
    pub to_hold: Option<Held>,
}

/// A placement that is kept for a series of versions.
pub type Held = held::Held<Axes>;

/// What a picture of a compared view needs besides the report.
pub struct Shown {
    /// Index of its image.
    pub image: usize,
    /// The view's place on the mesh.
    pub placed: Placed,
    /// The drawing's outline in the view's units.
    pub drawing: Outline<ViewUnits>,
    /// The mesh's outline.
    pub mesh: Outline<ViewUnits>,
    /// Named heights of the figure.
    pub landmarks: Vec<Landmark>,
    /// For each row of the report what the differences of its left and right edge say.
    pub edges: Vec<[EdgeReading; 2]>,
    /// The outline of the surface that does not decide: what smoothing makes of the cage, or the cage.
    pub other: Option<Outline<ViewUnits>>,
}

/// Checks a prepared mesh (mirrored, groups chosen) against read images. With `up` or `facing` set in the settings the
/// mesh has been turned upright, otherwise its axes are found.
///
/// # Errors
/// The mesh is flat, the drawing cannot be laid onto it, or its axes cannot be told.
pub fn check(
    mesh: &Mesh,
    mesh_input: MeshInput,
    images: &[ImageRead],
    settings: Settings,
    notes: Vec<String>,
) -> Result<Checked> {
    check_held(mesh, mesh_input, images, settings, notes, None)
}

/// The same, with the placement of an earlier run where it belongs to the same drawing.
///
/// # Errors
/// As [`check`].
pub fn check_held(
    mesh: &Mesh,
    mesh_input: MeshInput,
    images: &[ImageRead],
    settings: Settings,
    mut notes: Vec<String>,
    held: Option<&Held>,
) -> Result<Checked> {
    let cage = mesh;
    let smoothed = settings.smooth.map(|s| smooth(mesh, s)).transpose()?;
    let mesh = smoothed.as_ref().unwrap_or(cage);
    let candidates: Vec<Candidate<'_>> = images
        .iter()
        .enumerate()
        .flat_map(|(image, i)| {
            i.reading
                .figures
                .iter()
                .enumerate()
                .map(move |(k, figure)| Candidate {
                    image,
                    asked: i.named.get(k).copied().flatten().unwrap_or(i.asked),
                    figure,
                    axis_px: i.axes_px.get(k).copied().flatten(),
                })
        })
        .collect();
    let given = Given {
        figure_height: settings.figure_height,
        units_per_px: settings.scale,
        ground_y: settings.ground,
        lead: settings.lead,
    };
    let sheets: Vec<String> = images.iter().map(|i| i.input.sha256.clone()).collect();
    let stranger = held.and_then(|h| h.stranger(&sheets, candidates.len(), &given));
    let held = held.filter(|_| stranger.is_none());
    let told = settings.axes().map(|axes| (axes, AxesFrom::Given));
    let upright = held
        .filter(|_| told.is_none())
        .map(|h| turn_upright(mesh.clone(), h.axes));
    let told = told.or(held.map(|h| (h.axes, AxesFrom::Held)));
    let mut standing = stand(
        upright.as_ref().unwrap_or(mesh),
        &candidates,
        &given,
        told,
        settings.groups.is_empty(),
    )?;
    notes.append(&mut standing.notes);
    let figures: Vec<(usize, &Figure)> = candidates.iter().map(|c| (c.image, c.figure)).collect();
    let alone: Vec<&Figure> = figures.iter().map(|f| f.1).collect();
    let doubt = standing.placing.doubt(&given);
    let used = held.map(|h| {
        let places: Vec<Placement> = h.views.iter().map(HeldView::placement).collect();
        let differs = standing.placing.farthest_from(&places, &alone);
        h.hold(&mut standing.placing);
        see(&standing.mesh, &mut standing.seen, &standing.placing);
        differs
    });
    let held_report = settings.hold_placement.then(|| HeldReport {
        used: used.is_some(),
        differs: used.unwrap_or(0.0),
        why_not: match (used, stranger, &doubt) {
            (Some(_), ..) => None,
            (None, _, Some(_)) => {
                Some("this run's placement cannot be relied on and is not kept".to_string())
            }
            (None, Some(why), None) => Some(format!("{why}; this run's placement is kept instead")),
            (None, None, None) => None,
        },
    });
    let to_hold = (used.is_some() || doubt.is_none())
        .then(|| Held::new(&standing.placing, sheets, given, standing.axes));
    let placement = placement_report(&standing, &candidates, &given, held_report, doubt);
    let smooth = settings.smooth;
    let (meant, plane) = (settings.borders.clone(), settings.plane);
    // What is audited is the cage; standing as the surface does.
    let upright_cage = smooth.map(|_| turn_upright(cage.clone(), standing.axes));
    let (mut checked, audited) = rayon::join(
        || {
            measure(
                &standing.seen,
                mesh_input,
                images,
                settings,
                notes,
                &standing.placing,
                placement,
                &figures,
            )
        },
        || {
            audit(
                upright_cage.as_ref().unwrap_or(&standing.mesh),
                &Options {
                    quick: true,
                    meant_borders: meant,
                    plane_x: plane,
                    ..Options::default()
                },
            )
        },
    );
    match &upright_cage {
        Some(cage) => see_other(&mut checked, cage, surfaces::Other::Cage),
        None if cage.face_count() <= MOST_SMOOTHED_FACES => {
            // What cannot be smoothed is only left out: the cage decides.
            if let Ok(smoothed) =
                Plan::limit(&standing.mesh, &[], MOST_LIMIT_FACES).and_then(|p| p.mesh(&standing.mesh))
            {
                see_other(&mut checked, &smoothed, surfaces::Other::Smoothed);
            }
        }
        None => {}
    }
    checked.report.mesh_audit = Some(MeshAudit::new(&audited));
    checked.to_hold = to_hold;
    Ok(checked)
}

/// Adds to every view how the surface lies that does not decide.
fn see_other(checked: &mut Checked, mesh: &Mesh, other: surfaces::Other) {
    let azimuths: Vec<Azimuth> = checked.views.iter().map(|v| v.placed.azimuth).collect();
    let seen = silhouettes(mesh, &azimuths);
    let report = &mut checked.report;
    let height = report.figure_height;
    let tolerance = report.settings.tolerance_pct / 100.0 * height;
    for ((view, shown), seen) in report.views.iter_mut().zip(&mut checked.views).zip(&seen) {
        view.other_surface = Some(surfaces::compare(&view.rows, seen, other, [tolerance, height]));
        shown.other = Some(seen.outline(view.rows.len()));
    }
}
