//! A whole check: mesh and sheet in, one report out. The order of the steps, nothing else.

use crate::audit::{Options, audit};
use crate::compare::bands::bands;
use crate::compare::landmarks::{self, Landmark};
use crate::compare::rows::{Comparison, EdgeReading, compare};
use crate::compare::sureness;
use crate::compare::wording;
use crate::error::{Error, Result};
use crate::mesh::Mesh;
use crate::place::assign::{Asked, Candidate, MeshViews, OUTLINE_ROWS, Placed, Placing, place, reach};
use crate::profile::Outline;
use crate::report::model::{
    Agreement, DrawnView, Finding, Inputs, MeshAudit, MeshInput, REPORT_SCHEMA, Report, Settings, Sheet,
    SheetFinding, SheetImage, SheetInput, Verdict, View,
};
use crate::sheet::read::{Figure, Reading};
use crate::silhouette::{Azimuth, Silhouette, silhouettes};
use crate::space::{Point, ViewUnits};

/// Below this share of agreeing outline a placement rests on too little.
const LEAST_AGREEING: f64 = 0.25;
/// A view below this confidence may have been read wrongly.
const LEAST_CONFIDENCE: f64 = 0.5;
/// Drawn views whose heights differ by more than this share contradict each other. A hand is true to 0.15 % of the
/// height at each end.
const HEIGHTS_DIFFER: f64 = 0.007;

/// The views that a drawn figure can show; one walk over the mesh makes them all.
const SHOWN: [Azimuth; 4] = [
    Azimuth::FRONT,
    Azimuth::FACING_RIGHT,
    Azimuth::BACK,
    Azimuth::FACING_LEFT,
];

/// Turns from which a view from between is looked for, in each quarter, degrees: drawn three-quarter views lie about
/// 45 degrees. Common practice, no source.
const BETWEEN: [f64; 5] = [28.0, 36.5, 45.0, 53.5, 62.0];
/// Reach, in steps to either side, and step of the finer search, degrees.
const FINER: (i32, f64) = (6, 1.5);

fn obliques() -> Vec<Azimuth> {
    BETWEEN
        .iter()
        .flat_map(|a| [*a, -a, 180.0 - a, a - 180.0])
        .map(Azimuth::from_degrees)
        .collect()
}

/// Finer turns around those that were found.
fn around(placing: &Placing) -> Vec<Azimuth> {
    let mut degrees: Vec<f64> = placing
        .views
        .iter()
        .filter(|v| !SHOWN.contains(&v.azimuth))
        .flat_map(|v| (-FINER.0..=FINER.0).map(|k| v.azimuth.degrees() + f64::from(k) * FINER.1))
        .collect();
    degrees.sort_by(f64::total_cmp);
    degrees.dedup();
    degrees.into_iter().map(Azimuth::from_degrees).collect()
}

/// One image of the sheet, read.
pub struct ImageRead {
    /// What it was given as.
    pub asked: Asked,
    /// What each figure was named as, by a person; shorter than the figures where nobody did.
    pub named: Vec<Option<Asked>>,
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
}

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
}

/// Checks a prepared mesh (upright, mirrored, groups chosen) against read images.
///
/// # Errors
/// The mesh is flat, or the drawing cannot be laid onto it.
pub fn check(
    mesh: &Mesh,
    mesh_input: MeshInput,
    images: &[ImageRead],
    settings: Settings,
    notes: Vec<String>,
) -> Result<Checked> {
    let (checked, audited) = rayon::join(
        || compared(mesh, mesh_input, images, settings, notes),
        || {
            audit(
                mesh,
                &Options {
                    quick: true,
                    ..Options::default()
                },
            )
        },
    );
    let mut checked = checked?;
    checked.report.mesh_audit = Some(MeshAudit::new(&audited));
    Ok(checked)
}

/// The check but for the mesh's own soundness.
fn compared(
    mesh: &Mesh,
    mesh_input: MeshInput,
    images: &[ImageRead],
    settings: Settings,
    notes: Vec<String>,
) -> Result<Checked> {
    let mut seen = silhouettes(mesh, &SHOWN);
    let [front, right, ..] = seen.as_slice() else {
        return Err(Error::new("the mesh has no views"));
    };
    let (front, right) = (front.outline(OUTLINE_ROWS), right.outline(OUTLINE_ROWS));
    let shapes = |between: &[Silhouette]| {
        let outlines: Vec<_> = between
            .iter()
            .map(|s| (s.azimuth(), s.outline(OUTLINE_ROWS)))
            .collect();
        MeshViews::new(&front, &right, &outlines)
    };
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
                })
        })
        .collect();
    let oblique = candidates
        .iter()
        .any(|c| c.asked == Asked::Any && c.figure.oblique);
    let placing = if oblique {
        // First roughly, then around what was found.
        let between = silhouettes(mesh, &obliques());
        let rough = place(&candidates, &shapes(&between)?, settings.figure_height)?;
        let between = silhouettes(mesh, &around(&rough));
        let fine = place(&candidates, &shapes(&between)?, settings.figure_height)?;
        seen.extend(between);
        fine
    } else {
        place(&candidates, &shapes(&[])?, settings.figure_height)?
    };
    let figures: Vec<(usize, &Figure)> = candidates.iter().map(|c| (c.image, c.figure)).collect();
    Ok(measure(
        &seen, mesh_input, images, settings, notes, &placing, &figures,
    ))
}

fn measure(
    seen: &[Silhouette],
    mesh_input: MeshInput,
    images: &[ImageRead],
    settings: Settings,
    notes: Vec<String>,
    placing: &Placing,
    figures: &[(usize, &Figure)],
) -> Checked {
    let lead = placing.lead;
    let (crown_y, ground_y) = reach(&placing.views[lead].placement, figures[lead].1);
    let height = crown_y - ground_y;
    let tolerance = settings.tolerance_pct / 100.0 * height;
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
            let mut comparison = compare(&drawing, s, p.placement.units_per_px, tolerance);
            let closed: Vec<_> = f
                .closed
                .iter()
                .map(|ends| ends.map(|[x, y]| to_view(&levelling.level(Point::new(x, y)))))
                .collect();
            let drawn = sureness::Drawing {
                closed: &closed,
                line: f.line_px * p.placement.units_per_px,
                tolerance,
            };
            sureness::judge(&mut comparison.rows, &drawn);
            (drawing, comparison)
        })
        .collect();
    let report_rows = |c: &Comparison| c.rows.iter().map(|m| m.row.clone()).collect::<Vec<_>>();
    let landmarks = landmarks::find(&report_rows(&compared[lead].1));
    let mut views: Vec<View> = Vec::with_capacity(compared.len());
    let mut shown = Vec::with_capacity(compared.len());
    for ((p, (image, _)), (drawing, comparison)) in placing.views.iter().zip(figures).zip(compared) {
        let findings = bands(&comparison.rows, height, tolerance, settings.unfinished)
            .into_iter()
            .map(|b| {
                let row = &comparison.rows[b.worst];
                let between = landmarks::between(&landmarks, row.row.y);
                let unsure = sureness::mostly_unsure(&comparison.rows, b.y_from, b.y_to);
                let mut text = wording::text(&b, row, &between, p.facing, ground_y, height, &settings.unit);
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
                    between,
                    text,
                    excused: b.excused,
                    unsure,
                }
            })
            .collect();
        views.push(View {
            name: p.name.clone(),
            units_per_px: p.placement.units_per_px,
            mirrored: p.placement.mirrored,
            azimuth_deg: p.azimuth.degrees(),
            rows: report_rows(&comparison),
            summary: comparison.summary,
            findings,
        });
        shown.push(Shown {
            image: *image,
            placed: p.clone(),
            drawing,
            mesh: comparison.mesh_outline,
            landmarks: landmarks.clone(),
            edges: comparison.rows.iter().map(|m| m.edges).collect(),
        });
    }
    number(&mut views);
    let drawn: Vec<DrawnView> = placing
        .views
        .iter()
        .zip(figures)
        .map(|(p, (image, f))| DrawnView::new(f, p.name.clone(), p.facing, *image))
        .collect();
    let (agreement, findings) = agreement(&drawn, figures, lead);
    let (verdict, undecided) = verdict(&views, &findings, &drawn, placing.agreeing);
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
        views,
        findings,
        verdict,
        undecided,
        notes,
        mesh_audit: None,
    };
    Checked { report, views: shown }
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

/// Heights of the drawn views of the leading image against the lead's.
fn agreement(
    drawn: &[DrawnView],
    figures: &[(usize, &Figure)],
    lead: usize,
) -> (Agreement, Vec<SheetFinding>) {
    let height = |v: &DrawnView| v.ground_px - v.crown_px;
    let mut findings = Vec::new();
    let height_diff_pct = drawn
        .iter()
        .zip(figures)
        .map(|(v, (image, _))| {
            // Other images have a scale of their own: their heights agree by definition.
            if *image != figures[lead].0 {
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
    (Agreement { height_diff_pct }, findings)
}

/// The verdict, and if it is `undecided` why, and what would help.
fn verdict(
    views: &[View],
    findings: &[SheetFinding],
    drawn: &[DrawnView],
    agreeing: f64,
) -> (Verdict, Vec<String>) {
    let mut reasons = Vec::new();
    if agreeing < LEAST_AGREEING {
        reasons.push(format!(
            "only {:.0} % of the mesh's outline lies on the drawing, too little to place it by; give --figure-height, \
             or see whether mesh and sheet belong together",
            100.0 * agreeing
        ));
    }
    for v in drawn.iter().filter(|v| v.confidence < LEAST_CONFIDENCE) {
        reasons.push(format!(
            "the {} view may have been read wrongly (confidence {:.2}); drawntrue sheet --stages shows where, a setup \
             file overrules it",
            v.name, v.confidence
        ));
    }
    let counted = || views.iter().flat_map(|v| &v.findings).filter(|f| !f.excused);
    if reasons.is_empty() && findings.is_empty() && counted().count() > 0 && counted().all(|f| f.unsure) {
        reasons.push(
            "every finding rests on places where the drawing's outline was open; close the outline in the drawing"
                .to_string(),
        );
    }
    if !reasons.is_empty() {
        return (Verdict::Undecided, reasons);
    }
    let verdict = if counted().count() > 0 || !findings.is_empty() {
        Verdict::OffModel
    } else {
        Verdict::OnModel
    };
    (verdict, reasons)
}
