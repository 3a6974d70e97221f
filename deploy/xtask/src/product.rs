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

/// What the server is compiled for.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// To be tried out: what is quick to compile.
    Trying,
    /// To be used or measured: with optimisation.
    Using,
    /// To be tested: together with all tests. Were it compiled alone, cargo would
    /// choose other features for what both depend on, and compile that twice.
    Testing,
}

impl Purpose {
    /// For verbs with a flag `--release`.
    pub fn trying_or_using(release: bool) -> Self {
        if release { Self::Using } else { Self::Trying }
    }

    fn arguments(self) -> &'static [&'static str] {
        match self {
            Self::Trying => &["--package", "faying", "--bin", "faying"],
            Self::Using => &["--package", "faying", "--bin", "faying", "--release"],
            Self::Testing => &["--workspace", "--bins", "--tests"],
        }
    }

    fn profile(self) -> &'static str {
        if self == Self::Using { "release" } else { "debug" }
    }
}

/// Builds site and server side by side, the site first: it ends in long steps that
/// keep one core only, and the server's build fills the other.
pub fn build(workspace: &Workspace, report: &Report, purpose: Purpose) -> Result<Product> {
    let (site, server) = thread::scope(|scope| {
        let site = scope.spawn(|| site::build(workspace, report));
        let server = build_server(workspace, report, purpose);
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

fn build_server(workspace: &Workspace, report: &Report, purpose: Purpose) -> Result<PathBuf> {
    report.say("compiling the server");
    let mut command = workspace.patient_cargo();
    command.arg("build").args(purpose.arguments());
    let succeeded = run::watched(report, "server", &mut command, |_| {})?;
    ensure!(succeeded, "the server does not compile, see above");
    report.say("the server is compiled");
    Ok(workspace.target.join(purpose.profile()).join("faying"))
}
