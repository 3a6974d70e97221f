//! The stages of a test run, each in the words of the tool that it runs.

use std::fs;
use std::process::Command;

use anyhow::{Result, ensure};

use super::counts::Counts;
use crate::postgres::{self, Throwaway};
use crate::product::{self, Product, Purpose};
use crate::report::Report;
use crate::workspace::Workspace;
use crate::{browser, run, tools};

pub fn format(workspace: &Workspace, report: &Report) -> Result<Counts> {
    run::must(
        report,
        "format",
        workspace.cargo().args(["fmt", "--all", "--", "--check", "--color", "never"]),
    )?;
    Ok(Counts::default())
}

/// Clippy over everything; then over the app as the browser gets it, since
/// features that exclude each other cannot all be seen in one pass.
pub fn clippy(workspace: &Workspace, report: &Report) -> Result<Counts> {
    const STRICT: [&str; 3] = ["--", "-D", "warnings"];
    let mut all = workspace.cargo();
    all.args(["clippy", "--workspace", "--all-targets", "--all-features"]).args(STRICT);
    run::must(report, "clippy", &mut all)?;
    let mut hydrate = workspace.cargo();
    hydrate
        .args(["clippy", "--package", "app", "--no-default-features", "--features", "hydrate"])
        .args(STRICT);
    run::must(report, "clippy of the app", &mut hydrate)?;
    Ok(Counts::default())
}

/// Builds the product. `strict`: warnings of the browser build are failures;
/// clippy itself does not run there, as Debian's compiler comes without it.
pub fn build(workspace: &Workspace, report: &Report, purpose: Purpose, strict: bool) -> Result<Product> {
    let product = product::build(workspace, report, purpose)?;
    ensure!(!(strict && product.site.warned), "the app's browser build has warnings, see above");
    Ok(product)
}

/// All Rust tests, then the documentation's. With nextest where it is
/// installed, with plain `cargo test` where not.
pub fn rust(
    workspace: &Workspace,
    report: &Report,
    product: Option<&Product>,
    filter: &[String],
) -> Result<Counts> {
    let throwaway = match postgres::given() {
        Some(_) => None,
        None => Some(Throwaway::start()?),
    };
    let environment = |command: &mut Command| {
        if let Some(database) = &throwaway {
            command.env("PG_URL", database.url());
        }
        if let Some(product) = product {
            command.env("FAYING_BIN", &product.server).env("FAYING_SITE", &product.site.folder);
        }
    };
    let nextest = tools::has_nextest(workspace);
    let mut tests = workspace.cargo();
    tests.args(if nextest { &["nextest", "run"][..] } else { &["test", "--tests", "--no-fail-fast"] });
    tests.arg("--workspace").args(filter);
    environment(&mut tests);
    let mut total = counted(report, "tests", &mut tests)?;
    if filter.is_empty() {
        let mut docs = workspace.cargo();
        docs.args(["test", "--doc", "--workspace", "--no-fail-fast"]);
        environment(&mut docs);
        total += counted(report, "documentation tests", &mut docs)?;
    }
    Ok(total)
}

fn counted(report: &Report, label: &str, command: &mut Command) -> Result<Counts> {
    let mut total = Counts::default();
    let succeeded = run::watched(report, label, command, |line| {
        if let Some(counts) = Counts::from_line(line) {
            total += counts;
        }
    })?;
    Ok(total.or_failed(succeeded))
}

pub fn browser(
    workspace: &Workspace,
    report: &Report,
    product: &Product,
    filter: &[String],
) -> Result<Counts> {
    let out = workspace.target.join("browser-tests");
    let results = out.join("report.json");
    if results.exists() {
        fs::remove_file(&results)?;
    }
    let mut command = browser::playwright(workspace, product)?;
    command
        .arg("test")
        .args(filter)
        .env("PLAYWRIGHT_OUTPUT", &out)
        .env("PLAYWRIGHT_JSON_OUTPUT_NAME", &results);
    let succeeded = run::watched(report, "browser tests", &mut command, |_| {})?;
    Ok(Counts::from_playwright(&crate::digest::read(&results)?)?.or_failed(succeeded))
}
