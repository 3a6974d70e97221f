//! The Faying server: keeps the logs, works the worksheets out, serves the app.
//!
//! ```text
//! http ─▶ usecases ─▶ storage, photo-store, calculations
//!            ▲
//! cli ───────┘
//! ```
//!
//! Handlers read requests and pick no status ([`http::error`] does); use cases know
//! no HTTP and no SQL. Start reading at [`http::router`], which lists every route with
//! its guard, then [`usecases::push`], the way of a change into its log.

pub mod auth;
pub mod backup;
pub mod bundle;
pub mod cli;
pub mod clock;
pub mod demo;
pub mod deps;
pub mod fault;
pub mod http;
pub mod lan;
pub mod metrics;
pub mod printed;
pub mod site;
pub mod usecases;

mod launch;

pub use launch::{Listener, launch};
