//! The real server, in process, over HTTP: one file per concern.
//!
//! Every answer that any of these tests gets is held against the OpenAPI document and
//! the headers that every answer must carry; every log line that any of them causes
//! must be free of secrets and of what people typed, and none may be an error.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "what fails fails the test")]

mod accounts;
mod answers;
mod confirmations;
mod contract;
mod guests;
mod harness;
mod held;
mod input;
mod people;
mod photos;
mod pushes;
mod record_links;
mod role_matrix;
mod roles;
mod search;
mod snapshots;
mod tokens;
