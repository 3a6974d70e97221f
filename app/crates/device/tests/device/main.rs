//! The device against a server in memory, in virtual time, on a network that fails.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "what fails fails the test")]

mod accounts;
mod clocks;
mod converge;
mod export;
mod killed;
mod offline;
mod photos;
mod push;
mod restored;
mod shelf;
mod signing;
mod snapshots;
mod store;
mod storm;
mod tabs;
mod world;
