//! The real phones' sync against the real server, in one process, in virtual time, on a seed.
//!
//! ```text
//! world: 5 phones (crate `device`) ── wire: loses, delays, doubles, cuts ──▶ servers: 2 routers (crate `faying`)
//!   ▲ and a newer one      ◀── live: notices ──                                faulty: crashes at a write, full
//!   │ who acts, what fails: chance from the seed                                 │
//!   └── check: all agree, nothing lost, nothing twice ◀────── one SQLite database, one photo store (folder or objects)
//! ```
//!
//! One request is in a server at a time, and the phones' rounds interleave between requests; so
//! the order of everything follows from the seed alone. Start reading at [`run`].

#![expect(clippy::expect_used, clippy::panic, reason = "a test: what can't be fails the seed")]

mod chance;
mod check;
mod faulty;
mod live;
mod newer;
mod objects;
mod people;
mod servers;
mod struck;
mod trace;
mod wire;
mod world;

use std::fmt;
use std::panic::{AssertUnwindSafe, catch_unwind};

use shared_types::digest::Digest;

use struck::Struck;
pub use struck::{Blow, Count};
use trace::Trace;
use world::World;

/// How many lines of what happened are shown.
const TAIL: usize = 40;

/// A seed that broke an invariant.
#[derive(Debug)]
pub struct Failure {
    seed: u64,
    broken: String,
    tail: String,
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { seed, broken, tail } = self;
        write!(f, "{tail}\nseed {seed}: {broken}\nreplay: cargo xtask sim --seed {seed}")
    }
}

/// A seed that broke nothing.
#[derive(Debug)]
pub struct Ran {
    /// The digest of what happened: always the same for the same seed.
    pub trace: Digest,
    /// How often which fault struck.
    pub struck: Count,
}

/// Runs a seed.
///
/// # Errors
/// When an invariant is broken.
pub fn run(seed: u64) -> Result<Ran, Failure> {
    run_on(seed, &Trace::default())
}

/// The same, and shows on standard error what happens as it happens.
///
/// # Errors
/// When an invariant is broken.
pub fn replay(seed: u64) -> Result<Ran, Failure> {
    run_on(seed, &Trace::new(true))
}

fn run_on(seed: u64, trace: &Trace) -> Result<Ran, Failure> {
    let struck = Struck::default();
    let outcome = catch_unwind(AssertUnwindSafe(|| {
        let clock = world::clock();
        let (running, trace, struck) = (clock.clone(), trace.clone(), struck.clone());
        clock.run(async move {
            let mut world = World::begin(running, seed, trace, struck).await;
            world.storm().await;
            world.calm().await?;
            check::all(&world).await
        })
    }));
    let broken = match outcome {
        Ok(Ok(())) => return Ok(Ran { trace: trace.digest(), struck: struck.count() }),
        Ok(Err(broken)) => broken,
        Err(panic) => {
            let words = panic.downcast_ref::<String>().cloned();
            words.or_else(|| panic.downcast_ref::<&str>().map(ToString::to_string)).unwrap_or_default()
        }
    };
    Err(Failure { seed, broken, tail: trace.tail(TAIL) })
}
