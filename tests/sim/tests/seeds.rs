//! The seeds that every run of the tests goes through, side by side.

#![expect(clippy::panic, reason = "a test that can't go on stops")]

use sync_sim::run;

fn all(seeds: std::ops::Range<u64>) {
    for seed in seeds {
        if let Err(failure) = run(seed) {
            panic!("{failure}");
        }
    }
}

#[test]
fn after_the_faults_everything_is_there_once_and_all_agree_1() {
    all(0..50);
}

#[test]
fn after_the_faults_everything_is_there_once_and_all_agree_2() {
    all(50..100);
}

#[test]
fn after_the_faults_everything_is_there_once_and_all_agree_3() {
    all(100..150);
}

#[test]
fn after_the_faults_everything_is_there_once_and_all_agree_4() {
    all(150..200);
}

#[test]
fn a_seed_replays_exactly() {
    for seed in [0, 7, 42] {
        assert_eq!(run(seed).unwrap(), run(seed).unwrap(), "seed {seed}");
    }
}
