//! How the drawing was laid onto the mesh, as `report.json` says it.

use serde::Serialize;

use crate::mesh::Axes;
pub use crate::standing::AxesFrom;

/// How scale and ground became known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum PlacedBy {
    /// Scale and ground were found.
    Fit,
    /// From the figure's height, with the ground at y = 0 or where it was given.
    FigureHeight,
    /// The scale was given, the ground was found.
    Scale,
    /// The ground was given, the scale was found.
    Ground,
    /// Both were given.
    ScaleAndGround,
    /// From an earlier run of the series.
    Held,
}

impl PlacedBy {
    /// In a modeller's words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Fit => "found by fit",
            Self::FigureHeight => "from the figure height",
            Self::Scale => "scale given, ground found",
            Self::Ground => "ground given, scale found",
            Self::ScaleAndGround => "scale and ground given",
            Self::Held => "held from an earlier run",
        }
    }
}

/// Where the drawing lies on the mesh, and how sure that is.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PlacementReport {
    /// How scale and ground became known.
    pub how: PlacedBy,
    /// The leading view.
    pub lead: String,
    /// Mesh units per levelled pixel of the leading view's image.
    pub units_per_px: f64,
    /// Mesh height at which the leading view's ground lies.
    pub ground_y: f64,
    /// Standard deviation of a scale that was found, percent of it; 0 where it was given, `None` where the outlines do
    /// not hold it.
    pub scale_uncertainty_pct: Option<f64>,
    /// Standard deviation of a ground that was found, units; 0 where it was given.
    pub ground_uncertainty: Option<f64>,
    /// Share of the mesh's outline that took part: the mean weight of its samples in the fit, 0 to 1.
    pub outline_share: Option<f64>,
    /// How the mesh stands and looks in its file.
    pub axes: Axes,
    /// How that became known.
    pub axes_from: AxesFrom,
    /// Each compared view.
    pub views: Vec<PlacedView>,
    /// What a held placement differs by, with `--hold-placement`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub held: Option<HeldReport>,
    /// Why the placement cannot be relied on, and what would help.
    pub doubt: Option<String>,
}

/// Where one view lies.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PlacedView {
    /// The view's name.
    pub name: String,
    /// Levelled column of the mesh's own axis, view x = 0.
    pub axis_px: f64,
    /// That column was given in the setup.
    pub axis_given: bool,
    /// Share of the mesh's outline that lies within 1 % of the mesh's size of the drawing.
    pub agreeing: f64,
}

/// A held placement.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct HeldReport {
    /// It is an earlier run's and was used; otherwise this run's was kept, or would have been.
    pub used: bool,
    /// Largest difference to the placement that this run would have found, over the figures, units.
    pub differs: f64,
    /// A new one should be kept: why an earlier one was not used, or this run's was not kept.
    pub why_not: Option<String>,
}
