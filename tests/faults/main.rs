//! Real faults against the built program: it is killed, its disk fills up, its database is restored from
//! last night's backup, while real phones (crate `device`) talk to it over loopback.
//!
//! ```text
//! phone: crate `device` on a store in memory ── wire: HTTP over loopback ──▶ served: the `faying` program
//!   in real time, its own sync loop and notices       seen: every answer     killed, restarted, restored
//! ```
//!
//! What no test of the parts can show stands here; what needs a fault at an exact place is in `tests/sim`.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "what fails fails the test")]

mod disk;
mod finishing;
mod full;
mod held;
mod killed;
mod phone;
mod restored;
mod served;
mod two_servers;
mod wire;

/// Phones live on one thread; the server is a process of its own.
fn on_one_thread<T>(story: impl Future<Output = T>) -> T {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    tokio::task::LocalSet::new().block_on(&runtime, story)
}
