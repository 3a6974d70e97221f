//! `cargo xtask test`: installs what is missing, checks style, builds, runs
//! every test, the browser's too, and ends with the counts.

mod counts;
mod green;
mod stages;

use std::process::ExitCode;
use std::time::{Duration, Instant};

use anyhow::Result;
use clap::{Args, ValueEnum};

use crate::product::Purpose;
use crate::report::{Report, clock};
use crate::tools::{self, Tool};
use crate::workspace::{Workspace, in_ci};

use counts::Counts;
use green::Green;

#[derive(Args)]
pub struct Options {
    /// Run one part only
    #[arg(long, value_enum)]
    only: Option<Part>,
    /// Run even if nothing changed since the last green run
    #[arg(long)]
    force: bool,
    /// Passed on to the test runner of the part chosen with --only
    #[arg(last = true, requires = "only")]
    filter: Vec<String>,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Part {
    /// Format, clippy, warnings of the browser build
    Lint,
    /// Unit, property, route, storage and documentation tests
    Rust,
    /// Playwright against the built product
    Browser,
}

impl Options {
    fn wants(&self, part: Part) -> bool {
        self.only.is_none_or(|only| only == part)
    }

    fn tools(&self) -> Vec<Tool> {
        let mut tools = Vec::new();
        if self.wants(Part::Rust) {
            tools.extend([Tool::PostgreSql, Tool::PdfReaders]);
        }
        if self.wants(Part::Browser) {
            tools.extend([Tool::Chromium, Tool::Node]);
        }
        tools
    }
}

pub fn run(workspace: &Workspace, report: &Report, options: &Options) -> Result<ExitCode> {
    // Only a whole run proves anything about the whole, and CI takes no earlier word for it.
    let whole = options.only.is_none();
    let before = known_state(workspace, report);
    if whole
        && !options.force
        && !in_ci()
        && let Some(green) = before.as_ref().and_then(|state| Green::read(workspace, state))
    {
        println!("unchanged since the green run of {}: {} passed", green.when, green.passed);
        println!("(`cargo xtask test --force` runs everything all the same)");
        return Ok(finish(green.counts()));
    }

    let mut tally = Tally { report, done: Vec::new() };
    run_stages(workspace, &mut tally, options);
    let total = tally.print();
    // Somebody may have gone on editing while the tests ran: then they proved nothing lasting.
    if whole
        && total.failed == 0
        && let Some(state) = before
        && green::fingerprint(workspace).is_ok_and(|after| after == state)
    {
        Green::write(workspace, &state, &total)?;
    }
    Ok(finish(total))
}

/// The fingerprint of all sources; none without git, and then everything runs every time.
fn known_state(workspace: &Workspace, report: &Report) -> Option<String> {
    green::fingerprint(workspace)
        .inspect_err(|error| report.say(format!("cannot tell whether anything changed: {error:#}")))
        .ok()
}

fn run_stages(workspace: &Workspace, tally: &mut Tally, options: &Options) {
    let report = tally.report;
    let installed = tally.stage("tools", || {
        tools::ensure(report, &options.tools())?;
        if options.wants(Part::Browser) {
            tools::node_modules(report, &workspace.browser_tests())?;
        }
        if options.wants(Part::Lint) {
            tools::rust_components(workspace, report)?;
        }
        Ok(Counts::default())
    });
    if installed.is_none() {
        return;
    }
    if options.wants(Part::Lint) {
        tally.stage("format", || stages::format(workspace, report));
        tally.stage("clippy", || stages::clippy(workspace, report));
    }
    let mut product = None;
    tally.stage("build", || {
        let purpose = if options.wants(Part::Rust) { Purpose::Testing } else { Purpose::Trying };
        product = Some(stages::build(workspace, report, purpose, options.wants(Part::Lint))?);
        Ok(Counts::default())
    });
    if options.wants(Part::Rust) {
        tally.stage("rust tests", || stages::rust(workspace, report, product.as_ref(), &options.filter));
    }
    if options.wants(Part::Browser)
        && let Some(product) = &product
    {
        tally.stage("browser tests", || stages::browser(workspace, report, product, &options.filter));
    }
}

/// The last line, alone, in the form that CI reads; and the exit code to match.
fn finish(total: Counts) -> ExitCode {
    println!("{} passed, {} failed", total.passed, total.failed);
    if total.failed == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

/// What was done, how long it took and how it went.
struct Tally<'a> {
    report: &'a Report,
    done: Vec<(&'static str, Duration, Counts)>,
}

impl Tally<'_> {
    /// Runs a stage. One that breaks off counts as one failure, so that the
    /// last line never says "0 failed" over something that failed.
    fn stage(&mut self, name: &'static str, work: impl FnOnce() -> Result<Counts>) -> Option<Counts> {
        self.report.say(format!("{name}: begun"));
        let started = Instant::now();
        let outcome = work();
        let counts = match &outcome {
            Ok(counts) => *counts,
            Err(error) => {
                println!("{name}: {error:#}");
                Counts { failed: 1, ..Counts::default() }
            }
        };
        let verdict = if counts.failed == 0 { "done" } else { "FAILED" };
        self.report.say(format!("{name}: {verdict}"));
        self.done.push((name, started.elapsed(), counts));
        outcome.ok()
    }

    fn print(&self) -> Counts {
        println!("\n{:<14} {:>6} {:>7} {:>7} {:>7}", "stage", "time", "passed", "failed", "skipped");
        let mut total = Counts::default();
        for (name, time, counts) in &self.done {
            let Counts { passed, failed, skipped } = counts;
            println!("{name:<14} {:>6} {passed:>7} {failed:>7} {skipped:>7}", clock(*time));
            total += *counts;
        }
        println!("{:<14} {:>6}\n", "all", clock(self.report.elapsed()));
        total
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use anyhow::bail;

    #[test]
    fn a_stage_that_breaks_off_counts_as_one_failure() {
        let report = Report::start();
        let mut tally = Tally { report: &report, done: Vec::new() };
        let good = Counts { passed: 3, failed: 0, skipped: 1 };
        assert!(tally.stage("good", || Ok(good)).is_some());
        assert!(tally.stage("bad", || bail!("no database")).is_none());
        assert_eq!(tally.print(), Counts { passed: 3, failed: 1, skipped: 1 });
    }

    #[test]
    fn the_exit_code_follows_the_failures() {
        let exit = |failed| format!("{:?}", finish(Counts { passed: 1, failed, skipped: 0 }));
        assert_eq!(exit(0), format!("{:?}", ExitCode::SUCCESS));
        assert_eq!(exit(1), format!("{:?}", ExitCode::FAILURE));
    }
}
