//! What must hold for any bytes that a reader is given, a mutation of real files into hostile ones, and the real files.
//! Used by the tests, by the long run in `examples/fuzz_readers.rs` and by the targets in `fuzz/`.
#![allow(dead_code, reason = "every user takes another part of it")]

pub(crate) mod draw;
pub(crate) mod holds;
pub(crate) mod mutate;
pub(crate) mod png;
pub(crate) mod seeds;
