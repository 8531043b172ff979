//! Arms of a standing figure, the mesh's and the drawing's: found without names or a rig, turned about their joints,
//! compared.
//!
//! The mesh's arm is found by [`crate::limbs`], its shape by the same means as the drawing's: cuts across the frontal
//! outline. The shoulder's joint lies where the arm leaves the trunk; the arm turns about it in the frontal plane.
//!
//! Angles are degrees below the horizontal, whichever side the arm is on. Left is the character's own left, x above the
//! plane of symmetry. y up, facing +z.

mod collapse;
mod drawn;
mod found;
pub mod line;
mod pose;
pub mod shape;
mod shoulder;
mod stretch;
mod turn;

pub use collapse::{Collapse, collapse, loops};
pub use drawn::drawn;
pub use found::{End, Figure, JointFrom, MeshArm, Told, find};
pub use pose::{Posed, onto, pose, to_degrees};
pub use shape::{Shape, turn};
pub use stretch::{Knot, stretched};
pub use turn::{Turn, angle, rotated, share, turned};
