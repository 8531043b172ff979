//! Every view compared, its findings put into words, and all of it put together into the report.

use rayon::prelude::*;

use crate::anatomy::{Anatomy, Aspect, Found, Frame, Region};
use crate::compare::bands::bands;
use crate::compare::landmarks::{self, Divided};
use crate::compare::rows::{Comparison, compare};
use crate::compare::square::{Limits, flat_limbs};
use crate::compare::tolerance::Tolerance;
use crate::compare::{agreement, spans, sureness, whereabouts, wording};
use crate::place::assign::{Placed, Placing, reach};
use crate::profile::Outline;
use crate::report::model::{
    ArmsMode, DrawnView, Finding, Inputs, MeshInput, PlacementReport, Program, REPORT_SCHEMA, Report,
    Settings, Sheet, SheetImage, View,
};
use crate::sheet::read::Figure;
use crate::silhouette::Silhouette;
use crate::space::{Point, ViewUnits};

use super::arms::Arms;
use super::verdict::{sheet_agreement, verdict};
use super::{Checked, HELD_FILE, ImageRead, Shown};

/// A held placement that differs by more than this share of the tolerance is pointed at.
const HELD_DIFFERS: f64 = 0.25;

#[allow(
    clippy::too_many_arguments,
    reason = "what a report is made of, each from another step"
)]
pub(super) fn measure(
    seen: &[Silhouette],
    mesh_input: MeshInput,
    images: &[ImageRead],
    settings: Settings,
    mut notes: Vec<String>,
    placing: &Placing,
    placement: PlacementReport,
    figures: &[(usize, &Figure)],
    arms: &mut Arms,
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
    notes.extend(own_grounds(placing, figures, height));
    let compared: Vec<(Outline<ViewUnits>, Comparison)> = placing
        .views
        .iter()
        .zip(figures)
        .filter_map(|(p, f)| Some((p, f, seen.iter().find(|s| s.azimuth() == p.azimuth)?)))
        .map(|(p, (image, f), s)| {
            let levelling = images[*image].reading.levelling;
            let to_view = |q: &Point<_>| p.placement.to_view(*q);
            let drawing = p.outline(&f.level);
            let line = f.line_px * p.placement.units_per_px;
            let mut comparison = compare(&drawing, s, p.placement.units_per_px, line, &limits);
            let placed = |pieces: &[[[f64; 2]; 2]]| -> Vec<[Point<ViewUnits>; 2]> {
                let place = |[x, y]: [f64; 2]| to_view(&levelling.level(Point::new(x, y)));
                pieces.iter().map(|ends| ends.map(place)).collect()
            };
            let drawn = sureness::Drawing {
                closed: &placed(&f.closed),
                doubtful: &placed(&f.doubtful),
                line,
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
        (Some(f), Some(s)) => {
            let fits = |k: usize, [low, high]: [f64; 2]| {
                let rows = &compared[[f, s][k]].1.rows;
                let mut near = rows.iter().filter(|r| (low..=high).contains(&r.row.y)).peekable();
                near.peek().is_some() && near.all(|r| r.deviation <= tolerance)
            };
            agreement::landmarks(&divided[f], &divided[s], height, fits)
        }
        _ => Vec::new(),
    };
    let landmarks = divided[front.unwrap_or(lead)].drawing.landmarks.clone();
    let table = landmarks::table(front.map(|i| &divided[i]), side.map(|i| &divided[i]));
    let mut views: Vec<View> = Vec::with_capacity(compared.len());
    let mut shown = Vec::with_capacity(compared.len());
    for (((p, (image, _)), (drawing, mut comparison)), own) in
        placing.views.iter().zip(figures).zip(compared).zip(divided)
    {
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
                        whereabouts::parts(&comparison.rows, &b, &own, tolerance),
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
                // What is left out of the mesh is not held against it.
                let ignored = settings.arms == ArmsMode::Ignore
                    && !parts.is_empty()
                    && parts.iter().all(|p| p.limb().region == Region::Arm);
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
                if ignored {
                    text += wording::IGNORED;
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
                    excused: b.excused || ignored,
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
            arrows: Vec::new(),
            findings,
        });
        shown.push(Shown {
            image: *image,
            placed: p.clone(),
            drawing,
            mesh: comparison.mesh_outline,
            landmarks: own.drawing.landmarks.clone(),
            divided: own,
            edges: comparison.rows.iter().map(|m| m.edges).collect(),
            other: None,
            arms: None,
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
    let (agreement, mut findings) =
        sheet_agreement(&drawn, figures, lead, heights, symmetry, settings.tolerance_pct);
    notes.extend(symmetry.filter(|s| s.worst_pct > settings.tolerance_pct).map(|s| {
        format!(
            "the front view is not symmetric: its middle is off by {:.1} % of the height at y {}; a mirrored mesh can only match the mean",
            s.worst_pct,
            wording::length(s.worst_y, height)
        )
    }));
    findings.append(&mut arms.findings);
    notes.append(&mut arms.notes);
    let (verdict, undecided) = verdict(&views, &findings, &drawn, placement.doubt.as_deref());
    let report = Report {
        schema: REPORT_SCHEMA,
        program: Program::this(),
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
        arms: std::mem::take(&mut arms.reports),
        findings,
        verdict,
        undecided,
        notes,
        landmarks: table,
        proportions: None,
        mesh_audit: None,
        advice: Vec::new(),
        fit: None,
    };
    Checked {
        report,
        views: shown,
        to_hold: None,
        stands: super::Stands::default(),
        moves: None,
        surface: None,
        settled: None,
    }
}

/// Says of each view that stands on its image higher or lower than the leading one that it was given a ground of its own.
fn own_grounds(placing: &Placing, figures: &[(usize, &Figure)], height: f64) -> Vec<String> {
    let lead = &placing.views[placing.lead];
    let of_lead = lead.placement.zero_px;
    let elsewhere = placing.views.iter().zip(figures).filter(|(p, (image, _))| {
        *image == figures[placing.lead].0 && !p.azimuth.is_above() && p.placement.zero_px != of_lead
    });
    elsewhere
        .map(|(p, _)| {
            let lower = (p.placement.zero_px - of_lead) * p.placement.units_per_px / height;
            format!(
                "the {} view is drawn {:.0} % of the height {} than the {} view: it is placed on a ground of its own",
                p.name,
                100.0 * lower.abs(),
                if lower > 0.0 { "lower on the sheet" } else { "higher on the sheet" },
                lead.name
            )
        })
        .collect()
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
            let y = p.placement.to_view(Point::new(0.0, *y)).y;
            if !landmarks::is_near(y, frame.ground, frame.height) {
                continue;
            }
            let found = if reading.guide_given.get(k).copied().unwrap_or(false) {
                Found::Setup
            } else {
                Found::GuideLine
            };
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
