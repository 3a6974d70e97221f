//! How often somebody may ask: per person, before sign-in per address.
//!
//! Kept in the memory of this process, so each of several processes counts for
//! itself. Generous where a phone catches up after a week without signal.

use std::net::IpAddr;
use std::num::NonZeroU32;
use std::time::Duration;

use governor::clock::{Clock as _, DefaultClock};
use governor::{DefaultKeyedRateLimiter, Quota, RateLimiter};
use shared_types::ids::UserId;

/// Which limit a route counts against.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rate {
    /// Not limited: files and health.
    Free,
    /// Passwords and invitations, per address: each costs us a hash.
    Account,
    /// Logs, notices, devices, photos to look at, per person.
    Sync,
    /// Pieces of uploads, per person.
    Upload,
    /// Calculations, per person.
    Calc,
}

/// Requests a second in the long run, and how many may come at once.
struct Allowance(u32, u32);

impl Rate {
    const fn allowance(self) -> Allowance {
        match self {
            Self::Free | Self::Account => Allowance(5, 100),
            Self::Sync => Allowance(100, 2_000),
            Self::Upload => Allowance(200, 4_000),
            Self::Calc => Allowance(400, 1_000),
        }
    }
}

/// The limits, and who has used how much of them.
pub struct Rates {
    account: DefaultKeyedRateLimiter<IpAddr>,
    sync: DefaultKeyedRateLimiter<UserId>,
    upload: DefaultKeyedRateLimiter<UserId>,
    calc: DefaultKeyedRateLimiter<UserId>,
}

/// Too often; come back after this time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TooOften(pub Duration);

impl Default for Rates {
    fn default() -> Self {
        Self {
            account: limiter(Rate::Account),
            sync: limiter(Rate::Sync),
            upload: limiter(Rate::Upload),
            calc: limiter(Rate::Calc),
        }
    }
}

impl Rates {
    /// Counts a request of an address that has not signed in.
    ///
    /// # Errors
    /// When it asks too often.
    pub fn count_address(&self, rate: Rate, address: IpAddr) -> Result<(), TooOften> {
        match rate {
            Rate::Free => Ok(()),
            Rate::Account | Rate::Sync | Rate::Upload | Rate::Calc => count(&self.account, &address),
        }
    }

    /// Counts a request of a person.
    ///
    /// # Errors
    /// When the person asks too often.
    pub fn count_person(&self, rate: Rate, user: UserId) -> Result<(), TooOften> {
        match rate {
            Rate::Free => Ok(()),
            Rate::Account | Rate::Sync => count(&self.sync, &user),
            Rate::Upload => count(&self.upload, &user),
            Rate::Calc => count(&self.calc, &user),
        }
    }

    /// Forgets those who have not asked of late.
    pub fn tidy(&self) {
        self.account.retain_recent();
        for persons in [&self.sync, &self.upload, &self.calc] {
            persons.retain_recent();
        }
    }
}

fn limiter<K: Clone + Eq + std::hash::Hash>(rate: Rate) -> DefaultKeyedRateLimiter<K> {
    let Allowance(per_second, at_once) = rate.allowance();
    RateLimiter::keyed(Quota::per_second(at_least_one(per_second)).allow_burst(at_least_one(at_once)))
}

fn at_least_one(number: u32) -> NonZeroU32 {
    NonZeroU32::new(number).unwrap_or(NonZeroU32::MIN)
}

fn count<K: Clone + Eq + std::hash::Hash>(
    limiter: &DefaultKeyedRateLimiter<K>,
    key: &K,
) -> Result<(), TooOften> {
    limiter
        .check_key(key)
        .map_err(|not_until| TooOften(not_until.wait_time_from(DefaultClock::default().now())))
}

#[cfg(test)]
mod tests {
    use super::*;
    use uuid::Uuid;

    #[test]
    fn a_phone_that_was_away_for_a_week_gets_through_at_once() {
        // 5,000 changes in pushes of 500, 200 photos of 12 pieces each with their creation.
        let rates = Rates::default();
        let user = UserId(Uuid::from_u128(1));
        for _ in 0..10 {
            rates.count_person(Rate::Sync, user).unwrap();
        }
        for _ in 0..200 * 13 {
            rates.count_person(Rate::Upload, user).unwrap();
        }
    }

    #[test]
    fn a_flood_from_one_address_has_to_wait_and_others_do_not() {
        let rates = Rates::default();
        let (flooding, other) = (IpAddr::from([192, 0, 2, 1]), IpAddr::from([192, 0, 2, 2]));
        let answers: Vec<_> = (0..200).map(|_| rates.count_address(Rate::Account, flooding)).collect();
        assert!(answers.last().is_some_and(|last| last.is_err_and(|TooOften(wait)| !wait.is_zero())));
        assert_eq!(rates.count_address(Rate::Account, other), Ok(()));
        assert_eq!(rates.count_address(Rate::Free, flooding), Ok(()));
    }
}
