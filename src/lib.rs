//! Measures a character mesh against its turnaround drawing: exact silhouettes of the mesh, sub-pixel outlines
//! of the drawn figures, both placed on each other and compared row by row.
//!
//! Data flows one way: [`mesh`] and [`sheet`] read, [`silhouette`] and [`profile`] give both the same shape,
//! [`place`] lays the drawing onto the mesh, [`compare`] measures, [`report`] writes down. [`check::check`] does all of it;
//! [`open`] reads the files that it takes; [`report::model::Report`] is the one result, from which every output is made.
//! Lengths are in the mesh's unit, differences are mesh minus drawing. Every failure is an [`Error`] that says what is
//! wrong, where, and what to do; nothing is printed. Without the feature `cli` neither the command line nor what only it
//! needs is built.
//!
//! A whole check, from two files to the worst finding (`examples/worst_finding.rs`):
//!
#![doc = concat!("```no_run\n", include_str!("../examples/worst_finding.rs"), "```")]

pub mod anatomy;
pub mod arms;
pub mod audit;
pub mod caught;
pub mod check;
#[cfg(feature = "cli")]
pub mod cli;
pub mod compare;
pub mod error;
pub mod fit;
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
