//! Measures a character mesh against its turnaround drawing: exact silhouettes of the mesh, sub-pixel outlines
//! of the drawn figures, both placed on each other and compared row by row.
//!
//! Data flows one way: [`mesh`] and [`sheet`] read, [`silhouette`] and [`profile`] give both the same shape,
//! [`place`] lays the drawing onto the mesh, [`compare`] measures, [`report`] writes down.

pub mod anatomy;
pub mod arms;
pub mod audit;
pub mod caught;
pub mod check;
#[cfg(feature = "cli")]
pub mod cli;
pub mod compare;
pub mod error;
pub mod limbs;
pub mod mesh;
pub mod open;
mod peaks;
pub mod place;
pub mod profile;
pub mod repair;
pub mod report;
mod sets;
pub mod setup;
pub mod sheet;
pub mod silhouette;
pub mod smooth;
pub mod space;
pub mod standing;
#[cfg(feature = "cli")]
pub mod watch;

pub use error::{Error, Result};
