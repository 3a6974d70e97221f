//! What every photo store must do, run on a folder and in memory.
//!
//! The code over an object store is the same for memory and for S3. S3 itself wants a
//! server and is not part of this run.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod crash;
mod folder;
mod pictures;
mod support;
mod uploads;
