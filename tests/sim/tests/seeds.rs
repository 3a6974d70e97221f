//! The seeds that every run of the tests goes through, side by side.

#![expect(clippy::panic, clippy::expect_used, reason = "a test that can't go on stops")]

use std::collections::BTreeSet;
use std::process::Command;

use sync_sim::{Blow, run};

/// Runs them; every fault there is has to strike in so many.
fn all(seeds: std::ops::Range<u64>) {
    let mut struck = BTreeSet::new();
    for seed in seeds {
        match run(seed) {
            Ok(ran) => struck.extend(ran.struck.into_keys()),
            Err(failure) => panic!("{failure}"),
        }
    }
    let missing: Vec<Blow> = Blow::ALL.into_iter().filter(|blow| !struck.contains(blow)).collect();
    assert!(missing.is_empty(), "never struck: {missing:?}");
}

/// A test for each range: they run side by side.
macro_rules! seeds {
    ($($name:ident $from:literal..$to:literal)+) => {
        $(
            #[test]
            fn $name() {
                all($from..$to);
            }
        )+
    };
}

seeds! {
    after_the_faults_everything_is_there_once_and_all_agree_1 0..25
    after_the_faults_everything_is_there_once_and_all_agree_2 25..50
    after_the_faults_everything_is_there_once_and_all_agree_3 50..75
    after_the_faults_everything_is_there_once_and_all_agree_4 75..100
    after_the_faults_everything_is_there_once_and_all_agree_5 100..125
    after_the_faults_everything_is_there_once_and_all_agree_6 125..150
    after_the_faults_everything_is_there_once_and_all_agree_7 150..175
    after_the_faults_everything_is_there_once_and_all_agree_8 175..200
}

/// Runs a seed in a process of its own; gives what it says happened.
fn elsewhere(seed: u64) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_sync-sim")).args(["--seed", &seed.to_string()]).output();
    let output = output.expect("it starts");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("it writes text")
}

#[test]
fn a_seed_replays_exactly_in_this_process_and_in_others() {
    for seed in [0, 7, 42] {
        let here = run(seed).unwrap_or_else(|failure| panic!("{failure}")).trace;
        assert_eq!(run(seed).unwrap_or_else(|failure| panic!("{failure}")).trace, here, "seed {seed}");
        for _ in 0..2 {
            let there = elsewhere(seed);
            assert!(there.contains(&here.to_string()), "seed {seed}: {here} here, {there}");
        }
    }
}
