//! `cargo xtask bench sync`: what sync costs beside what it would cost bare.

use anyhow::Result;

use crate::report::Report;
use crate::run;
use crate::workspace::{Workspace, clean};

/// The name under which `cargo xtask bench` knows it.
pub const NAME: &str = "sync";

/// Builds the server alone: the app is no part of this.
pub fn run(workspace: &Workspace, report: &Report, parts: &[String]) -> Result<()> {
    let mut build = workspace.patient_cargo();
    build.args(["build", "--release", "--package", "faying", "--package", "sync-bench", "--bins"]);
    run::must(report, "sync bench", &mut build)?;
    let built = workspace.target.join("release");
    let mut bench = clean(built.join("sync-bench"));
    bench.arg("run").arg("--server").arg(built.join("faying")).args(parts);
    run::must(report, "sync", &mut bench)
}
