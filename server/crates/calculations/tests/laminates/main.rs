//! Tests of the laminate engine.

mod reference;
mod sheets;
