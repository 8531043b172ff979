//! What keeping a check open needs besides the check: when saved files are whole, and a server for the page.

pub mod files;
pub mod serve;
