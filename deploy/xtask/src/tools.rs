//! What the tests need beyond cargo, installed when it is missing.

use std::env;
use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};

use crate::digest::{read, short, write};
use crate::report::Report;
use crate::workspace::{Workspace, clean, is_root};
use crate::{postgres, run};

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Tool {
    Chromium,
    Node,
    /// Other programs that read PDF, to hold the printed record against.
    PdfReaders,
    PostgreSql,
}

impl Tool {
    fn is_there(self) -> bool {
        match self {
            Self::Chromium => chromium().is_ok(),
            Self::Node => works("node") && works("npm"),
            Self::PdfReaders => works("qpdf") && run::quietly(clean("pdftotext").arg("-v")).is_ok(),
            Self::PostgreSql => postgres::given().is_some() || postgres::programs().is_ok(),
        }
    }

    /// Debian's packages. A browser without fonts draws no text at all.
    fn packages(self) -> &'static [&'static str] {
        match self {
            Self::Chromium => &["chromium", "fonts-liberation"],
            Self::Node => &["nodejs", "npm"],
            Self::PdfReaders => &["qpdf", "poppler-utils"],
            Self::PostgreSql => &["postgresql"],
        }
    }
}

fn works(program: &str) -> bool {
    run::quietly(clean(program).arg("--version")).is_ok()
}

/// Installs those of the tools that are missing, in one go.
pub fn ensure(report: &Report, tools: &[Tool]) -> Result<()> {
    let missing: Vec<_> = tools.iter().copied().filter(|tool| !tool.is_there()).collect();
    if missing.is_empty() {
        return Ok(());
    }
    let packages: Vec<_> = missing.iter().flat_map(|tool| tool.packages()).copied().collect();
    let list = packages.join(" ");
    if !is_root() || !works("apt-get") {
        bail!(
            "the tests need {list}, and only root on Debian can have them installed from here. \
             Run `apt-get update && apt-get install --no-install-recommends {list}` as root, \
             or install their like and set CHROMIUM (a program) and PG_URL (a database)"
        );
    }
    report.say(format!("installing {list}"));
    apt_get(&["update", "-qq"])?;
    let mut arguments = vec!["install", "-y", "-qq", "--no-install-recommends"];
    arguments.extend(&packages);
    apt_get(&arguments)?;
    match missing.iter().find(|tool| !tool.is_there()) {
        Some(tool) => bail!("{tool:?} is still not there after apt-get installed {list}"),
        None => Ok(()),
    }
}

fn apt_get(arguments: &[&str]) -> Result<()> {
    let mut command = clean("apt-get");
    run::quietly(command.env("DEBIAN_FRONTEND", "noninteractive").args(arguments)).map(drop)
}

/// The browser: `CHROMIUM`, or Debian's.
pub fn chromium() -> Result<PathBuf> {
    let set = env::var_os("CHROMIUM").map(PathBuf::from);
    let path = set.unwrap_or_else(|| PathBuf::from("/usr/bin/chromium"));
    if path.exists() {
        return Ok(path);
    }
    bail!("no browser at {}: set CHROMIUM to one, or install Debian's chromium", path.display())
}

/// The node modules of the package in `folder`, exactly as its lock file says.
pub fn node_modules(report: &Report, folder: &Path) -> Result<()> {
    let lock = short(&read(&folder.join("package-lock.json"))?);
    let mark = folder.join("node_modules/.installed-from");
    if fs::read_to_string(&mark).is_ok_and(|installed| installed == lock) {
        return Ok(());
    }
    report.say(format!("installing the node modules of {}", folder.display()));
    let mut command = clean("npm");
    command
        .current_dir(folder)
        .args(["ci", "--no-audit", "--no-fund", "--ignore-scripts"])
        .env("PLAYWRIGHT_SKIP_BROWSER_DOWNLOAD", "1");
    run::quietly(&mut command)?;
    write(&mark, lock)
}

/// rustfmt and clippy, which a minimal Rust lacks.
pub fn rust_components(workspace: &Workspace, report: &Report) -> Result<()> {
    for (subcommand, component) in [("fmt", "rustfmt"), ("clippy", "clippy")] {
        let there = || run::quietly(workspace.cargo().args([subcommand, "--version"])).is_ok();
        if !there() {
            report.say(format!("asking rustup for {component}"));
            run::quietly(clean("rustup").args(["component", "add", component]))
                .with_context(|| format!("this Rust has no {component}, and rustup could not add it"))?;
        }
    }
    Ok(())
}

/// Whether cargo-nextest is here. It is welcome and not needed.
pub fn has_nextest(workspace: &Workspace) -> bool {
    run::quietly(workspace.cargo().args(["nextest", "--version"])).is_ok()
}

/// The program under this folder's `node_modules`.
pub fn node_program(workspace: &Workspace, script: impl AsRef<Path>) -> PathBuf {
    workspace.browser_tests().join("node_modules").join(script)
}
