//! From an image to drawn figures: decode, level, ink, guides, gaps, views, outline. One file a step, each
//! step a function from one plain value to the next. Knows nothing of meshes.

pub mod picture;
