//! One compared view in a check's result: its rows, the figures for all of it, the surface that does not decide.

use serde::Serialize;

use super::{Finding, FlatLimb};

/// A comparison in one view.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
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
    /// Where edges are to go, where moves were asked for.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub arrows: Vec<Arrow>,
}

/// Where a place of the mesh's outline is and where it belongs, in the view.
#[derive(Debug, Clone, Copy, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Arrow {
    /// The place.
    pub from: [f64; 2],
    /// The nearest place of the drawing's outline, square to it.
    pub to: [f64; 2],
}

/// One row of one view.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
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
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
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

/// How the surface that does not decide lies in a view. Information: it takes no part in the verdict.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
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
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
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

/// Figures for a whole view. Differences and distances are in units.
#[derive(Debug, Clone, Copy, Serialize, Default)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
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
