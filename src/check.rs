//! A whole check: mesh and sheet in, one report out. The order of the steps, nothing else.

use rayon::prelude::*;

use crate::anatomy::{Anatomy, Aspect, Found, Frame, Landmark};
use crate::audit::{Options, audit};
use crate::compare::bands::bands;
use crate::compare::landmarks::{self, Divided};
use crate::compare::rows::{Comparison, EdgeReading, compare};
use crate::compare::square::{Limits, flat_limbs};
use crate::compare::tolerance::Tolerance;
use crate::compare::{agreement, spans, sureness, surfaces, whereabouts, wording};
use crate::error::Result;
use crate::mesh::axes::turn_upright;
use crate::mesh::{Axes, Mesh};
use crate::place::assign::{Asked, Candidate, Given, Placed, Placing, reach};
use crate::place::held::{self, HeldView};
use crate::place::transform::Placement;
use crate::profile::Outline;
use crate::report::model::{
    Agreement, AxesFrom, DrawnView, Finding, HeldReport, Inputs, LandmarkAgreement, MeshAudit, MeshInput,
    PlacedBy, PlacedView, PlacementReport, REPORT_SCHEMA, Report, Settings, Sheet, SheetFinding, SheetImage,
    SheetInput, Symmetry, Verdict, View,
};
use crate::sheet::read::{Figure, Reading};
use crate::silhouette::{Azimuth, Silhouette, silhouettes};
use crate::smooth::{Plan, smooth};
use crate::space::{Point, ViewUnits};
use crate::standing::{Standing, see, stand};

/// A view below this confidence may have been read wrongly.
const LEAST_CONFIDENCE: f64 = 0.5;
/// Cages of more faces are not smoothed without being asked for: it would take longer than the rest of the check.
const MOST_SMOOTHED_FACES: usize = 20_000;
/// Faces that show the limit surface where it is information only.
const MOST_LIMIT_FACES: usize = 100_000;
/// Drawn views whose heights differ by more than this share contradict each other. A hand is true to 0.15 % of the
/// height at each end.
const HEIGHTS_DIFFER: f64 = 0.007;

/// A held placement that differs by more than this share of the tolerance is pointed at.
const HELD_DIFFERS: f64 = 0.25;
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
            let upright = smooth.map(|_| turn_upright(cage.clone(), standing.axes));
            audit(
                upright.as_ref().unwrap_or(&standing.mesh),
                &Options {
                    quick: true,
                    ..Options::default()
                },
            )
        },
    );
    match smooth {
        Some(_) => see_other(
            &mut checked,
            &turn_upright(cage.clone(), standing.axes),
            surfaces::Other::Cage,
        ),
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

fn placement_report(
    standing: &Standing<'_>,
    candidates: &[Candidate<'_>],
    given: &Given,
    held: Option<HeldReport>,
    doubt: Option<String>,
) -> PlacementReport {
    let placing = &standing.placing;
    let lead = &placing.views[placing.lead];
    let is_held = held.as_ref().is_some_and(|h| h.used);
    PlacementReport {
        how: match (given.units_per_px, given.ground_y, given.figure_height) {
            _ if is_held => PlacedBy::Held,
            (Some(_), Some(_), _) | (Some(_), None, Some(_)) => PlacedBy::ScaleAndGround,
            (Some(_), None, None) => PlacedBy::Scale,
            (None, _, Some(_)) => PlacedBy::FigureHeight,
            (None, Some(_), None) => PlacedBy::Ground,
            (None, None, None) => PlacedBy::Fit,
        },
        lead: lead.name.clone(),
        units_per_px: lead.placement.units_per_px,
        ground_y: reach(&lead.placement, candidates[placing.lead].figure).1,
        scale_uncertainty_pct: placing.spread.map(|s| s.scale_pct),
        ground_uncertainty: placing.spread.map(|s| s.ground),
        outline_share: placing.spread.map(|s| s.share),
        axes: standing.axes,
        axes_from: standing.from,
        views: placing
            .views
            .iter()
            .zip(candidates)
            .map(|(v, c)| PlacedView {
                name: v.name.clone(),
                axis_px: v.placement.origin_px,
                axis_given: c.axis_px.is_some() && !is_held,
                agreeing: v.agreeing,
            })
            .collect(),
        held,
        // Who holds a placement relies on it.
        doubt: doubt.filter(|_| !is_held),
    }
}

#[allow(
    clippy::too_many_arguments,
    reason = "what a report is made of, each from another step"
)]
fn measure(
    seen: &[Silhouette],
    mesh_input: MeshInput,
    images: &[ImageRead],
    settings: Settings,
    mut notes: Vec<String>,
    placing: &Placing,
    placement: PlacementReport,
    figures: &[(usize, &Figure)],
) -> Checked {
    let lead = placing.lead;
    let (crown_y, ground_y) = reach(&placing.views[lead].placement, figures[lead].1);
    let height = crown_y - ground_y;
    let limits = Tolerance::new(height, settings.tolerance_pct, settings.tolerance_width_pct);
    let tolerance = limits.most;
    if let Some(h) = placement
        .held
        .as_ref()
        .filter(|h| h.used && h.differs > HELD_DIFFERS * tolerance)
    {
        notes.push(format!(
            "the held placement lies up to {} from where this run would have placed the drawing; remove {HELD_FILE} to \
             place it anew",
            wording::length(h.differs, height)
        ));
    }
    let compared: Vec<(Outline<ViewUnits>, Comparison)> = placing
        .views
        .iter()
        .zip(figures)
        .filter_map(|(p, f)| Some((p, f, seen.iter().find(|s| s.azimuth() == p.azimuth)?)))
        .map(|(p, (image, f), s)| {
            let levelling = images[*image].reading.levelling;
            let to_view = |q: &Point<_>| p.placement.to_view(*q);
            let drawing = Outline {
                rings: f
                    .level
                    .rings
                    .iter()
                    .map(|r| r.iter().map(to_view).collect())
                    .collect(),
            };
            let mut comparison = compare(&drawing, s, p.placement.units_per_px, &limits);
            let placed = |pieces: &[[[f64; 2]; 2]]| -> Vec<[Point<ViewUnits>; 2]> {
                let place = |[x, y]: [f64; 2]| to_view(&levelling.level(Point::new(x, y)));
                pieces.iter().map(|ends| ends.map(place)).collect()
            };
            let drawn = sureness::Drawing {
                closed: &placed(&f.closed),
                doubtful: &placed(&f.doubtful),
                line: f.line_px * p.placement.units_per_px,
                blur: f.soft_px * p.placement.units_per_px,
                tolerance,
            };
            sureness::judge(&mut comparison.rows, &drawn);
            (drawing, comparison)
        })
        .collect();
    let frame = Frame {
        ground: ground_y,
        height,
        crotch: None,
        neck: None,
    };
    let divided = divide(placing, figures, images, &compared, frame);
    let first = |aspect: fn(Aspect) -> bool| {
        let of = |p: &Placed| aspect(Aspect::of(p.azimuth));
        let named = |n: &str| placing.views.iter().position(|p| of(p) && p.name == n);
        named("front").or_else(|| placing.views.iter().position(of))
    };
    let front = first(|a| a == Aspect::Frontal);
    let side = first(|a| matches!(a, Aspect::Profile { .. }));
    let heights = match (front, side) {
        (Some(f), Some(s)) => agreement::landmarks(&divided[f], &divided[s], height),
        _ => Vec::new(),
    };
    let landmarks = divided[front.unwrap_or(lead)].drawing.landmarks.clone();
    let mut views: Vec<View> = Vec::with_capacity(compared.len());
    let mut shown = Vec::with_capacity(compared.len());
    for (v, ((p, (image, _)), (drawing, mut comparison))) in
        placing.views.iter().zip(figures).zip(compared).enumerate()
    {
        let own = &divided[v];
        // Seen from above there are no heights: no landmarks, no parts, and shares are those of the view.
        let from_above = p.azimuth.is_above();
        if !from_above {
            comparison
                .rows
                .par_iter_mut()
                .for_each(|r| spans::pair(&mut r.row, &own.drawing, &own.mesh));
        }
        let (view_ground, view_height) = match drawing.bounds().filter(|_| from_above) {
            Some(b) => (b.y0, b.height()),
            None => (ground_y, height),
        };
        let aspect = Aspect::of(p.azimuth);
        let findings = bands(&comparison.rows, height, tolerance, settings.unfinished)
            .into_iter()
            .map(|b| {
                let row = &comparison.rows[b.worst];
                let (between, parts) = if from_above {
                    (Vec::new(), Vec::new())
                } else {
                    (
                        crate::anatomy::between(&landmarks, row.row.y),
                        whereabouts::parts(&comparison.rows, &b, own, tolerance),
                    )
                };
                let unsure = sureness::mostly_unsure(&comparison.rows, b.y_from, b.y_to);
                let above = agreement::other_above(&heights, aspect == Aspect::Frontal, row.row.y);
                let explained_pct = row
                    .row
                    .mesh
                    .first()
                    .filter(|_| !from_above)
                    .zip(row.row.mesh.last())
                    .and_then(|(l, r)| {
                        agreement::explained_pct(&drawing, row.row.y, r[1] - l[0], above, height)
                    });
                let place = wording::Place {
                    parts: whereabouts::words(&parts),
                    reaches: whereabouts::reaches(&parts, &own.drawing),
                    between: &between,
                    facing: p.facing,
                    ground: view_ground,
                    height: view_height,
                    unit: &settings.unit,
                };
                let mut text = wording::text(&b, row, &place);
                if let Some(share) = explained_pct.filter(|s| *s >= wording::WORTH_SAYING_PCT) {
                    text += &wording::explained(share, aspect == Aspect::Frontal);
                }
                if unsure {
                    text += wording::UNSURE;
                }
                Finding {
                    number: 0,
                    kind: b.kind,
                    y_from: b.y_from,
                    y_to: b.y_to,
                    worst_y: row.row.y,
                    outer_diff: row.row.outer_diff,
                    left_diff: row.row.left_diff,
                    right_diff: row.row.right_diff,
                    worst_distance: b.peak,
                    parts: parts.into_iter().map(crate::anatomy::Part::name).collect(),
                    between,
                    explained_pct,
                    text,
                    excused: b.excused,
                    unsure,
                }
            })
            .collect();
        let limits = Limits {
            tolerance,
            height,
            unit: &settings.unit,
        };
        let limbs = flat_limbs(&own.drawing, &drawing, &comparison.mesh_outline, &limits);
        views.push(View {
            name: p.name.clone(),
            units_per_px: p.placement.units_per_px,
            mirrored: p.placement.mirrored,
            azimuth_deg: p.azimuth.degrees(),
            rows: comparison.rows.iter().map(|m| m.row.clone()).collect(),
            summary: comparison.summary,
            limbs,
            other_surface: None,
            findings,
        });
        shown.push(Shown {
            image: *image,
            placed: p.clone(),
            drawing,
            mesh: comparison.mesh_outline,
            landmarks: own.drawing.landmarks.clone(),
            edges: comparison.rows.iter().map(|m| m.edges).collect(),
            other: None,
        });
    }
    number(&mut views);
    let drawn: Vec<DrawnView> = placing
        .views
        .iter()
        .zip(figures)
        .map(|(p, (image, f))| DrawnView::new(f, p.name.clone(), p.facing, *image))
        .collect();
    let symmetry = front.and_then(|f| agreement::symmetry(&shown[f].drawing, height));
    let (agreement, findings) =
        sheet_agreement(&drawn, figures, lead, heights, symmetry, settings.tolerance_pct);
    notes.extend(symmetry.filter(|s| s.worst_pct > settings.tolerance_pct).map(|s| {
        format!(
            "the front view is not symmetric: its middle is off by {:.1} % of the height at y {}; a mirrored mesh can only match the mean",
            s.worst_pct,
            wording::length(s.worst_y, height)
        )
    }));
    let (verdict, undecided) = verdict(&views, &findings, &drawn, placement.doubt.as_deref());
    let report = Report {
        schema: REPORT_SCHEMA,
        unit: settings.unit.clone(),
        figure_height: height,
        ground_y,
        crown_y,
        inputs: Inputs {
            mesh: mesh_input,
            sheets: images.iter().map(|i| i.input.clone()).collect(),
            setup: None,
        },
        settings,
        sheet: Sheet {
            images: images
                .iter()
                .map(|i| SheetImage {
                    skew_deg: i.reading.skew_deg,
                    guide_lines_px: i.reading.guide_lines_px.clone(),
                })
                .collect(),
            views: drawn,
            agreement,
        },
        placement,
        views,
        findings,
        verdict,
        undecided,
        notes,
        landmarks: landmarks::table(front.map(|i| &divided[i]), side.map(|i| &divided[i])),
        mesh_audit: None,
    };
    Checked {
        report,
        views: shown,
        to_hold: None,
    }
}

/// Numbers the findings of all views, worst first.
fn number(views: &mut [View]) {
    let mut all: Vec<(f64, usize, usize)> = Vec::new();
    for (v, view) in views.iter().enumerate() {
        all.extend(
            view.findings
                .iter()
                .enumerate()
                .map(|(i, f)| (f.worst_distance, v, i)),
        );
    }
    all.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    for (n, (_, v, i)) in all.into_iter().enumerate() {
        views[v].findings[i].number = n + 1;
    }
}

/// Divides drawing and mesh of every view. What is seen from the front shows the crotch to the other views.
fn divide(
    placing: &Placing,
    figures: &[(usize, &Figure)],
    images: &[ImageRead],
    compared: &[(Outline<ViewUnits>, Comparison)],
    frame: Frame,
) -> Vec<Divided> {
    let one = |v: usize, known: Option<&Divided>| {
        let (p, image) = (&placing.views[v], &images[figures[v].0]);
        let (drawing, comparison) = &compared[v];
        let aspect = Aspect::of(p.azimuth);
        let height = |a: Option<&Anatomy>, name| a.and_then(|a| a.landmark(name)).map(|l| l.y);
        let framed = |a: Option<&Anatomy>| Frame {
            crotch: height(a, "crotch"),
            // A mesh without a head still has the drawing's neck to be looked for.
            neck: height(a, "neck").or(height(known.map(|d| &d.drawing), "neck")),
            ..frame
        };
        let (mut drawing, mesh) = rayon::join(
            || Anatomy::of(drawing, &framed(known.map(|d| &d.drawing)), aspect),
            || Anatomy::of(&comparison.mesh_outline, &framed(known.map(|d| &d.mesh)), aspect),
        );
        let reading = &image.reading;
        let guides = reading.guide_lines_px.iter().zip(&reading.guide_means);
        for (k, (y, means)) in guides.enumerate() {
            let found = if reading.guide_given.get(k).copied().unwrap_or(false) {
                Found::Setup
            } else {
                Found::GuideLine
            };
            let y = p.placement.to_view(Point::new(0.0, *y)).y;
            landmarks::named(&mut drawing, means, y, found);
        }
        Divided { drawing, mesh }
    };
    let frontal = |v: &usize| Aspect::of(placing.views[*v].azimuth) == Aspect::Frontal;
    let count = placing.views.len();
    let first: Option<Divided> = (0..count).find(frontal).map(|v| one(v, None));
    (0..count)
        .into_par_iter()
        .map(|v| one(v, first.as_ref()))
        .collect()
}

/// How far the drawn views of the leading image agree with the lead, and what contradicts.
fn sheet_agreement(
    drawn: &[DrawnView],
    figures: &[(usize, &Figure)],
    lead: usize,
    landmarks: Vec<LandmarkAgreement>,
    symmetry: Option<Symmetry>,
    tolerance_pct: f64,
) -> (Agreement, Vec<SheetFinding>) {
    let height = |v: &DrawnView| v.ground_px - v.crown_px;
    let mut findings = Vec::new();
    let height_diff_pct = drawn
        .iter()
        .zip(figures)
        .map(|(v, (image, _))| {
            // Other images have a scale of their own: their heights agree by definition. A view from above has none.
            if *image != figures[lead].0 || v.name.starts_with("top") {
                return 0.0;
            }
            let ratio = height(v) / height(&drawn[lead]) - 1.0;
            if ratio.abs() > HEIGHTS_DIFFER {
                findings.push(SheetFinding {
                    kind: "views-disagree".to_string(),
                    text: format!(
                        "the {} view is drawn {:.1} % {} than the {} view; one mesh cannot match both",
                        v.name,
                        (100.0 * ratio).abs(),
                        if ratio > 0.0 { "taller" } else { "shorter" },
                        drawn[lead].name,
                    ),
                });
            }
            100.0 * ratio
        })
        .collect();
    let line = |v: &DrawnView| v.line_px;
    let line_diff_pct = drawn
        .iter()
        .map(|v| match (line(v), line(&drawn[lead])) {
            (a, b) if a > 0.0 && b > 0.0 => 100.0 * (a / b - 1.0),
            _ => 0.0,
        })
        .collect();
    // Views of different height disagree about everything else too.
    if findings.is_empty() {
        let beyond = |l: &&LandmarkAgreement| l.contradicts && l.diff_pct.abs() > tolerance_pct;
        findings.extend(landmarks.iter().filter(beyond).map(|l| {
            let nearer = l
                .mesh_nearer
                .map_or(String::new(), |v| format!(", the mesh agrees with the {v} view"));
            SheetFinding {
                kind: "views-disagree".to_string(),
                text: format!(
                    "the {} is drawn {:.1} % {} in the side view than in the front view{nearer}",
                    l.name,
                    l.diff_pct.abs(),
                    if l.diff_pct > 0.0 { "higher" } else { "lower" },
                ),
            }
        }));
    }
    let agreement = Agreement {
        height_diff_pct,
        line_diff_pct,
        landmarks,
        symmetry,
    };
    (agreement, findings)
}

/// The verdict, and if it is `undecided` why, and what would help.
fn verdict(
    views: &[View],
    findings: &[SheetFinding],
    drawn: &[DrawnView],
    doubt: Option<&str>,
) -> (Verdict, Vec<String>) {
    let mut reasons = Vec::new();
    reasons.extend(doubt.map(str::to_string));
    for v in drawn.iter().filter(|v| v.confidence < LEAST_CONFIDENCE) {
        reasons.push(format!(
            "the {} view may have been read wrongly (confidence {:.2}); drawntrue sheet --stages shows where, a setup \
             file overrules it",
            v.name, v.confidence
        ));
    }
    let counted = || views.iter().flat_map(|v| &v.findings).filter(|f| !f.excused);
    let across = views
        .iter()
        .flat_map(|v| &v.limbs)
        .any(|l| !l.findings.is_empty());
    if reasons.is_empty()
        && findings.is_empty()
        && !across
        && counted().count() > 0
        && counted().all(|f| f.unsure)
    {
        reasons.push(
            "every finding rests on places where the drawing's outline is open, faint or disturbed; close and clean it \
             in the drawing, or erase what touches it in a setup file"
                .to_string(),
        );
    }
    if !reasons.is_empty() {
        return (Verdict::Undecided, reasons);
    }
    let verdict = if counted().count() > 0 || across || !findings.is_empty() {
        Verdict::OffModel
    } else {
        Verdict::OnModel
    };
    (verdict, reasons)
}
