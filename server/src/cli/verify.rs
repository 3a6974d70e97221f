//! `faying verify FILE`.

use std::fs::File;
use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::{Context as _, Result};
use clap::Args;

use super::say;
use crate::bundle::verify::verify;

#[derive(Args)]
pub struct Options {
    /// A file that `faying export` wrote
    file: PathBuf,
}

/// Says what holds and what does not; exit code 1 if anything fails.
pub fn run(options: &Options) -> Result<ExitCode> {
    let path = options.file.display();
    let file = File::open(&options.file).with_context(|| format!("cannot open {path}"))?;
    let report = verify(file).with_context(|| format!("cannot read {path}"))?;
    for checked in &report.0 {
        say(&format!("{}  {}", if checked.holds { "holds" } else { "FAILS" }, checked.what))?;
    }
    say(if report.holds() { "Everything holds." } else { "Not everything holds." })?;
    Ok(if report.holds() { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}
