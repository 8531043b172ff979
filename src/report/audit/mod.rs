//! What an audit says, written down: JSON, terminal, pictures.

pub mod json;
pub mod picture;
pub mod terminal;
