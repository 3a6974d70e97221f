//! The `faying` command.

use std::process::ExitCode;

use mimalloc::MiMalloc;

/// Gives freed memory back to the system: with the system's own allocator every thread that once
/// checked a password keeps the 19 MiB for ever. And it is quicker at what a push is made of.
#[global_allocator]
static ALLOCATOR: MiMalloc = MiMalloc;

fn main() -> ExitCode {
    faying::cli::run()
}
