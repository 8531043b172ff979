//! The files that a check read.

use serde::Serialize;

/// What made a report, and from what.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Program {
    /// Version of the program.
    pub version: &'static str,
    /// SHA-256 of all that the results depend on: the files' digests, the options, the version. Results with the same one
    /// need not be made again. Empty where the library was called without files.
    pub request_sha256: String,
}

impl Program {
    /// This version, without a request.
    pub fn this() -> Self {
        Self {
            version: env!("CARGO_PKG_VERSION"),
            request_sha256: String::new(),
        }
    }
}

/// The files that were read.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
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
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
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
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[allow(missing_docs, reason = "the names say it")]
pub struct SheetInput {
    pub path: String,
    pub sha256: String,
    pub width_px: u32,
    pub height_px: u32,
}

/// A setup file.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[allow(missing_docs, reason = "the names say it")]
pub struct SetupInput {
    pub path: String,
    pub sha256: String,
}
