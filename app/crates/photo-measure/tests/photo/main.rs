//! Measuring checked against photos whose geometry is known: rendered here with
//! code of its own, and one open picture.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod coins;
mod degenerate;
mod positions;
mod properties;
mod scene;
mod snapping;
mod survey;
mod whole;
