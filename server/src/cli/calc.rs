//! `faying calc KIND [FILE|-]`.

use std::fs;
use std::io::{self, Read as _};
use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::{Context as _, Result, bail};
use calculations::CalcError;
use clap::Args;
use serde_json::Value;

use super::{complain, say};

#[derive(Args)]
pub struct Options {
    /// Which kind of worksheet
    #[arg(value_parser = kind_of)]
    kind: String,
    /// The input as JSON; `-`, or nothing, reads it from standard input
    file: Option<PathBuf>,
}

fn kind_of(name: &str) -> Result<String, String> {
    if calculations::kind(name).is_some() {
        return Ok(name.to_owned());
    }
    Err(CalcError::UnknownKind(calculations::kinds().map(|kind| kind.name).collect()).to_string())
}

/// Prints the result; a refused input is told field by field on standard error, with exit code 2.
pub fn run(options: &Options) -> Result<ExitCode> {
    let text = match &options.file {
        Some(path) if path.as_os_str() != "-" => {
            fs::read_to_string(path).with_context(|| format!("cannot read {}", path.display()))?
        }
        _ => {
            let mut text = String::new();
            io::stdin().read_to_string(&mut text).context("cannot read standard input")?;
            text
        }
    };
    let input: Value = serde_json::from_str(&text).context("the input is not JSON")?;
    match calculations::calculate(&options.kind, &input) {
        Ok(result) => {
            say(&serde_json::to_string_pretty(&result)?)?;
            Ok(ExitCode::SUCCESS)
        }
        Err(CalcError::BadInput(refused)) => {
            refused.iter().for_each(|field| complain(&field.to_string()));
            Ok(ExitCode::from(2))
        }
        Err(error @ CalcError::UnknownKind(_)) => bail!(error),
    }
}
