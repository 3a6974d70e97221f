//! Runs seeds and says how fast: `cargo xtask sim`.

use std::process::ExitCode;
use std::time::Instant;

use clap::Parser;
use sync_sim::Count;

#[derive(Parser)]
struct Options {
    /// How many seeds
    #[arg(long, default_value_t = 200)]
    seeds: u64,
    /// The first of them
    #[arg(long, default_value_t = 0)]
    from: u64,
    /// This one alone, showing what happens
    #[arg(long)]
    seed: Option<u64>,
}

fn main() -> ExitCode {
    let options = Options::parse();
    let (from, count) = options.seed.map_or((options.from, options.seeds), |seed| (seed, 1));
    let start = Instant::now();
    let mut struck = Count::new();
    for seed in from..from.saturating_add(count) {
        let run = if options.seed.is_some() { sync_sim::replay } else { sync_sim::run };
        match run(seed) {
            Ok(ran) => {
                ran.struck.into_iter().for_each(|(blow, count)| *struck.entry(blow).or_default() += count);
                if options.seed.is_some() {
                    println!("seed {seed}: what happened has the digest {}", ran.trace);
                } else {
                    tell_progress(seed - from + 1, start);
                }
            }
            Err(failure) => {
                eprintln!("{failure}");
                println!("{} seeds ran before it", seed - from);
                return ExitCode::FAILURE;
            }
        }
    }
    println!("{}", rate(count, start));
    for (blow, count) in struck {
        println!("  {blow:?}: {count}");
    }
    ExitCode::SUCCESS
}

fn rate(count: u64, start: Instant) -> String {
    let seconds = start.elapsed().as_secs_f64();
    #[expect(clippy::cast_precision_loss, reason = "a rate to read")]
    let rate = count as f64 / seconds;
    format!("{count} seeds in {seconds:.1} s: {rate:.1} seeds per second")
}

/// A long run says how far it is.
fn tell_progress(count: u64, start: Instant) {
    if count.is_multiple_of(100) {
        eprintln!("{}", rate(count, start));
    }
}
