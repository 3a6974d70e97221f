//! `cargo xtask sim`: the phones' sync against the servers, seed by seed.

use anyhow::{Result, ensure};
use clap::Args;

use crate::workspace::Workspace;

#[derive(Args)]
pub struct Options {
    /// How many seeds
    #[arg(long, default_value_t = 200)]
    seeds: u64,
    /// The first of them
    #[arg(long, default_value_t = 0)]
    from: u64,
    /// Replay this one alone
    #[arg(long, conflicts_with_all = ["seeds", "from"])]
    seed: Option<u64>,
}

pub fn run(workspace: &Workspace, options: &Options) -> Result<()> {
    let mut command = workspace.cargo();
    command.args(["run", "--release", "--package", "sync-sim", "--"]);
    match options.seed {
        Some(seed) => command.args(["--seed", &seed.to_string()]),
        None => command.args(["--seeds", &options.seeds.to_string(), "--from", &options.from.to_string()]),
    };
    ensure!(command.status()?.success(), "the simulation found a fault");
    Ok(())
}
