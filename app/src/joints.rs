//! Joints as people see them: marks, the engine's questions, the drawing to scale.
//!
//! Used by the joint's own page and by the record, so nothing here knows a store.

pub mod asked;
pub mod drawing;
pub mod judged;
pub mod mark;
pub mod questions;
