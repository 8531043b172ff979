//! Named heights in a check's result.

use serde::Serialize;

/// A named height in the drawn views and in the mesh.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
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
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
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
