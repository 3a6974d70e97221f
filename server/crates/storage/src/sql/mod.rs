//! The store over SQLite and PostgreSQL.
//!
//! ```text
//! store ─┬─ append ── fold      changes into logs, and what follows from them
//!        ├─ logs                reading logs
//!        ├─ accounts, sessions, shops, uploads
//!        ├─ archive             dump and restore
//!        └─ bell                notices
//!              all over ── db, value
//! ```

mod accounts;
mod append;
mod archive;
mod bell;
mod db;
mod fold;
mod lane;
mod logs;
mod page;
mod sessions;
mod shops;
mod store;
mod uploads;
mod value;

pub use archive::restore;
pub use store::Store;
