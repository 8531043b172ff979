//! Findings and the verdict of a check.

use serde::{Deserialize, Serialize};

/// What kind of deviation a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
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
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
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
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SheetFinding {
    /// `views-disagree`, for instance.
    pub kind: String,
    /// The finding in words.
    pub text: String,
}

/// What to take from a check.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Everything is within tolerance.
    OnModel,
    /// Something is outside tolerance.
    OffModel,
    /// Could not be read or placed surely enough to say.
    Undecided,
}
