//! A made-up check for tests: an egg-shaped body, drawn with a line, whose mesh is too thick on the right of its middle,
//! too thin on the left below it, and lacks the top.
//!
//! Heights run from 0 to 160 units; the drawing's half width is that of an ellipse, so that every number can be worked
//! by hand.

use crate::anatomy::{Anatomy, Aspect, Found, Frame, Landmark};
use crate::check::Shown;
use crate::compare::landmarks::Divided;
use crate::compare::rows::EdgeReading;
use crate::mesh::Axes;
use crate::place::assign::Placed;
use crate::place::transform::Placement;
use crate::profile::Outline;
use crate::report::model::{
    Agreement, AxesFrom, DrawnView, Facing, Finding, Inputs, Kind, MeshInput, PlacedBy, PlacementReport,
    Program, REPORT_SCHEMA, Report, Row, Settings, Sheet, SheetImage, SheetInput, Summary, Verdict, View,
};
use crate::sheet::level::Levelling;
use crate::sheet::picture::{Channels, Picture};
use crate::sheet::read::Reading;
use crate::silhouette::Azimuth;
use crate::space::{Point, ViewUnits};

/// Height of the figure.
const HEIGHT: f64 = 160.0;
/// Top of the mesh.
const MESH_TOP: f64 = 152.0;
/// Greatest half width as drawn.
const HALF_WIDTH: f64 = 34.0;
/// Units a pixel of the picture.
const UNITS_PER_PX: f64 = 0.2;
/// Height of a row.
const STEP: f64 = 0.4;

/// All that an overlay is made from.
pub(super) struct Scene {
    pub(super) report: Report,
    pub(super) shown: Shown,
    pub(super) picture: Picture,
    pub(super) reading: Reading,
}

fn drawn(y: f64) -> f64 {
    let t = (y - HEIGHT / 2.0) / (HEIGHT / 2.0);
    HALF_WIDTH * (1.0 - t * t).max(0.0).sqrt()
}

/// A smooth hill of height 1 between two heights.
fn hill(y: f64, from: f64, to: f64) -> f64 {
    let t = (y - from) / (to - from);
    if (0.0..=1.0).contains(&t) {
        (std::f64::consts::PI * t).sin().powi(2)
    } else {
        0.0
    }
}

/// Left and right end of the mesh.
fn meshed(y: f64) -> [f64; 2] {
    [
        -drawn(y) + 7.0 * hill(y, 16.0, 52.0),
        drawn(y) + 9.0 * hill(y, 62.0, 112.0),
    ]
}

fn row(y: f64) -> Row {
    let drawing = [-drawn(y), drawn(y)];
    if y > MESH_TOP {
        return Row {
            y,
            drawing: vec![drawing],
            mesh: Vec::new(),
            outer_diff: None,
            solid_diff: None,
            left_diff: None,
            right_diff: None,
            edge_sure_pct: 100,
            spans: Vec::new(),
        };
    }
    let mesh = meshed(y);
    let (left, right) = (drawing[0] - mesh[0], mesh[1] - drawing[1]);
    Row {
        y,
        drawing: vec![drawing],
        mesh: vec![mesh],
        outer_diff: Some(left + right),
        solid_diff: Some(left + right),
        left_diff: Some(left),
        right_diff: Some(right),
        edge_sure_pct: 100,
        spans: Vec::new(),
    }
}

fn finding(number: usize, kind: Kind, range: [f64; 2], worst_y: f64, text: &str) -> Finding {
    let row = row(worst_y);
    Finding {
        number,
        kind,
        y_from: range[0],
        y_to: range[1],
        worst_y,
        outer_diff: row.outer_diff,
        left_diff: row.left_diff,
        right_diff: row.right_diff,
        worst_distance: row.outer_diff.unwrap_or(HEIGHT - MESH_TOP).abs(),
        parts: Vec::new(),
        between: vec!["crotch".to_string(), "armpit".to_string()],
        explained_pct: None,
        text: text.to_string(),
        excused: false,
        unsure: false,
    }
}

fn view(name: &str, first: usize, azimuth_deg: f64) -> View {
    let rows: Vec<Row> = (0..(HEIGHT / STEP) as usize)
        .map(|k| row(HEIGHT - STEP * (k as f64 + 0.5)))
        .collect();
    let mut sizes: Vec<f64> = rows.iter().filter_map(|r| r.outer_diff).map(f64::abs).collect();
    sizes.sort_by(f64::total_cmp);
    let outside = sizes.iter().filter(|d| **d > 1.6).count();
    View {
        name: name.to_string(),
        units_per_px: UNITS_PER_PX,
        mirrored: false,
        azimuth_deg,
        summary: Summary {
            iou: 0.941,
            boundary_iou: 0.8,
            outer_diff_mean_abs: sizes.iter().sum::<f64>() / sizes.len() as f64,
            outer_diff_p95_abs: sizes[sizes.len() * 95 / 100],
            outer_diff_max_abs: sizes[sizes.len() - 1],
            contour_mean: 0.9,
            contour_p95: 6.0,
            contour_max: 9.0,
            rows_total: rows.len(),
            rows_outside: outside,
        },
        rows,
        limbs: Vec::new(),
        other_surface: None,
        arrows: Vec::new(),
        findings: vec![
            finding(
                first,
                Kind::Thick,
                [70.0, 104.0],
                87.0,
                "9.0 too thick between crotch and armpit (44 to 65 % of the height); at y 87.0: left +0.0, right +9.0",
            ),
            finding(
                first + 1,
                Kind::Missing,
                [MESH_TOP, HEIGHT],
                156.0,
                "drawn, but not in the mesh; worst at y 156.0",
            ),
            finding(
                first + 2,
                Kind::Thin,
                [22.0, 46.0],
                34.0,
                "7.0 too thin (14 to 29 % of the height); at y 34.0: left −7.0, right +0.0",
            ),
        ],
    }
}

fn drawn_view(name: &str, facing: Facing) -> DrawnView {
    DrawnView {
        name: name.to_string(),
        sheet: 0,
        box_px: [129.0, 99.0, 471.0, 901.0],
        facing,
        crown_px: 100.0,
        ground_px: 900.0,
        line_px: 5.0,
        confidence: 0.97,
        warnings: Vec::new(),
    }
}

/// A check with a front and a side view.
pub(super) fn report() -> Report {
    Report {
        schema: REPORT_SCHEMA,
        program: Program::this(),
        unit: "cm".to_string(),
        figure_height: HEIGHT,
        ground_y: 0.0,
        crown_y: HEIGHT,
        inputs: Inputs {
            mesh: MeshInput {
                path: "meshes/egg.obj".to_string(),
                sha256: "00".repeat(32),
                vertices: 8,
                faces: 6,
                triangles: 0,
                quads: 6,
                ngons: 0,
            },
            sheets: vec![SheetInput {
                path: "drawings/egg.png".to_string(),
                sha256: "11".repeat(32),
                width_px: 600,
                height_px: 1000,
            }],
            setup: None,
        },
        settings: Settings {
            unit: "cm".to_string(),
            ..Settings::default()
        },
        sheet: Sheet {
            images: vec![SheetImage {
                skew_deg: 0.0,
                guide_lines_px: Vec::new(),
            }],
            views: vec![
                drawn_view("front", Facing::Viewer),
                drawn_view("side", Facing::Right),
            ],
            agreement: Agreement {
                line_diff_pct: vec![0.0],
                landmarks: Vec::new(),
                symmetry: None,
                height_diff_pct: vec![0.0, 0.0],
            },
        },
        placement: PlacementReport {
            how: PlacedBy::Fit,
            lead: "front".to_string(),
            units_per_px: UNITS_PER_PX,
            ground_y: 0.0,
            scale_uncertainty_pct: Some(0.1),
            ground_uncertainty: Some(0.05),
            outline_share: Some(0.8),
            axes: Axes::default(),
            axes_from: AxesFrom::Usual,
            views: Vec::new(),
            held: None,
            doubt: None,
        },
        views: vec![view("front", 1, 0.0), view("side", 4, 90.0)],
        arms: Vec::new(),
        findings: Vec::new(),
        verdict: Verdict::OffModel,
        undecided: Vec::new(),
        notes: Vec::new(),
        landmarks: Vec::new(),
        proportions: None,
        mesh_audit: None,
        advice: Vec::new(),
        fit: None,
    }
}

fn ring(ends: impl Fn(f64) -> [f64; 2], top: f64) -> Outline<ViewUnits> {
    let heights: Vec<f64> = (0..=400).map(|k| top * f64::from(k) / 400.0).collect();
    let right = heights.iter().map(|&y| Point::new(ends(y)[1], y));
    let left = heights.iter().rev().map(|&y| Point::new(ends(y)[0], y));
    Outline {
        rings: vec![right.chain(left).collect()],
    }
}

/// The first view of [`report`] with its picture: black line on white.
pub(super) fn scene() -> Scene {
    let (width, height) = (600, 1000);
    let placement = Placement {
        units_per_px: UNITS_PER_PX,
        origin_px: 300.0,
        zero_px: 900.0,
        mirrored: false,
    };
    let data = (0..width * height)
        .map(|i| {
            let (x, y) = ((i % width) as f64 + 0.5, (i / width) as f64 + 0.5);
            let (x, y) = ((x - 300.0) * UNITS_PER_PX, (900.0 - y) * UNITS_PER_PX);
            let off = (x.abs() - drawn(y)).abs();
            if off < 0.5 && (0.0..=HEIGHT).contains(&y) {
                0
            } else {
                255
            }
        })
        .collect();
    Scene {
        report: report(),
        shown: Shown {
            edges: vec![[EdgeReading::Measured; 2]; (HEIGHT / STEP) as usize],
            arms: None,
            other: None,
            image: 0,
            placed: Placed {
                name: "front".to_string(),
                facing: Facing::Viewer,
                azimuth: Azimuth::FRONT,
                placement,
                agreeing: 0.9,
            },
            drawing: ring(|y| [-drawn(y), drawn(y)], HEIGHT),
            mesh: ring(meshed, MESH_TOP),
            divided: {
                let frame = Frame {
                    ground: 0.0,
                    height: HEIGHT,
                    crotch: None,
                    neck: None,
                };
                let of = |outline| Anatomy::of(&outline, &frame, Aspect::Frontal);
                Divided {
                    drawing: of(ring(|y| [-drawn(y), drawn(y)], HEIGHT)),
                    mesh: of(ring(meshed, MESH_TOP)),
                }
            },
            landmarks: [
                ("ground", 0.0),
                ("crotch", 60.0),
                ("armpit", 110.0),
                ("crown", HEIGHT),
            ]
            .map(|(name, y)| Landmark {
                name,
                y,
                within: 0.0,
                confidence: 0.9,
                found: Found::Outline,
            })
            .to_vec(),
        },
        picture: Picture::new(width, height, Channels::Grey, data),
        reading: Reading {
            levelling: Levelling::new(width, height, 0.0),
            skew_deg: 0.0,
            guide_lines_px: Vec::new(),
            guide_means: Vec::new(),
            guide_given: Vec::new(),
            threshold: 30,
            figures: Vec::new(),
        },
    }
}
