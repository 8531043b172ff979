//! A fit in a check's result, and the moves that a check advises.

use std::collections::BTreeMap;

use serde::Serialize;

use super::{Side, Summary};
use crate::fit::Reason;

/// What a fit did. The report around it is that of the fitted mesh.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct FitReport {
    /// Vertices of the file that moved.
    pub moved: usize,
    /// Length of the largest move.
    pub largest_move: f64,
    /// Figures of each view before, by its name.
    pub before: BTreeMap<String, Summary>,
    /// The same after, measured on the file that was written.
    pub after: BTreeMap<String, Summary>,
    /// Share of the way that was gone, 0 to 1.
    pub amount: f64,
    /// Largest move that was allowed.
    pub max_move: f64,
    /// What it was confined to, as it was typed; empty: nothing.
    pub only: Vec<String>,
    /// Rounds that were gone.
    pub rounds: usize,
    /// Vertices that moved although no outline passes them: they went as far as smoothness carries them, and nothing measured
    /// them.
    pub unmeasured: usize,
    /// Vertices whose move was cut to the largest one.
    pub cut: usize,
    /// Vertices that went less far than asked, so that no face turns over and the surface does not go through itself.
    pub held_back: usize,
    /// What was taken from each arm's length.
    pub arms: Vec<ArmFit>,
    /// What is left, and why.
    pub rest: Vec<RestReport>,
    /// What got worse: views that are farther from the drawing, faults that were not there; empty for a fit that holds.
    pub worse: Vec<String>,
}

/// An arm made longer or shorter.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ArmFit {
    /// The character's own side.
    pub side: Side,
    /// By how much it was shortened; negative: lengthened.
    pub shortened: f64,
}

/// A stretch of an outline that is still off after a fit.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RestReport {
    /// The view's name.
    pub view: String,
    /// Lowest place.
    pub y_from: f64,
    /// Highest place.
    pub y_to: f64,
    /// How far the mesh lies beyond the drawing at the worst place; negative: short of it.
    pub off: f64,
    /// Why.
    pub reason: Reason,
    /// In words.
    pub text: String,
}

/// A move that would mend a finding, as a person could make it.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct AdvisedMove {
    /// The number of the finding.
    pub finding: usize,
    /// The finding's view.
    pub view: String,
    /// Vertices that go the whole way, counted from 0 in the file's order.
    pub vertices: Vec<u32>,
    /// Whether their mirror images go likewise.
    pub both_sides: bool,
    /// `x`, `y` or `z` of the upright mesh, which faces +z.
    pub axis: char,
    /// How far along it, `x` of mirrored vertices counted outward.
    pub amount: f64,
    /// Over which distance it fades out.
    pub fade: f64,
    /// Mean place of the vertices in the upright mesh.
    pub at: [f64; 3],
    /// In words.
    pub text: String,
}
