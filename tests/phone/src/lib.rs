//! What a phone stands on in a test, without a network: virtual time, a store that can die or
//! fill up at any write, surroundings whose keys and chance come from a seed.

#![expect(clippy::expect_used, reason = "support of tests: what can't be fails the test")]

pub mod clock;
pub mod hand;
pub mod store;

pub use clock::Clock;
