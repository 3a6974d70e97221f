//! What the server does, one file per verb. No HTTP, no SQL: a use case takes
//! what it needs from [`crate::deps::Deps`] and answers in words of its own.

pub mod access;
pub mod answer_worksheets;
pub mod confirm;
pub mod countersign;
pub mod held;
pub mod invite;
pub mod names;
pub mod own_changes;
pub mod print_record;
pub mod push;
pub mod read_log;
pub mod read_photo;
pub mod record_links;
pub mod recorded;
pub mod search;
pub mod shops;
pub mod sign_in;
pub mod snapshots;
pub mod uploads;
