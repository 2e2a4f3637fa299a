//! Hands what was typed to the command line's room.

use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(pouchwork::cli::run(std::env::args_os()))
}
