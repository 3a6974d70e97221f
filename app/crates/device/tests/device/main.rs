//! The device against a server in memory, in virtual time, on a network that fails.

#![expect(clippy::cast_possible_truncation, reason = "small numbers in tests")]

mod accounts;
mod clocks;
mod converge;
mod export;
mod killed;
mod offline;
mod photos;
mod push;
mod restored;
mod store;
mod tabs;
mod world;
