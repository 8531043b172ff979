//! The binary: parse the command line, run the command, turn an error into one line and an exit status.

use std::process::ExitCode;

fn main() -> ExitCode {
    drawntrue::cli::run()
}
