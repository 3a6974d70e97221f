//! The store over SQLite and PostgreSQL.
//!
//! ```text
//! store ─┬─ append ── fold      changes into logs, and what follows from them
//!        ├─ logs ── page        reading logs
//!        ├─ newest              what was appended last, in memory
//!        ├─ owned               whose is what
//!        ├─ accounts, sessions, shops, guests, uploads
//!        ├─ search ── findable  what can be found by words
//!        ├─ countersign         chains of the logs, keys of the server
//!        ├─ archive             dump and restore
//!        └─ bell                notices
//!              all over ── db, value; what is made anew: edition
//! ```

mod accounts;
mod append;
mod archive;
mod bell;
mod countersign;
mod db;
mod edition;
mod findable;
mod fold;
mod guests;
mod lane;
mod logs;
mod newest;
mod owned;
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
