//! `cargo xtask demo`: the product with its demo scenario, on this machine.

use std::net::{Ipv4Addr, SocketAddr};
use std::os::unix::process::CommandExt as _;

use anyhow::{Context, Result};
use clap::Args;

use crate::product::Purpose;
use crate::report::Report;
use crate::server::{self, Data};
use crate::workspace::Workspace;
use crate::{product, report};

#[derive(Args)]
pub struct Options {
    /// The port to listen on; the next free one if it is taken
    #[arg(long, default_value_t = 8750)]
    port: u16,
    /// Serve the local network too, over HTTPS with a certificate made here
    #[arg(long)]
    lan: bool,
    /// Forget what was done in earlier demos
    #[arg(long)]
    fresh: bool,
    /// Compile the server with optimisation
    #[arg(long)]
    release: bool,
}

/// Builds, then becomes the server: Ctrl-C reaches it directly and it stops cleanly.
pub fn run(workspace: &Workspace, report: &Report, options: &Options) -> Result<()> {
    report.say("building the app and the server; the first time takes some minutes");
    let product = product::build(workspace, report, Purpose::trying_or_using(options.release))?;

    let folder = workspace.root.join(".faying/demo");
    if options.fresh && folder.exists() {
        report.say("forgetting the earlier demo's data");
        Data::at(folder.clone())?.remove()?;
    }
    let data = Data::at(folder.clone())?;
    // With --lan the server takes the next port too, on every network.
    let ports = if options.lan { 2 } else { 1 };
    let port = server::free_ports(options.port, ports)?;
    if port != options.port {
        report.say(format!("port {} is taken, using {port}", options.port));
    }
    let mut command = server::serve(&product, SocketAddr::from((Ipv4Addr::LOCALHOST, port)), &data);
    command.arg("--demo").args(options.lan.then_some("--lan"));
    report.say(format!(
        "built after {}; starting the server, data in {}; Ctrl-C stops it",
        report::clock(report.elapsed()).trim(),
        folder.display()
    ));
    let error = command.exec();
    Err(error).with_context(|| format!("cannot start {}", product.server.display()))
}
