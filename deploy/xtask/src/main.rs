//! `cargo xtask VERB`: builds, demonstrates and tests Faying.
//!
//! Everything that a newcomer or the CI types is here, in Rust, so that a bare
//! machine needs nothing but cargo, a C compiler and the package registries.

mod bench;
mod browser;
mod demo;
mod digest;
mod load;
mod postgres;
mod product;
mod report;
mod run;
mod server;
mod sim;
mod site;
mod sync_bench;
mod test;
#[cfg(test)]
mod tidy;
mod tools;
mod wasm_toolchain;
mod workspace;

use std::process::ExitCode;

use anyhow::Result;
use clap::{Parser, Subcommand};

use crate::report::Report;
use crate::workspace::Workspace;

#[derive(Parser)]
#[command(name = "cargo xtask", about = "Builds, demonstrates and tests Faying")]
struct Arguments {
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Subcommand)]
enum Verb {
    /// Build the app for the browser into `<target>/site`
    Build,
    /// Build everything and serve the demo on this machine
    Demo(demo::Options),
    /// Install what the tests need, run every test, print the counts
    Test(test::Options),
    /// Run the benchmarks, and measure the server's start and memory
    Bench(bench::Options),
    /// Simulate phones, servers and a bad network on as many seeds as asked
    Sim(sim::Options),
    /// Take pictures of every screen at three sizes, light and dark
    Screenshots(browser::ServerOptions),
    /// Run Lighthouse's mobile audit on the built product, with thresholds
    Lighthouse(browser::ServerOptions),
}

fn main() -> ExitCode {
    // Without a backtrace: it would bury the sentence that says what to do.
    carry_out().unwrap_or_else(|error| {
        eprintln!("xtask: {error:#}");
        ExitCode::FAILURE
    })
}

fn carry_out() -> Result<ExitCode> {
    let arguments = Arguments::parse();
    let workspace = Workspace::locate()?;
    let report = Report::start();
    match arguments.verb {
        Verb::Build => site::build(&workspace, &report).map(drop)?,
        Verb::Demo(options) => demo::run(&workspace, &report, &options)?,
        Verb::Test(options) => return test::run(&workspace, &report, &options),
        Verb::Bench(options) => bench::run(&workspace, &report, &options)?,
        Verb::Sim(options) => sim::run(&workspace, &options)?,
        Verb::Screenshots(options) => browser::screenshots(&workspace, &report, &options)?,
        Verb::Lighthouse(options) => browser::lighthouse(&workspace, &report, &options)?,
    }
    Ok(ExitCode::SUCCESS)
}
