//! The command line: `faying VERB`.

mod backup;
mod calc;
mod export;
mod job;
mod key;
mod places;
mod serve;
mod user;
mod verify;

use std::io::{self, Write as _};
use std::process::ExitCode;

use clap::{Parser, Subcommand};

use crate::fault::chain;

#[derive(Parser)]
#[command(
    name = "faying",
    version,
    about = "Records of repairs where glass fibre meets metal: server and tools"
)]
struct Arguments {
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Subcommand)]
enum Verb {
    /// Serve the API and the app
    Serve(serve::Options),
    /// Work a worksheet out: JSON in, JSON out
    Calc(calc::Options),
    /// Write a job as one file that anyone can verify offline
    Export(export::Options),
    /// Say what holds in an exported file and what does not; exit 1 if anything fails
    Verify(verify::Options),
    /// Accounts
    #[command(subcommand)]
    User(user::Verb),
    /// Jobs
    #[command(subcommand)]
    Job(job::Verb),
    /// The keys that the server vouches with
    #[command(subcommand)]
    Key(key::Verb),
    /// Write everything the server holds into one file
    Backup(backup::Options),
    /// Read a backup into an empty database and photo store
    Restore(backup::Options),
}

/// Does what the command line asks.
#[must_use]
pub fn run() -> ExitCode {
    let arguments = Arguments::parse();
    let done = match arguments.verb {
        // Needs no store and no runtime, so that it answers at once.
        Verb::Calc(options) => calc::run(&options),
        Verb::Verify(options) => verify::run(&options),
        verb => with_runtime(verb),
    };
    done.unwrap_or_else(|error| {
        complain(&chain(error.as_ref()));
        ExitCode::FAILURE
    })
}

fn with_runtime(verb: Verb) -> anyhow::Result<ExitCode> {
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
    runtime.block_on(async {
        match verb {
            Verb::Serve(options) => serve::run(options).await?,
            Verb::User(verb) => user::run(verb).await?,
            Verb::Job(verb) => job::run(verb).await?,
            Verb::Key(verb) => key::run(verb).await?,
            Verb::Export(options) => export::run(&options).await?,
            Verb::Backup(options) => backup::back_up(&options).await?,
            Verb::Restore(options) => backup::restore(&options).await?,
            Verb::Calc(options) => return calc::run(&options),
            Verb::Verify(options) => return verify::run(&options),
        }
        Ok(ExitCode::SUCCESS)
    })
}

/// Writes a line for people. A reader that has gone away is no fault of ours.
fn say(line: &str) -> io::Result<()> {
    match writeln!(io::stdout(), "{line}") {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        written => written,
    }
}

fn complain(line: &str) {
    // Standard error is the last resort: when it is gone too, the exit code still tells.
    let _ = writeln!(io::stderr(), "faying: {line}");
}
