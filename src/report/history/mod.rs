//! `history.jsonl`: the course of a character, one line of JSON for each check.
//!
//! A line holds the check's report in short, under the report's own names, with the time and the name that it was given.
//! Of all results this one alone carries the time. Two programs that write at once wait for each other; a line that a
//! killed program left unfinished is passed over when reading and removed before the next one is written.

mod entry;
mod log;

pub use entry::{
    Across, DrawnFacing, Entry, File, Files, Limb, Limits, Matter, Place, Placed, Seen, Short, ShortSheet,
    ShortView, Tool,
};
pub use log::{Log, append, read};

/// What the log is called, in the folder of the results.
pub const HISTORY_FILE: &str = "history.jsonl";
/// The value of `schema` in a line.
pub const HISTORY_SCHEMA: &str = "drawntrue.history/1";
