//! A whole check: mesh and sheet in, one report out. The order of the steps, nothing else.

mod ahead;
mod arms;
pub mod fitted;
mod measure;
mod placed;
mod verdict;

use std::path::Path;

use std::borrow::Cow;

use rayon::prelude::*;

use crate::anatomy::Landmark;
use crate::compare::landmarks::Divided;
use crate::compare::rows::EdgeReading;
use crate::compare::surfaces;
use crate::error::Result;
use crate::mesh::axes::turn_upright;
use crate::mesh::plane::leave_out_drawing_planes;
use crate::mesh::{Axes, Mesh};
use crate::place::assign::{Asked, Candidate, Given, OUTLINE_ROWS, Placed, Placing};
use crate::place::held::{self, HeldView};
use crate::place::transform::Placement;
use crate::profile::Outline;
use crate::report::model::{
    ArmsMode, AxesFrom, HeldReport, MeshAudit, MeshInput, Report, Settings, SheetInput,
};
use crate::setup::Setup;
use crate::sheet::read::{Figure, Reading};
use crate::silhouette::{Azimuth, Silhouette, silhouettes};
use crate::smooth::smooth;
use crate::space::ViewUnits;
use crate::standing::{SHOWN, Standing, see, stand_seen};
pub use ahead::{Ahead, MOST_CAGE_FACES};
pub use arms::ArmTurns;
use measure::measure;
use placed::placement_report;

/// Rows of the outline of what turned with the arms: it is only drawn.
const ARM_ROWS: usize = 400;
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
    /// The surface that was compared: upright, smoothed and with its arms turned as the settings say; `None` unless
    /// [`Kept::surface`] asked for it.
    pub surface: Option<Mesh>,
    /// The same for later checks of this run; `None` where it cannot be relied on.
    pub settled: Option<Settled>,
    /// How the mesh was made to stand.
    pub stands: Stands,
    /// What to add to which vertices of the file, in its own axes, to mend the findings; `None` where it was not asked.
    pub moves: Option<Vec<(u32, [f64; 3])>>,
}

/// What was done to a mesh before it was compared, besides what made it ready.
#[derive(Debug, Clone, Default)]
pub struct Stands {
    /// It was turned upright from these axes.
    pub turned_by: Axes,
    /// What was done about its arms.
    pub arms: ArmTurns,
}

/// A placement that stays for a series of checks in one run: it is used as it is, and no fresh one is looked for.
#[derive(Clone)]
pub struct Settled {
    placing: Placing,
    axes: Axes,
    /// What it belongs to, as in [`Held`].
    sheets: Vec<String>,
    given: Given,
}

impl Settled {
    /// Whether it belongs to this drawing, read into so many figures, with this much given.
    fn suits(&self, sheets: &[String], figures: usize, given: &Given, axes: Option<Axes>) -> bool {
        self.sheets == sheets
            && self.placing.views.len() == figures
            && self.given == *given
            && axes.is_none_or(|a| a == self.axes)
    }

    /// A mesh seen as it says. `planes` as in [`stand`].
    fn standing<'a>(
        &self,
        mesh: &'a Mesh,
        candidates: &[Candidate<'_>],
        turned: bool,
        planes: bool,
    ) -> Standing<'a> {
        let mut notes = Vec::new();
        let mesh = if turned || self.axes == Axes::default() {
            Cow::Borrowed(mesh)
        } else {
            let mut upright = turn_upright(mesh.clone(), self.axes);
            if planes {
                let noted = leave_out_drawing_planes(upright);
                notes.extend(noted.notes);
                upright = noted.mesh;
            }
            Cow::Owned(upright)
        };
        let mut seen = Vec::new();
        see(&mesh, &mut seen, &self.placing);
        let mut placing = self.placing.clone();
        // How well it agrees is this mesh's matter.
        placing.views.par_iter_mut().zip(candidates).for_each(|(v, c)| {
            if let Some(s) = seen.iter().find(|s| s.azimuth() == v.azimuth) {
                v.agreeing = held::agreeing(&c.figure.level, &s.outline(OUTLINE_ROWS), &v.placement);
            }
        });
        Standing {
            mesh,
            seen,
            placing,
            axes: self.axes,
            from: if turned { AxesFrom::Given } else { AxesFrom::Held },
            notes,
        }
    }
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
    /// Drawing and mesh, divided into parts.
    pub divided: Divided,
    /// For each row of the report what the differences of its left and right edge say.
    pub edges: Vec<[EdgeReading; 2]>,
    /// The outline of what turned with the arms; `None` where none were turned.
    pub arms: Option<Outline<ViewUnits>>,
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
    check_with(mesh, mesh_input, images, settings, notes, &Kept::default())
}

/// What a person keeps beside a mesh and its drawing.
#[derive(Clone, Copy, Default)]
pub struct Kept<'a> {
    /// The placement of an earlier run, which is used where it belongs to the same drawing.
    pub held: Option<&'a Held>,
    /// The placement of an earlier check of the same run; wins over `held` where it belongs to the same drawing.
    pub settled: Option<&'a Settled>,
    /// What is said of the arms.
    pub setup: Option<&'a Setup>,
    /// The compared surface is wanted with the result, for a picture of it.
    pub surface: bool,
    /// What was told of this very mesh, with these settings, before the drawing was read.
    pub ahead: Option<&'a Ahead>,
}

/// The same, with what is kept of earlier runs.
///
/// # Errors
/// As [`check`].
pub fn check_with(
    mesh: &Mesh,
    mesh_input: MeshInput,
    images: &[ImageRead],
    settings: Settings,
    mut notes: Vec<String>,
    kept: &Kept<'_>,
) -> Result<Checked> {
    let held = kept.held;
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
    let settled = kept
        .settled
        .filter(|s| s.suits(&sheets, candidates.len(), &given, settings.axes()));
    let held = held.filter(|_| settled.is_none());
    let told = settings.axes().map(|axes| (axes, AxesFrom::Given));
    let upright = held
        .filter(|_| told.is_none())
        .map(|h| turn_upright(mesh.clone(), h.axes));
    let planes = settings.groups.is_empty();
    let mut standing = if let Some(settled) = settled {
        settled.standing(mesh, &candidates, told.is_some(), planes)
    } else {
        let told = told.or(held.map(|h| (h.axes, AxesFrom::Held)));
        let mesh = upright.as_ref().unwrap_or(mesh);
        let known = kept
            .ahead
            .filter(|a| upright.is_none() && !a.seen.is_empty())
            .map(|a| a.seen.clone());
        let seen = known.unwrap_or_else(|| silhouettes(mesh, &SHOWN));
        stand_seen(mesh, seen, &candidates, &given, told, planes)
            .map_err(|e| e.in_file(Path::new(&mesh_input.path)))?
    };
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
        used: used.is_some() || settled.is_some(),
        differs: used.unwrap_or(0.0),
        why_not: match (used, stranger, &doubt) {
            _ if settled.is_some() => None,
            (Some(_), ..) => None,
            (None, _, Some(_)) => {
                Some("this run's placement cannot be relied on and is not kept".to_string())
            }
            (None, Some(why), None) => Some(format!("{why}; this run's placement is kept instead")),
            (None, None, None) => None,
        },
    });
    let relied_on = used.is_some() || doubt.is_none();
    let to_hold = relied_on.then(|| Held::new(&standing.placing, sheets.clone(), given, standing.axes));
    let next = relied_on.then(|| Settled {
        placing: standing.placing.clone(),
        axes: standing.axes,
        sheets,
        given,
    });
    let is_held = used.is_some() || settled.is_some();
    let placement = placement_report(&standing, &candidates, &given, is_held, held_report, doubt);
    let smooth = settings.smooth;
    let told = match kept.setup {
        Some(setup) if settings.arms != ArmsMode::AsModelled => setup.told(&standing.mesh)?,
        _ => Default::default(),
    };
    let mut armed = arms::arms(&standing.mesh, &standing.placing, &figures, &settings, &told);
    if let Some(mesh) = &armed.mesh {
        let azimuths: Vec<Azimuth> = standing.seen.iter().map(Silhouette::azimuth).collect();
        standing.seen = silhouettes(mesh, &azimuths);
    }
    // What is audited is the cage; standing as the surface does.
    let turned_by = match standing.from {
        AxesFrom::Given => Axes::default(),
        _ => standing.axes,
    };
    let upright_cage = smooth.map(|_| turn_upright(cage.clone(), turned_by));
    let cage = upright_cage.as_ref().unwrap_or(&standing.mesh);
    let is_cage = cage.face_count() <= MOST_CAGE_FACES;
    // What was told ahead holds for the mesh as it was given.
    let as_given = upright.is_none() && matches!(standing.mesh, Cow::Borrowed(_));
    let ahead = kept.ahead.filter(|_| as_given && turned_by == Axes::default());
    let audit_settings = settings.clone();
    let azimuths: Vec<Azimuth> = standing.placing.views.iter().map(|p| p.azimuth).collect();
    // With the arms turned as those of the surface that counts.
    let posed = match &armed.mesh {
        Some(_) if smooth.is_some() => Some(armed.turns.done(cage, &armed.turns.found(cage))),
        Some(mesh) if is_cage => Some(mesh.clone()),
        _ => None,
    };
    let (mut checked, (audited, other)) = rayon::join(
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
                &mut armed,
            )
        },
        || {
            rayon::join(
                || match ahead {
                    Some(ahead) => ahead.audited.clone(),
                    None => ahead::audited(cage, &audit_settings),
                },
                || {
                    let shown = posed.as_ref().unwrap_or(cage);
                    if smooth.is_some() {
                        return Some((silhouettes(shown, &azimuths), surfaces::Other::Cage));
                    }
                    let known = ahead.filter(|_| posed.is_none());
                    let limit = known
                        .and_then(|a| a.limit_from(&azimuths))
                        .or_else(|| ahead::limit(shown, &azimuths));
                    Some((limit?, surfaces::Other::Smoothed))
                },
            )
        },
    );
    if let Some((seen, other)) = other {
        see_other(&mut checked, &seen, other);
    }
    if let Some(turned) = &armed.turned {
        let azimuths: Vec<Azimuth> = checked.views.iter().map(|v| v.placed.azimuth).collect();
        for (shown, seen) in checked.views.iter_mut().zip(silhouettes(turned, &azimuths)) {
            shown.arms = Some(seen.outline(ARM_ROWS));
        }
    }
    checked.report.mesh_audit = audited.as_ref().map(MeshAudit::new);
    checked.to_hold = to_hold;
    checked.stands = Stands {
        turned_by,
        arms: armed.turns,
    };
    if kept.surface {
        let turned = armed.mesh.take();
        checked.surface = Some(turned.unwrap_or_else(|| standing.mesh.into_owned()));
    }
    checked.settled = next;
    Ok(checked)
}

/// Adds to every view how the surface lies that does not decide.
fn see_other(checked: &mut Checked, seen: &[Silhouette], other: surfaces::Other) {
    let report = &mut checked.report;
    let height = report.figure_height;
    let tolerance = report.settings.tolerance_pct / 100.0 * height;
    let views = report.views.par_iter_mut().zip(&mut checked.views);
    views.for_each(|(view, shown)| {
        let Some(seen) = seen.iter().find(|s| s.azimuth() == shown.placed.azimuth) else {
            return;
        };
        view.other_surface = Some(surfaces::compare(&view.rows, seen, other, [tolerance, height]));
        shown.other = Some(seen.outline(view.rows.len()));
    });
}
