//! Where the drawing lies on the mesh: scale, ground, sideways shift, which view is which.

pub mod transform;
