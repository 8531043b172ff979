//! What a check says, and every way of writing it down: JSON, CSV, terminal, pictures.

pub mod audit;
pub mod cast;
pub mod changes;
pub mod csv;
pub mod files;
pub mod history;
pub mod json;
pub mod look;
pub mod model;
pub mod number;
pub mod overlay;
pub mod page;
pub mod progress;
#[cfg(test)]
mod sample;
#[cfg(feature = "schema")]
pub mod schema;
mod solid;
pub mod terminal;
