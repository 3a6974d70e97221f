//! `cargo xtask bench`: criterion's benches, sync beside bare servers, the server's start and
//! memory, its calculations at a fixed rate, and what the browser takes for the things that
//! people wait for.

use std::time::Duration;

use anyhow::{Result, ensure};
use clap::Args;

use crate::digest::files_under;
use crate::product::{self, Product, Purpose};
use crate::report::Report;
use crate::server::{Data, DemoServer};
use crate::tools::{self, Tool};
use crate::workspace::Workspace;
use crate::{browser, load, run, sync_bench};

/// With the demo loaded, on a small box: what a shop's owner is promised.
const READY_IN_MS: u128 = 300;
const RESIDENT_BYTES: u64 = 60_000_000;
/// 99 of 100 calculations over HTTP, at the rate of [`load`].
const CALCULATED_IN: Duration = Duration::from_millis(5);

#[derive(Args)]
pub struct Options {
    /// Names of benches, or parts of them; all if there are none. `sync`, alone or followed by
    /// parts of it (`pushes`, `opening`, `lengths`, `photos`, `folding`, `encodings`), is sync's
    filter: Vec<String>,
}

pub fn run(workspace: &Workspace, report: &Report, options: &Options) -> Result<()> {
    if let [first, parts @ ..] = options.filter.as_slice()
        && first == sync_bench::NAME
    {
        return sync_bench::run(workspace, report, parts);
    }
    let mut benches = workspace.cargo();
    // Only what is declared as a bench: every crate's tests would be compiled for it otherwise.
    benches.args(["bench", "--workspace", "--bench", "*"]);
    if !options.filter.is_empty() {
        benches.arg("--").args(&options.filter);
    }
    run::must(report, "benches", &mut benches)?;
    if !options.filter.is_empty() {
        return Ok(());
    }
    let sync = sync_bench::run(workspace, report, &[]);
    let product = product::build(workspace, report, Purpose::Using)?;
    let server = measure_server(workspace, report, &product);
    let calculations = measure_calculations(workspace, report, &product);
    let screens = measure_browser(workspace, report, &product);
    sync.and(server).and(calculations).and(screens)
}

/// Starts the server on a loaded demo several times and takes the middle one.
fn measure_server(workspace: &Workspace, report: &Report, product: &Product) -> Result<()> {
    const STARTS: usize = 5;
    let data = Data::throwaway(workspace)?;
    let log = workspace.target.join("demo-server.log");
    let first = DemoServer::start(product, &data, &log)?;
    report.say(format!("server: ready in {} ms with the demo to load", first.ready_after.as_millis()));
    drop(first);

    let mut ready = Vec::new();
    let mut resident = Vec::new();
    for _ in 0..STARTS {
        let server = DemoServer::start(product, &data, &log)?;
        ready.push(server.ready_after.as_millis());
        resident.push(server.resident()?);
    }
    data.remove()?;
    ready.sort_unstable();
    resident.sort_unstable();
    let (ready, resident) = (ready[STARTS / 2], resident[STARTS / 2]);
    report.say(format!(
        "server: ready in {ready} ms (at most {READY_IN_MS}), {} MB resident (at most {})",
        resident / 1_000_000,
        RESIDENT_BYTES / 1_000_000
    ));
    ensure!(ready <= READY_IN_MS, "the server takes {ready} ms to be ready");
    ensure!(resident <= RESIDENT_BYTES, "the server needs {resident} bytes of memory");
    Ok(())
}

/// Has every kind of worksheet worked out over HTTP, many a second.
fn measure_calculations(workspace: &Workspace, report: &Report, product: &Product) -> Result<()> {
    let data = Data::throwaway(workspace)?;
    let server = DemoServer::start(product, &data, &workspace.target.join("demo-server.log"))?;
    let latencies = load::calculations(server.address())?;
    drop(server);
    data.remove()?;
    let [half, most] = [50, 99].map(|percent| latencies.share(percent));
    report.say(format!(
        "{} calculations over HTTP: half within {half:.2?}, 99 % within {most:.2?} (at most {CALCULATED_IN:?}), \
         all within {:.2?}",
        latencies.count(),
        latencies.longest()
    ));
    ensure!(most <= CALCULATED_IN, "99 % of the calculations take {most:?}");
    Ok(())
}

/// Runs the browser's benches: `*.bench.mjs`, each with its own limits.
fn measure_browser(workspace: &Workspace, report: &Report, product: &Product) -> Result<()> {
    let folder = workspace.browser_tests().join("benches");
    if files_under(&folder)?.is_empty() {
        return Ok(());
    }
    tools::ensure(report, &[Tool::Chromium, Tool::Node])?;
    tools::node_modules(report, &workspace.browser_tests())?;
    let mut command = browser::playwright(workspace, product)?;
    let out = workspace.target.join("browser-benches");
    command.arg("test").env("BENCHES", "1").env("PLAYWRIGHT_OUTPUT", out);
    run::must(report, "browser benches", &mut command)
}
