//! The one result of a check, as `report.json` writes it. Every other output is made from this value.
//!
//! Lengths are in mesh units unless the name ends in `_px`, `_pct` or `_deg`; `y` and `x` are the mesh's own
//! coordinates seen in the view (see [`crate::space::ViewUnits`]); differences are mesh minus drawing.

use serde::Serialize;

use crate::sheet::read::Figure;

pub use crate::mesh::UpAxis;
pub use crate::sheet::edge::LineEdge;
pub use crate::sheet::views::Facing;

/// The value of `schema` in a report.
pub const REPORT_SCHEMA: &str = "drawntrue.report/1";
/// The value of `schema` in what the `sheet` command writes.
pub const SHEET_SCHEMA: &str = "drawntrue.sheet/1";

/// A whole check.
#[derive(Debug, Clone, Serialize)]
pub struct Report {
    /// [`REPORT_SCHEMA`].
    pub schema: &'static str,
    /// Label of the unit of length, empty if none was given.
    pub unit: String,
    /// `crown_y - ground_y`.
    pub figure_height: f64,
    /// Where the leading view's ground landed on the mesh.
    pub ground_y: f64,
    /// Where the leading view's crown landed on the mesh.
    pub crown_y: f64,
    /// What was read.
    pub inputs: Inputs,
    /// Every option in force, defaults included.
    pub settings: Settings,
    /// The drawing as it was read.
    pub sheet: Sheet,
    /// The compared views.
    pub views: Vec<View>,
    /// Findings that are not about one view.
    pub findings: Vec<SheetFinding>,
    /// What to take from it all.
    pub verdict: Verdict,
    /// Why the verdict is `undecided`, and what would help; empty otherwise.
    pub undecided: Vec<String>,
    /// Things a person should know: parts left out, a placement that was estimated.
    pub notes: Vec<String>,
    /// Whether the mesh is sound, in one line; takes no part in the verdict.
    pub mesh_audit: Option<MeshAudit>,
}

/// The quick part of an audit, in short.
#[derive(Debug, Clone, Serialize)]
pub struct MeshAudit {
    /// The worst outcome.
    pub outcome: crate::audit::model::Outcome,
    /// Checks that failed, and how many faults each has.
    pub failed: Vec<(&'static str, usize)>,
    /// In one line.
    pub text: String,
}

impl MeshAudit {
    /// In short what an audit says.
    pub fn new(audit: &crate::audit::model::Audit) -> Self {
        let failed: Vec<(&'static str, usize)> = audit
            .checks
            .iter()
            .filter(|c| c.outcome == crate::audit::model::Outcome::Fail)
            .map(|c| (c.id, c.count))
            .collect();
        let list: Vec<String> = failed.iter().map(|(id, count)| format!("{id} {count}")).collect();
        Self {
            outcome: audit.outcome(),
            text: if failed.is_empty() {
                "the mesh is sound".to_string()
            } else {
                format!(
                    "the mesh is not sound: {} (`drawntrue audit` says where)",
                    list.join(", ")
                )
            },
            failed,
        }
    }
}

/// The files that were read.
#[derive(Debug, Clone, Serialize)]
pub struct Inputs {
    /// The mesh file.
    pub mesh: MeshInput,
    /// The sheet's images, in the order they were given.
    pub sheets: Vec<SheetInput>,
    /// The setup file, if one was used.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub setup: Option<SetupInput>,
}

/// A mesh file and what it holds.
#[derive(Debug, Clone, Serialize)]
#[allow(missing_docs, reason = "the names say it")]
pub struct MeshInput {
    pub path: String,
    pub sha256: String,
    pub vertices: usize,
    pub faces: usize,
    pub triangles: usize,
    pub quads: usize,
    pub ngons: usize,
}

/// An image file and its upright size.
#[derive(Debug, Clone, Serialize)]
#[allow(missing_docs, reason = "the names say it")]
pub struct SheetInput {
    pub path: String,
    pub sha256: String,
    pub width_px: u32,
    pub height_px: u32,
}

/// A setup file.
#[derive(Debug, Clone, Serialize)]
#[allow(missing_docs, reason = "the names say it")]
pub struct SetupInput {
    pub path: String,
    pub sha256: String,
}

/// Options in force.
#[derive(Debug, Clone, Serialize)]
pub struct Settings {
    /// `--figure-height`, if it was given.
    pub figure_height: Option<f64>,
    /// `--tolerance`, percent of the figure height.
    pub tolerance_pct: f64,
    /// `--unfinished`.
    pub unfinished: bool,
    /// `--mirror`.
    pub mirror: bool,
    /// `--groups`; empty: all.
    pub groups: Vec<String>,
    /// `--skip-groups`.
    pub skip_groups: Vec<String>,
    /// `--line-edge`: `centre`, `outer` or `inner`.
    pub line_edge: LineEdge,
    /// `--up`: `y` or `z`.
    pub up: UpAxis,
    /// `--unit`.
    pub unit: String,
}

/// The drawing as it was read.
#[derive(Debug, Clone, Serialize)]
pub struct Sheet {
    /// In the order of the inputs.
    pub images: Vec<SheetImage>,
    /// All drawn views.
    pub views: Vec<DrawnView>,
    /// How far the drawn views agree with each other.
    pub agreement: Agreement,
}

/// One image of the sheet.
#[derive(Debug, Clone, Serialize)]
pub struct SheetImage {
    /// Turn of the file's picture, counter-clockwise as seen positive.
    pub skew_deg: f64,
    /// Heights of guide lines after levelling.
    pub guide_lines_px: Vec<f64>,
}

/// One drawn figure.
#[derive(Debug, Clone, Serialize)]
pub struct DrawnView {
    /// `front`, `side`, `back`, `three-quarter`, with `-2` and so on for further ones.
    pub name: String,
    /// Index into the inputs' sheets.
    pub sheet: usize,
    /// `[x0, y0, x1, y1]`, outer edge of the line, upright pixels.
    pub box_px: [f64; 4],
    /// `viewer`, `away`, `left` or `right`.
    pub facing: Facing,
    /// Height of the crown after levelling, on the outline.
    pub crown_px: f64,
    /// Height of the ground after levelling, on the outline.
    pub ground_px: f64,
    /// Measured line width, 0 where there is no ink line.
    pub line_px: f64,
    /// How sure the reading is, 0 to 1.
    pub confidence: f64,
    /// What made the reader unsure.
    pub warnings: Vec<String>,
}

/// How far the drawn views agree; percent are of the leading view's height.
#[derive(Debug, Clone, Serialize, Default)]
pub struct Agreement {
    /// Each view's height against the leading view's, `100 * (height / leading - 1)`, in the order of
    /// the sheet's views, per image scale.
    pub height_diff_pct: Vec<f64>,
}

/// A comparison in one view.
#[derive(Debug, Clone, Serialize)]
pub struct View {
    /// The drawn view's name.
    pub name: String,
    /// Mesh units per levelled pixel of the sheet.
    pub units_per_px: f64,
    /// The drawing had to be read the other way round to fit.
    pub mirrored: bool,
    /// Azimuth of the mesh's view: front 0, facing right 90, back 180, facing left −90.
    pub azimuth_deg: f64,
    /// Rows from the top down.
    pub rows: Vec<Row>,
    /// Figures for the whole view.
    pub summary: Summary,
    /// Worst first.
    pub findings: Vec<Finding>,
}

/// One row of one view.
#[derive(Debug, Clone, Serialize)]
pub struct Row {
    /// Height.
    pub y: f64,
    /// The drawing's spans.
    pub drawing: Vec<[f64; 2]>,
    /// The mesh's spans.
    pub mesh: Vec<[f64; 2]>,
    /// `left_diff + right_diff`, `None` where only one of the two has spans.
    pub outer_diff: Option<f64>,
    /// Difference of the summed span lengths.
    pub solid_diff: Option<f64>,
    /// How far the mesh reaches beyond the drawing on the left.
    pub left_diff: Option<f64>,
    /// How far the mesh reaches beyond the drawing on the right.
    pub right_diff: Option<f64>,
    /// How sure the drawing's edges are in this row, 0 to 100: less the broader the line, and little where a gap of the
    /// outline was closed.
    pub edge_sure_pct: u8,
}

/// Figures for a whole view. Differences and distances are in units.
#[derive(Debug, Clone, Copy, Serialize, Default)]
pub struct Summary {
    /// Area of the intersection over the area of the union.
    pub iou: f64,
    /// The same within a band of the tolerance's width inside each outline (Cheng et al. 2021).
    pub boundary_iou: f64,
    /// Mean of `|outer_diff|`.
    pub outer_diff_mean_abs: f64,
    /// 95th percentile of `|outer_diff|`.
    pub outer_diff_p95_abs: f64,
    /// Largest `|outer_diff|`.
    pub outer_diff_max_abs: f64,
    /// Mean distance between the outlines, both directions pooled.
    pub contour_mean: f64,
    /// 95th percentile of it.
    pub contour_p95: f64,
    /// Largest of it.
    pub contour_max: f64,
    /// Number of rows.
    pub rows_total: usize,
    /// Rows with a span's end outside tolerance.
    pub rows_outside: usize,
}

/// What kind of deviation a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// The mesh is wider.
    Thick,
    /// The mesh is narrower.
    Thin,
    /// Right width, wrong place.
    Shifted,
    /// A gap of the drawing is closed or too narrow in the mesh.
    GapClosed,
    /// The mesh has a gap, or a wider one, where the drawing has none.
    GapOpen,
    /// Only the drawing is there.
    Missing,
    /// Only the mesh is there.
    Extra,
}

/// A run of rows of one view that belong together.
#[derive(Debug, Clone, Serialize)]
pub struct Finding {
    /// Its number, the same in terminal and pictures, from 1, counted over all views, worst first.
    pub number: usize,
    /// What kind.
    pub kind: Kind,
    /// Lower end.
    pub y_from: f64,
    /// Upper end.
    pub y_to: f64,
    /// Height of the worst row.
    pub worst_y: f64,
    /// At `worst_y`; `None` where only one of the two is there.
    pub outer_diff: Option<f64>,
    /// At `worst_y`.
    pub left_diff: Option<f64>,
    /// At `worst_y`.
    pub right_diff: Option<f64>,
    /// Largest distance of a span's end from the other outline within the finding.
    pub worst_distance: f64,
    /// The two landmarks that enclose it, lower one first; empty if none are known.
    pub between: Vec<String>,
    /// The finding in words.
    pub text: String,
    /// Listed only, because the mesh is unfinished; does not count for the verdict.
    pub excused: bool,
    /// It rests mostly on rows where the drawing's edge is unsure; does not count for the verdict by itself.
    pub unsure: bool,
}

/// A finding that is not about one view.
#[derive(Debug, Clone, Serialize)]
pub struct SheetFinding {
    /// `views-disagree`, for instance.
    pub kind: String,
    /// The finding in words.
    pub text: String,
}

/// What to take from a check.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Everything is within tolerance.
    OnModel,
    /// Something is outside tolerance.
    OffModel,
    /// Could not be read or placed surely enough to say.
    Undecided,
}

impl DrawnView {
    /// A figure of image `sheet` as a report describes it.
    pub fn new(figure: &Figure, name: String, facing: Facing, sheet: usize) -> Self {
        Self {
            name,
            sheet,
            box_px: figure.box_px,
            facing,
            crown_px: figure.crown_px,
            ground_px: figure.ground_px,
            line_px: figure.line_px,
            confidence: figure.confidence,
            warnings: figure.warnings.clone(),
        }
    }
}
