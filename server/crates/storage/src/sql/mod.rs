//! The store over SQLite and PostgreSQL.
//!
//! ```text
//! store ─┬─ append ── fold      changes into logs, and what follows from them
//!        ├─ logs                reading logs
//!        ├─ accounts, sessions, shops, guests, uploads
//!        ├─ search              what can be found by words
//!        ├─ countersign         chains of the logs, keys of the server
//!        ├─ archive             dump and restore
//!        └─ bell                notices
//!              all over ── db, value
//! ```

mod accounts;
mod append;
mod archive;
mod bell;
mod countersign;
mod db;
mod fold;
mod guests;
mod lane;
mod logs;
mod page;
mod search;
mod sessions;
mod shops;
mod snapshots;
mod store;
mod uploads;
mod value;

pub use archive::restore;
pub use store::Store;
