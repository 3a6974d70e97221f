//! Layups as people see them: the engine's question, the stack drawn in section, the log of what went in.
//!
//! Used by the layup's own page and by the record, so nothing here knows a store.

pub mod asked;
pub mod drawing;
pub mod log;
