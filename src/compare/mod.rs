//! Rows, distances, landmarks, findings, verdict: what the placed drawing and the mesh differ by.
//!
//! Knows outlines and spans in one view's units; knows no files, no colours, no terminal.

pub mod agreement;
pub mod arms;
pub mod bands;
pub mod canons;
pub mod landmarks;
pub mod moves;
pub mod proportions;
pub mod rows;
pub mod spans;
pub mod square;
pub mod sureness;
pub mod surfaces;
pub mod tolerance;
pub mod whereabouts;
pub mod wording;
