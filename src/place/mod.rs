//! Where the drawing lies on the mesh: scale, ground, sideways shift, which view is which.

pub mod assign;
pub mod field;
pub mod fit;
pub mod transform;
