//! What every database must do, run on SQLite and on PostgreSQL.
//!
//! PostgreSQL is the one that `PG_URL` names, or one started for this run.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod accounts;
mod archive;
mod countersign;
mod first_schema;
mod guests;
mod logs;
mod own_changes;
mod schema;
mod search;
mod sessions;
mod shops;
mod snapshots;
mod state;
#[path = "../support/mod.rs"]
mod support;
mod uploads;
