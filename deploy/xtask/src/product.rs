//! The product as a whole: the server's binary and the site that it serves.

use std::path::PathBuf;
use std::thread;

use anyhow::{Context, Result, anyhow, ensure};

use crate::report::Report;
use crate::run;
use crate::site::{self, Site};
use crate::workspace::Workspace;

pub struct Product {
    pub server: PathBuf,
    pub site: Site,
}

/// Builds site and server side by side: the browser build ends in a long step
/// that keeps one core only.
pub fn build(workspace: &Workspace, report: &Report, release: bool) -> Result<Product> {
    let (site, server) = thread::scope(|scope| {
        let site = scope.spawn(|| site::build(workspace, report));
        let server = build_server(workspace, report, release);
        (site.join(), server)
    });
    let site = site.map_err(|_| anyhow!("the site's build came to a sudden end"))?;
    // Both were attempted: tell of both.
    match (site, server) {
        (Ok(site), Ok(server)) => Ok(Product { server, site }),
        (Err(site), Err(server)) => Err(server).context(format!("{site:#}; and")),
        (Err(error), _) | (_, Err(error)) => Err(error),
    }
}

fn build_server(workspace: &Workspace, report: &Report, release: bool) -> Result<PathBuf> {
    report.say("compiling the server");
    let mut command = workspace.cargo();
    command.args(["build", "--package", "faying", "--bin", "faying"]);
    command.args(release.then_some("--release"));
    let succeeded = run::watched(report, "server", &mut command, |_| {})?;
    ensure!(succeeded, "the server does not compile, see above");
    report.say("the server is compiled");
    let profile = if release { "release" } else { "debug" };
    Ok(workspace.target.join(profile).join("faying"))
}
