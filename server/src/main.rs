//! The `faying` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    faying::cli::run()
}
