//! The characters of the test sheets.

pub(crate) use super::creatures::{akimbo, dumpling, robot, tailed, wanderer};
pub(crate) use super::people::{child, fingers, hatted, messenger, skirted, soldier, stocky};
