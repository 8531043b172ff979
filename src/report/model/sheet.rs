//! The drawing in a check's result: the views that were read, and how far they agree.

use serde::Serialize;

use super::Facing;
use crate::sheet::read::Figure;

/// The drawing as it was read.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
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
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SheetImage {
    /// Turn of the file's picture, counter-clockwise as seen positive.
    pub skew_deg: f64,
    /// Heights of guide lines after levelling.
    pub guide_lines_px: Vec<f64>,
}

/// One drawn figure.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
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

/// How far the drawn views agree; percent are of the leading view's height.
#[derive(Debug, Clone, Serialize, Default)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
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
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct LandmarkAgreement {
    /// Its name.
    pub name: &'static str,
    /// Its height in the front (or back) view.
    pub front: f64,
    /// Its height in the side view.
    pub side: f64,
    /// Side minus front, percent of the figure's height.
    pub diff_pct: f64,
    /// How vague both heights are together, percent of the figure's height: a neck is as narrow over some of its length.
    #[serde(skip)]
    pub within_pct: f64,
    /// Whether the difference is more than hand and outline leave open.
    pub contradicts: bool,
    /// The view that the mesh is nearer to, `front` or `side`; `None` where they agree or the mesh does not show it.
    pub mesh_nearer: Option<&'static str>,
}

/// How far a drawn front view is from its own mirror image about its best axis, by half widths of its rows.
#[derive(Debug, Clone, Copy, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Symmetry {
    /// Half of the mean difference between the two sides, percent of the figure's height.
    pub mean_pct: f64,
    /// Half of the largest.
    pub worst_pct: f64,
    /// Where it is largest.
    pub worst_y: f64,
}
