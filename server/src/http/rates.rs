//! How often somebody may ask: per person, before sign-in per address.
//!
//! Kept in the memory of this process, so each of several processes counts for
//! itself. Generous where a phone catches up after a week without signal.

use std::net::IpAddr;
use std::num::NonZeroU32;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use governor::clock::Clock as _;
use governor::middleware::NoOpMiddleware;
use governor::state::keyed::DefaultKeyedStateStore;
use governor::{Quota, RateLimiter};
use shared_types::ids::UserId;
use shared_types::time::UtcMillis;

use crate::clock::Clock;

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

/// Time that only ever passes: a wall clock that was set back counts on from there.
#[derive(Clone)]
struct Passing {
    wall: Clock,
    last: Arc<Mutex<(UtcMillis, Duration)>>,
}

impl governor::clock::Clock for Passing {
    type Instant = Duration;

    fn now(&self) -> Duration {
        let now = self.wall.now();
        let mut last = self.last.lock().unwrap_or_else(PoisonError::into_inner);
        let passed = u64::try_from(now.0.saturating_sub(last.0.0)).unwrap_or(0);
        *last = (now, last.1 + Duration::from_millis(passed));
        last.1
    }
}

type Limiter<K> = RateLimiter<K, DefaultKeyedStateStore<K>, Passing, NoOpMiddleware<Duration>>;

/// The limits, and who has used how much of them.
pub struct Rates {
    time: Passing,
    account: Limiter<IpAddr>,
    sync: Limiter<UserId>,
    upload: Limiter<UserId>,
    calc: Limiter<UserId>,
}

/// Too often; come back after this time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TooOften(pub Duration);

impl Rates {
    /// Nobody has asked yet.
    #[must_use]
    pub fn new(wall: Clock) -> Self {
        let last = Arc::new(Mutex::new((wall.now(), Duration::ZERO)));
        let time = Passing { wall, last };
        Self {
            account: limiter(Rate::Account, &time),
            sync: limiter(Rate::Sync, &time),
            upload: limiter(Rate::Upload, &time),
            calc: limiter(Rate::Calc, &time),
            time,
        }
    }

    /// Counts a request of an address that has not signed in.
    ///
    /// # Errors
    /// When it asks too often.
    pub fn count_address(&self, rate: Rate, address: IpAddr) -> Result<(), TooOften> {
        match rate {
            Rate::Free => Ok(()),
            Rate::Account | Rate::Sync | Rate::Upload | Rate::Calc => self.count(&self.account, &address),
        }
    }

    /// Counts a request of a person.
    ///
    /// # Errors
    /// When the person asks too often.
    pub fn count_person(&self, rate: Rate, user: UserId) -> Result<(), TooOften> {
        match rate {
            Rate::Free => Ok(()),
            Rate::Account | Rate::Sync => self.count(&self.sync, &user),
            Rate::Upload => self.count(&self.upload, &user),
            Rate::Calc => self.count(&self.calc, &user),
        }
    }

    fn count<K: Clone + Eq + std::hash::Hash>(&self, limiter: &Limiter<K>, key: &K) -> Result<(), TooOften> {
        limiter.check_key(key).map_err(|not_until| TooOften(not_until.wait_time_from(self.time.now())))
    }

    /// Forgets those who have not asked of late.
    pub fn tidy(&self) {
        self.account.retain_recent();
        for persons in [&self.sync, &self.upload, &self.calc] {
            persons.retain_recent();
        }
    }
}

fn limiter<K: Clone + Eq + std::hash::Hash>(rate: Rate, time: &Passing) -> Limiter<K> {
    let Allowance(per_second, at_once) = rate.allowance();
    let quota = Quota::per_second(at_least_one(per_second)).allow_burst(at_least_one(at_once));
    RateLimiter::new(quota, DefaultKeyedStateStore::default(), time.clone())
}

fn at_least_one(number: u32) -> NonZeroU32 {
    NonZeroU32::new(number).unwrap_or(NonZeroU32::MIN)
}

#[cfg(test)]
mod tests {
    use super::*;
    use uuid::Uuid;

    #[test]
    fn a_phone_that_was_away_for_a_week_gets_through_at_once() {
        // 5,000 changes in pushes of 500, 200 photos of 12 pieces each with their creation.
        let rates = Rates::new(Clock::system());
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
        let rates = Rates::new(Clock::system());
        let (flooding, other) = (IpAddr::from([192, 0, 2, 1]), IpAddr::from([192, 0, 2, 2]));
        let answers: Vec<_> = (0..200).map(|_| rates.count_address(Rate::Account, flooding)).collect();
        assert!(answers.last().is_some_and(|last| last.is_err_and(|TooOften(wait)| !wait.is_zero())));
        assert_eq!(rates.count_address(Rate::Account, other), Ok(()));
        assert_eq!(rates.count_address(Rate::Free, flooding), Ok(()));
    }

    #[test]
    fn waiting_helps_by_the_servers_clock_even_after_it_was_set_back() {
        let now = Arc::new(Mutex::new(UtcMillis(1_700_000_000_000)));
        let wall = Arc::clone(&now);
        let rates = Rates::new(Clock::new(move || *wall.lock().unwrap()));
        let address = IpAddr::from([192, 0, 2, 1]);
        let turn = |millis: i64| now.lock().unwrap().0 += millis;
        let asked = || (0..).take_while(|_| rates.count_address(Rate::Account, address).is_ok()).count();
        assert_eq!(asked(), 100);
        turn(1_000);
        assert_eq!(asked(), 5);
        turn(-400 * 24 * 60 * 60 * 1_000);
        assert_eq!(asked(), 0);
        turn(2_000);
        assert_eq!(asked(), 10);
    }
}
