//! Tests of the laminate engine.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test that can't go on stops")]

mod bad_input;
mod disagreements;
mod properties;
mod reference;
mod sheets;
mod table;
