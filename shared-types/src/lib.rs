//! What both sides must agree on: ids, units, changes, their fold, worksheets
//! and the API's shapes. No I/O, no clock, no randomness: such values arrive as
//! arguments.
//!
//! Start reading at [`change`] (what is sent), then [`body`] (what it does),
//! [`fold`] (what comes of it) and [`status`] (what that means for the people).

pub mod api;
pub mod body;
pub mod catalogue;
pub mod change;
pub mod check;
pub mod closing;
pub mod countersign;
pub mod coverage;
pub mod dash;
pub mod digest;
pub mod entities;
pub mod entity;
pub mod field;
pub mod fields;
pub mod fold;
pub mod held;
pub mod ids;
pub mod job;
pub mod joint;
pub mod json;
pub mod layup;
pub mod on_step;
pub mod order;
pub mod quantity;
pub mod record_entry;
pub mod record_photo;
pub mod review;
pub mod rules;
pub mod screening;
pub mod shelf;
pub mod shop;
pub mod signature;
pub mod sorted;
pub mod stamp;
pub mod status;
pub mod text;
pub mod time;
pub mod working_time;
pub mod worksheet;
