//! Everything that drives a browser: Playwright, screenshots, Lighthouse.

use std::path::Path;
use std::process::Command;

use anyhow::{Result, bail};
use clap::Args;

use crate::product::{self, Product, Purpose};
use crate::report::Report;
use crate::run;
use crate::server::{Data, DemoServer};
use crate::tools::{self, Tool};
use crate::workspace::{Workspace, clean};

#[derive(Args)]
pub struct ServerOptions {
    /// Compile the server with optimisation
    #[arg(long)]
    release: bool,
}

/// Playwright's runner, told where the product and the browser are.
pub fn playwright(workspace: &Workspace, product: &Product) -> Result<Command> {
    let mut command = node(workspace, &tools::node_program(workspace, "@playwright/test/cli.js"))?;
    command.env("FAYING_BIN", &product.server).env("FAYING_SITE", &product.site.folder);
    Ok(command)
}

pub fn screenshots(workspace: &Workspace, report: &Report, options: &ServerOptions) -> Result<()> {
    let folder = workspace.browser_tests().join("screenshots");
    tools::ensure(report, &[Tool::Chromium, Tool::Node])?;
    tools::node_modules(report, &workspace.browser_tests())?;
    with_demo(workspace, report, options, |demo| {
        let mut command = node(workspace, Path::new("screenshots.mjs"))?;
        command.env("FAYING_URL", demo.url()).env("SCREENSHOTS", &folder);
        run::must(report, "screenshots", &mut command)
    })?;
    report.say(format!("the pictures are in {}", folder.display()));
    Ok(())
}

pub fn lighthouse(workspace: &Workspace, report: &Report, options: &ServerOptions) -> Result<()> {
    tools::ensure(report, &[Tool::Chromium, Tool::Node])?;
    tools::node_modules(report, &workspace.browser_tests().join("lighthouse"))?;
    with_demo(workspace, report, options, |demo| {
        let mut command = node(workspace, Path::new("lighthouse/audit.mjs"))?;
        run::must(report, "lighthouse", command.env("FAYING_URL", demo.url()))
    })
}

/// Builds the product and does `work` while a demo server runs.
fn with_demo(
    workspace: &Workspace,
    report: &Report,
    options: &ServerOptions,
    work: impl FnOnce(&DemoServer) -> Result<()>,
) -> Result<()> {
    let product = product::build(workspace, report, Purpose::trying_or_using(options.release))?;
    let data = Data::throwaway(workspace)?;
    let log = workspace.target.join("demo-server.log");
    let demo = DemoServer::start(&product, &data, &log)?;
    let outcome = work(&demo);
    drop(demo);
    data.remove()?;
    match outcome {
        Ok(()) => Ok(()),
        Err(error) => bail!("{error:#}; the server's log is {}", log.display()),
    }
}

/// A node script in the browser tests' folder.
pub fn node(workspace: &Workspace, script: &Path) -> Result<Command> {
    let mut command = clean("node");
    command.current_dir(workspace.browser_tests()).arg(script).env("CHROMIUM", tools::chromium()?);
    Ok(command)
}
