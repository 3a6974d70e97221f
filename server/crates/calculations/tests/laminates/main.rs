//! Tests of the laminate engine.

mod bad_input;
mod disagreements;
mod properties;
mod reference;
mod sheets;
