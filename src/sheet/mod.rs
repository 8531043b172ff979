//! From an image to drawn figures: decode, level, ink, guides, gaps, views, outline. One file a step, each
//! step a function from one plain value to the next. Knows nothing of meshes.

mod along;
pub mod confidence;
mod corners;
pub mod decode;
pub mod edge;
pub mod ends;
pub mod evidence;
pub mod faces;
pub mod figures;
pub mod gaps;
pub mod holes;
pub mod ink;
pub mod level;
pub mod lines;
pub mod overrule;
pub mod picture;
pub mod read;
pub mod runs;
pub mod slits;
pub mod small;
pub mod steps;
pub mod strip;
mod tilt;
pub mod tone;
pub mod trace;
pub mod views;
pub mod warnings;
mod whole;
