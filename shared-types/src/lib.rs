//! What both sides must agree on: ids, units, changes, their fold, worksheets
//! and the API's shapes. No I/O, no clock, no randomness: such values arrive as
//! arguments.

pub mod digest;
pub mod quantity;
pub mod worksheet;
