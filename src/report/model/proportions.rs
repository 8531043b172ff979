//! The proportions in a check's result.

use serde::Serialize;

/// Landmarks against a canon. Information: they take no part in the verdict.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Proportions {
    /// The canon's name, or the other character's file.
    pub canon: String,
    /// Who measured or taught it.
    pub source: String,
    /// From the crown down.
    pub rows: Vec<ProportionRow>,
}

/// A landmark's height above the ground.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ProportionRow {
    /// Its name.
    pub name: &'static str,
    /// In the drawing, percent of its own height.
    pub drawing_pct: Option<f64>,
    /// In the mesh, percent of its own height.
    pub mesh_pct: Option<f64>,
    /// In the canon.
    pub canon_pct: Option<f64>,
    /// Drawing minus canon.
    pub drawing_off_pct: Option<f64>,
    /// Mesh minus canon.
    pub mesh_off_pct: Option<f64>,
    /// In heads of the drawing.
    pub drawing_heads: Option<f64>,
    /// In heads of the mesh.
    pub mesh_heads: Option<f64>,
    /// In heads of the canon.
    pub canon_heads: Option<f64>,
}
