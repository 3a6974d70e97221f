//! The `faying` command as people run it: the built program, in a folder of its own.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "what fails fails the test")]

mod bundles;
mod calc;
mod closed_job;
mod closed_record;
mod flips;
mod keys;
mod program;
mod published;
mod record;
mod serving;
mod signed;
mod users;
