//! The one result of a check, as `report.json` writes it. Every other output is made from this value.
//!
//! Lengths are in mesh units unless the name ends in `_px`, `_pct` or `_deg`; `y` and `x` are the mesh's own
//! coordinates seen in the view (see [`crate::space::ViewUnits`]); differences are mesh minus drawing.

use serde::{Deserialize, Serialize};

use crate::sheet::read::Figure;

pub use super::arms::{ArmReport, ArmSegment, ArmsMode, End, JointFrom, ShoulderBend, Side};
pub use super::placement::{AxesFrom, HeldReport, PlacedBy, PlacedView, PlacementReport};
pub use super::proportions::{ProportionRow, Proportions};
use crate::mesh::Axes;
pub use crate::mesh::{Heading, UpAxis};
pub use crate::place::placing::Lead;
pub use crate::sheet::edge::LineEdge;
pub use crate::sheet::views::Facing;
pub use crate::smooth::Smoothing;

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
    /// Where the drawing lies on the mesh, and how that was found.
    pub placement: PlacementReport,
    /// The compared views.
    pub views: Vec<View>,
    /// The arms, the left one first; empty unless they are turned.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub arms: Vec<ArmReport>,
    /// Findings that are not about one view.
    pub findings: Vec<SheetFinding>,
    /// What to take from it all.
    pub verdict: Verdict,
    /// Why the verdict is `undecided`, and what would help; empty otherwise.
    pub undecided: Vec<String>,
    /// Things a person should know: parts left out, a placement that was estimated.
    pub notes: Vec<String>,
    /// Named heights, from the crown down.
    pub landmarks: Vec<LandmarkRow>,
    /// The same against a canon, where one was chosen.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub proportions: Option<Proportions>,
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

/// A named set of tolerances for a stage of the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stage {
    /// Masses are set up: proportions count.
    BlockIn,
    /// Forms are worked out.
    Refine,
    /// The model is handed on.
    Final,
}

impl Stage {
    /// Percent of the figure height, and percent of the local width. Common practice, no source.
    pub fn tolerances(self) -> (f64, Option<f64>) {
        match self {
            Self::BlockIn => (2.0, None),
            Self::Refine => (1.0, Some(10.0)),
            Self::Final => (0.5, Some(5.0)),
        }
    }

    /// The stage of a name.
    pub fn parse(text: &str) -> Option<Self> {
        [Self::BlockIn, Self::Refine, Self::Final]
            .into_iter()
            .find(|s| s.name() == text)
    }

    /// As it is typed.
    pub fn name(self) -> &'static str {
        match self {
            Self::BlockIn => "block-in",
            Self::Refine => "refine",
            Self::Final => "final",
        }
    }
}

/// Options in force.
#[derive(Debug, Clone, Serialize)]
pub struct Settings {
    /// `--figure-height`, if it was given.
    pub figure_height: Option<f64>,
    /// `--scale`, mesh units per pixel of the leading view's image, if it was given.
    pub scale: Option<f64>,
    /// `--ground`, mesh height of the leading view's ground, if it was given.
    pub ground: Option<f64>,
    /// `--lead`, if it was given: the view that scale and ground are found from.
    pub lead: Option<Lead>,
    /// `--hold-placement`.
    pub hold_placement: bool,
    /// `--smooth`: how far the surface that decides is smoothed; `None`: the cage decides.
    pub smooth: Option<Smoothing>,
    /// `--stage`, if it was given.
    pub stage: Option<Stage>,
    /// `--tolerance`, percent of the figure height.
    pub tolerance_pct: f64,
    /// `--tolerance-width`, percent of the local width; `None`: off.
    pub tolerance_width_pct: Option<f64>,
    /// `--unfinished`.
    pub unfinished: bool,
    /// `--mirror`.
    pub mirror: bool,
    /// `--arms`.
    pub arms: ArmsMode,
    /// `--canon`, if one was chosen: its name, or the file of another character's landmarks.
    pub canon: Option<String>,
    /// `--groups`; empty: all.
    pub groups: Vec<String>,
    /// `--skip-groups`.
    pub skip_groups: Vec<String>,
    /// Open borders that are meant, by the setup file: each named by one of its vertices.
    pub borders: Vec<u32>,
    /// x of the mirror plane, by the setup file; `None`: found.
    pub plane: Option<f64>,
    /// `--line-edge`: `centre`, `outer` or `inner`.
    pub line_edge: LineEdge,
    /// `--up`: `y` or `z`; `None`: recognised, see the placement.
    pub up: Option<UpAxis>,
    /// `--facing`: `x`, `-x`, `y`, `-y`, `z` or `-z`; `None`: recognised, or the usual for `--up`.
    pub facing: Option<Heading>,
    /// `--unit`.
    pub unit: String,
}

impl Settings {
    /// How the mesh stands in its file, where a person said it; an axis that was not named is the usual one.
    pub fn axes(&self) -> Option<Axes> {
        match (self.up, self.facing) {
            (None, None) => None,
            (up, None) => Some(Axes::usual(up.unwrap_or_default())),
            (Some(up), Some(facing)) => Axes::new(up, facing),
            // A figure that looks along y has z up, any other one y.
            (None, Some(facing)) => [UpAxis::Y, UpAxis::Z]
                .into_iter()
                .find_map(|up| Axes::new(up, facing)),
        }
    }
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            figure_height: None,
            scale: None,
            ground: None,
            hold_placement: false,
            lead: None,
            smooth: None,
            stage: None,
            tolerance_pct: 1.0,
            tolerance_width_pct: None,
            unfinished: false,
            mirror: false,
            arms: ArmsMode::AsModelled,
            canon: None,
            groups: Vec::new(),
            skip_groups: Vec::new(),
            borders: Vec::new(),
            plane: None,
            line_edge: LineEdge::default(),
            up: None,
            facing: None,
            unit: String::new(),
        }
    }
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
    /// Each view's line width against the leading view's, percent, in the order of the sheet's views; 0 where one of the
    /// two has no line.
    pub line_diff_pct: Vec<f64>,
    /// Landmarks that the front and the side view show both.
    pub landmarks: Vec<LandmarkAgreement>,
    /// The front (or back) view against its own mirror image; `None` where there is none.
    pub symmetry: Option<Symmetry>,
}

/// The same landmark in two drawn views.
#[derive(Debug, Clone, Serialize)]
pub struct LandmarkAgreement {
    /// Its name.
    pub name: &'static str,
    /// Its height in the front (or back) view.
    pub front: f64,
    /// Its height in the side view.
    pub side: f64,
    /// Side minus front, percent of the figure's height.
    pub diff_pct: f64,
    /// Whether that is more than hand and outline leave open.
    pub contradicts: bool,
    /// The view that the mesh is nearer to, `front` or `side`; `None` where they agree or the mesh does not show it.
    pub mesh_nearer: Option<&'static str>,
}

/// How far a drawn front view is from its own mirror image about its best axis, by half widths of its rows.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct Symmetry {
    /// Half of the mean difference between the two sides, percent of the figure's height.
    pub mean_pct: f64,
    /// Half of the largest.
    pub worst_pct: f64,
    /// Where it is largest.
    pub worst_y: f64,
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
    /// Limbs that lie too flat for rows to measure.
    pub limbs: Vec<FlatLimb>,
    /// The surface that does not decide: the smoothed one beside the cage, or the cage beside the smoothed one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub other_surface: Option<OtherSurface>,
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
    /// Spans of the drawing and of the mesh that are the same part, left to right.
    pub spans: Vec<SpanPair>,
}

/// A span of the drawing and the span of the mesh that belongs to it, inner edges included.
#[derive(Debug, Clone, Serialize)]
pub struct SpanPair {
    /// Which part of the body; left and right as seen.
    pub part: &'static str,
    /// Index into the row's `drawing`.
    pub drawing: usize,
    /// Index into the row's `mesh`.
    pub mesh: usize,
    /// How far the mesh reaches beyond the drawing at this span's left edge; `None` where one of the two has one more
    /// span there.
    pub left_diff: Option<f64>,
    /// The same at its right edge.
    pub right_diff: Option<f64>,
}

/// A limb that lies flatter than 45 degrees, measured square to its own axis.
#[derive(Debug, Clone, Serialize)]
pub struct FlatLimb {
    /// `left arm` or `right arm`, as seen.
    pub part: &'static str,
    /// Where its axis begins, x and y of the view.
    pub from: [f64; 2],
    /// Where it ends.
    pub to: [f64; 2],
    /// How far it hangs, degrees.
    pub below_horizontal_deg: f64,
    /// From the trunk outwards.
    pub sections: Vec<Section>,
    /// What is outside tolerance, from the trunk outwards.
    pub findings: Vec<LimbFinding>,
}

/// How the surface that does not decide lies in a view. Information: it takes no part in the verdict.
#[derive(Debug, Clone, Serialize)]
pub struct OtherSurface {
    /// `cage`, or `limit`: what smoothing makes of it in the limit.
    pub surface: &'static str,
    /// Mean of its `|outer_diff|`.
    pub outer_diff_mean_abs: f64,
    /// 95th percentile of it.
    pub outer_diff_p95_abs: f64,
    /// Largest of it.
    pub outer_diff_max_abs: f64,
    /// Where the cage is within tolerance and the smoothed surface is too thin.
    pub lost: Vec<Lost>,
}

/// A place where smoothing takes too much away.
#[derive(Debug, Clone, Serialize)]
pub struct Lost {
    /// Lower end.
    pub y_from: f64,
    /// Upper end.
    pub y_to: f64,
    /// Height of the worst row.
    pub worst_y: f64,
    /// The cage's difference in outer width there.
    pub cage_outer_diff: f64,
    /// The smoothed surface's.
    pub smooth_outer_diff: f64,
    /// How much wider the cage would have to be there for the smoothed surface to match.
    pub cage_wider_by: f64,
    /// In words.
    pub text: String,
}

/// A cut square to a limb's axis.
#[derive(Debug, Clone, Serialize)]
pub struct Section {
    /// Which part of the limb.
    pub part: &'static str,
    /// Place on the axis.
    pub x: f64,
    /// Place on the axis.
    pub y: f64,
    /// Lower and upper edge of the drawing, from the axis, upwards positive.
    pub drawing: [f64; 2],
    /// Lower and upper edge of the mesh.
    pub mesh: [f64; 2],
    /// How far the mesh reaches beyond the drawing at the upper edge.
    pub upper_diff: f64,
    /// The same at the lower edge.
    pub lower_diff: f64,
}

/// A stretch of a flat limb that is outside tolerance.
#[derive(Debug, Clone, Serialize)]
pub struct LimbFinding {
    /// `thick`, `thin` or `shifted`, across the limb.
    pub kind: Kind,
    /// The part where it is worst.
    pub part: &'static str,
    /// Where it begins on the axis, x and y of the view.
    pub from: [f64; 2],
    /// Where it ends.
    pub to: [f64; 2],
    /// Where it is worst.
    pub worst: [f64; 2],
    /// At the worst place.
    pub upper_diff: f64,
    /// At the worst place.
    pub lower_diff: f64,
    /// The finding in words.
    pub text: String,
}

/// A named height in the drawn views and in the mesh.
#[derive(Debug, Clone, Serialize)]
pub struct LandmarkRow {
    /// Its name.
    pub name: &'static str,
    /// In the drawn front (or back) view.
    pub drawing_front: Option<LandmarkSeen>,
    /// In the drawn side view.
    pub drawing_side: Option<LandmarkSeen>,
    /// In the mesh, seen in the view that `difference` is about.
    pub mesh: Option<f64>,
    /// Mesh minus drawing, in the front view where both show it, else in the side view.
    pub difference: Option<f64>,
    /// Height above the ground in heads of the drawing (crown to chin); `None` where no chin is seen.
    pub drawing_heads: Option<f64>,
    /// The same of the mesh, in the mesh's own heads.
    pub mesh_heads: Option<f64>,
}

/// A named height that a view shows.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct LandmarkSeen {
    /// Its height.
    pub y: f64,
    /// It lies within so much of it: a neck is as narrow over some of its length.
    pub within: f64,
    /// How sure it is, 0 to 1.
    pub confidence: f64,
    /// How it was found.
    pub found: crate::anatomy::Found,
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
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
    /// The part or the two parts of the body where it lies, left and right as seen; empty if none are known.
    pub parts: Vec<&'static str>,
    /// The two landmarks that enclose it, lower one first; empty if none are known.
    pub between: Vec<String>,
    /// How much of it the drawn views' own disagreement explains, percent; `None` where they agree.
    pub explained_pct: Option<f64>,
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
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
