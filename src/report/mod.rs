//! What a check says, and every way of writing it down: JSON, CSV, terminal, pictures.

pub mod model;
