//! Sheets with an exact truth: characters put together from solids, drawn and damaged as studios' sheets are, and the
//! measures that a reading of them is held to.
//!
//! `solid` → `body` (a character's outline from any side) → `pen` on a `canvas` → `page` with its `furniture` and
//! `paper` → `encode`; `measure` holds the reading against what `page` wrote down.
//!
//! With a folder in the environment variable `SHEETS_TO_LOOK_AT` the tests write every sheet there, and its rings.
#![allow(dead_code, reason = "every test file uses another part of it")]

pub(crate) mod body;
pub(crate) mod build;
pub(crate) mod canvas;
pub(crate) mod cast;
pub(crate) mod creatures;
pub(crate) mod curve;
pub(crate) mod encode;
pub(crate) mod furniture;
pub(crate) mod ink;
pub(crate) mod judge;
pub(crate) mod known;
pub(crate) mod limits;
pub(crate) mod look;
pub(crate) mod measure;
pub(crate) mod page;
pub(crate) mod paper;
pub(crate) mod pen;
pub(crate) mod pencil;
pub(crate) mod people;
pub(crate) mod places;
pub(crate) mod random;
pub(crate) mod rng;
pub(crate) mod rows;
pub(crate) mod set;
pub(crate) mod solid;
pub(crate) mod vector;
pub(crate) mod wrong;
