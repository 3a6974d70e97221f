//! What sync costs beside what it would cost bare.
//!
//! Ours, with every check on, runs against a log server that only appends, an upload server
//! that only hashes, and SQLite itself: in one run, on one machine, so that the ratios mean
//! something wherever the figures come from. `cargo xtask bench sync` starts it.

mod bare;
mod connection;
mod direct;
mod encodings;
mod folding;
mod lengths;
mod opening;
mod phone;
mod photos;
mod process;
mod pushes;
mod signatures;
mod table;
mod world;

use std::net::SocketAddr;
use std::path::PathBuf;

use anyhow::Result;
use clap::{Args, Parser, ValueEnum};

use crate::table::Table;

#[derive(Parser)]
enum Arguments {
    /// Measure
    Run(Options),
    /// Be the bare server that ours is measured beside
    Bare {
        /// Where its log and its photos go
        folder: PathBuf,
        /// Where to listen
        listen: SocketAddr,
    },
}

#[derive(Args)]
struct Options {
    /// The built `faying`
    #[arg(long)]
    server: PathBuf,
    /// How often each pair is measured; the median counts
    #[arg(long, default_value_t = 5)]
    rounds: usize,
    /// The longest log to push to
    #[arg(long, default_value_t = 1_000_000)]
    longest: u64,
    /// What to measure; everything if nothing is named
    parts: Vec<Part>,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Part {
    /// Pushing, catching up, coming together
    Pushes,
    /// Pushing to ever longer logs
    Lengths,
    /// Opening a long job on a new device
    Opening,
    /// Uploading photos
    Photos,
    /// Folding changes natively
    Folding,
    /// How changes might be written on the wire
    Encodings,
}

#[tokio::main]
async fn main() -> Result<()> {
    match Arguments::parse() {
        Arguments::Bare { folder, listen } => bare::serve(&folder, listen).await,
        Arguments::Run(options) => measure(&options).await,
    }
}

async fn measure(options: &Options) -> Result<()> {
    let wanted = |part| options.parts.is_empty() || options.parts.contains(&part);
    let mut table = Table::default();
    if wanted(Part::Folding) {
        folding::measure(&mut table)?;
    }
    if wanted(Part::Encodings) {
        encodings::measure(&mut table)?;
    }
    if wanted(Part::Pushes) {
        pushes::measure(&options.server, options.rounds, &mut table).await?;
    }
    if wanted(Part::Photos) {
        photos::measure(&options.server, options.rounds, &mut table).await?;
    }
    if wanted(Part::Opening) {
        opening::measure(&options.server, &mut table).await?;
    }
    if wanted(Part::Lengths) {
        lengths::measure(&options.server, options.longest, &mut table).await?;
    }
    table.finish()
}
