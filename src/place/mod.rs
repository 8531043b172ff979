//! Where the drawing lies on the mesh: scale, ground, sideways shift, which view is which.

mod above;
pub mod assign;
pub mod field;
pub mod fit;
pub mod held;
mod oblique;
mod outlines;
pub mod placing;
mod solve;
pub mod transform;
