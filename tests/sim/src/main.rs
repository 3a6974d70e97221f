//! Runs seeds and says how fast: `cargo xtask sim`.

use std::process::ExitCode;
use std::time::Instant;

use clap::Parser;

#[derive(Parser)]
struct Options {
    /// How many seeds
    #[arg(long, default_value_t = 200)]
    seeds: u64,
    /// The first of them
    #[arg(long, default_value_t = 0)]
    from: u64,
    /// This one alone
    #[arg(long)]
    seed: Option<u64>,
}

fn main() -> ExitCode {
    let options = Options::parse();
    let (from, count) = options.seed.map_or((options.from, options.seeds), |seed| (seed, 1));
    let start = Instant::now();
    for seed in from..from.saturating_add(count) {
        if let Err(failure) = sync_sim::run(seed) {
            eprintln!("{failure}");
            println!("{} seeds ran before it", seed - from);
            return ExitCode::FAILURE;
        }
    }
    let seconds = start.elapsed().as_secs_f64();
    #[expect(clippy::cast_precision_loss, reason = "a rate to read")]
    let rate = count as f64 / seconds;
    println!("{count} seeds in {seconds:.1} s: {rate:.1} seeds per second");
    ExitCode::SUCCESS
}
