//! The one result of a check, as `report.json` writes it. Every other output is made from this value.
//!
//! Lengths are in mesh units unless the name ends in `_px`, `_pct` or `_deg`; `y` and `x` are the mesh's own
//! coordinates seen in the view (see [`crate::space::ViewUnits`]); differences are mesh minus drawing.

mod arms;
mod audit;
mod finding;
mod fit;
mod inputs;
mod landmarks;
mod limbs;
mod placement;
mod proportions;
mod settings;
mod sheet;
mod view;

use serde::Serialize;

pub use arms::{ArmReport, ArmSegment, ArmsMode, End, JointFrom, ShoulderBend, Side};
pub use audit::MeshAudit;
pub use finding::{Finding, Kind, SheetFinding, Verdict};
pub use fit::{AdvisedMove, ArmFit, FitReport, RestReport};
pub use inputs::{Inputs, MeshInput, Program, SetupInput, SheetInput};
pub use landmarks::{LandmarkRow, LandmarkSeen};
pub use limbs::{FlatLimb, LimbFinding, Section};
pub use placement::{AxesFrom, HeldReport, PlacedBy, PlacedView, PlacementReport};
pub use proportions::{ProportionRow, Proportions};
pub use settings::{Settings, Stage};
pub use sheet::{Agreement, DrawnView, LandmarkAgreement, Sheet, SheetImage, Symmetry};
pub use view::{Arrow, Lost, OtherSurface, Row, SpanPair, Summary, View};

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
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Report {
    /// [`REPORT_SCHEMA`].
    pub schema: &'static str,
    /// What made it.
    pub program: Program,
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
    /// Moves that would mend the findings, where they were asked for.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub advice: Vec<AdvisedMove>,
    /// The fit that made this mesh.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fit: Option<FitReport>,
}
