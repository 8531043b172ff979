//! Limbs that lie too flat for rows, in a check's result.

use serde::Serialize;

use super::Kind;

/// A limb that lies flatter than 45 degrees, measured square to its own axis.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
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

/// A cut square to a limb's axis.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
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
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
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
