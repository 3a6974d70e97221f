//! Wrong tries at signing in: few per account and per address in a quarter of an hour.
//!
//! Kept in the memory of this process: a restart forgets them, and each of several
//! processes counts for itself. An address that has signed in to an account before is
//! counted apart from strangers, so that a stranger's guessing does not lock its owner out.

use std::collections::{HashMap, VecDeque};
use std::net::IpAddr;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use shared_types::time::UtcMillis;

use super::login::Login;

const WINDOW_MINUTES: i64 = 15;
const MOST_PER_ACCOUNT: usize = 10;
const MOST_PER_ADDRESS: usize = 50;
/// How many keys are kept before those without a recent try are dropped.
const MOST_KEYS: usize = 50_000;

#[derive(Clone, PartialEq, Eq, Hash)]
enum Key {
    Address(IpAddr),
    Account(Login),
    AccountFrom(Login, IpAddr),
}

/// The wrong tries of late.
#[derive(Default)]
pub struct Tries(Mutex<Counted>);

#[derive(Default)]
struct Counted {
    wrong: HashMap<Key, VecDeque<UtcMillis>>,
    known: HashMap<(Login, IpAddr), UtcMillis>,
}

/// Too many wrong tries; come back after this time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("too many wrong tries; wait {} s", .0.as_secs())]
pub struct TooManyTries(pub Duration);

impl Tries {
    /// May another try be made?
    ///
    /// # Errors
    /// When there were too many wrong ones.
    pub fn check(&self, login: &Login, address: IpAddr, now: UtcMillis) -> Result<(), TooManyTries> {
        let mut counted = self.counted();
        let limits =
            [(counted.account(login, address), MOST_PER_ACCOUNT), (Key::Address(address), MOST_PER_ADDRESS)];
        for (key, most) in limits {
            let Some(tries) = counted.wrong.get_mut(&key) else { continue };
            forget_old(tries, now);
            if tries.len() >= most
                && let Some(oldest) = tries.front()
            {
                let wait = oldest.plus_minutes(WINDOW_MINUTES).since(now);
                return Err(TooManyTries(Duration::from_millis(wait.max(1000).unsigned_abs())));
            }
        }
        Ok(())
    }

    /// Takes note of a wrong try.
    pub fn wrong(&self, login: &Login, address: IpAddr, now: UtcMillis) {
        let mut counted = self.counted();
        counted.make_room(now);
        for key in [counted.account(login, address), Key::Address(address)] {
            counted.wrong.entry(key).or_default().push_back(now);
        }
    }

    /// Takes note of a right one: the address is the account's own from now on.
    pub fn right(&self, login: &Login, address: IpAddr, now: UtcMillis) {
        let mut counted = self.counted();
        counted.make_room(now);
        counted.known.insert((login.clone(), address), now);
        counted.wrong.remove(&Key::AccountFrom(login.clone(), address));
    }

    /// The counts stay sound whatever a panicking holder of the lock did.
    fn counted(&self) -> MutexGuard<'_, Counted> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Counted {
    fn account(&self, login: &Login, address: IpAddr) -> Key {
        if self.known.contains_key(&(login.clone(), address)) {
            Key::AccountFrom(login.clone(), address)
        } else {
            Key::Account(login.clone())
        }
    }

    fn make_room(&mut self, now: UtcMillis) {
        if self.wrong.len() >= MOST_KEYS {
            self.wrong.retain(|_, tries| {
                forget_old(tries, now);
                !tries.is_empty()
            });
        }
        if self.known.len() >= MOST_KEYS {
            let mut moments: Vec<_> = self.known.values().copied().collect();
            moments.sort_unstable();
            let median = moments.get(moments.len() / 2).copied();
            self.known.retain(|_, at| Some(*at) > median);
        }
    }
}

fn forget_old(tries: &mut VecDeque<UtcMillis>, now: UtcMillis) {
    while tries.front().is_some_and(|at| at.plus_minutes(WINDOW_MINUTES) <= now) {
        tries.pop_front();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOW: UtcMillis = UtcMillis(1_795_610_520_500);

    fn login(name: &str) -> Login {
        Login::read(name).unwrap()
    }

    fn address(last: u8) -> IpAddr {
        IpAddr::from([192, 0, 2, last])
    }

    #[test]
    fn the_eleventh_wrong_try_for_an_account_has_to_wait_and_then_may_go_on() {
        let tries = Tries::default();
        for n in 0..10 {
            assert_eq!(tries.check(&login("lead"), address(n), NOW), Ok(()));
            tries.wrong(&login("lead"), address(n), NOW);
        }
        let refused = tries.check(&login("lead"), address(99), NOW.plus_minutes(5));
        assert_eq!(refused, Err(TooManyTries(Duration::from_secs(600))));
        assert_eq!(tries.check(&login("mechanic"), address(1), NOW), Ok(()), "others go on");
        assert_eq!(tries.check(&login("lead"), address(99), NOW.plus_minutes(15)), Ok(()));
    }

    #[test]
    fn the_fifty_first_wrong_try_from_an_address_has_to_wait() {
        let tries = Tries::default();
        for n in 0..50 {
            let login = login(&format!("name{n}"));
            assert_eq!(tries.check(&login, address(1), NOW), Ok(()));
            tries.wrong(&login, address(1), NOW);
        }
        assert!(tries.check(&login("another"), address(1), NOW).is_err());
        assert_eq!(tries.check(&login("another"), address(2), NOW), Ok(()));
    }

    #[test]
    fn a_strangers_guesses_do_not_lock_the_owner_out() {
        let tries = Tries::default();
        tries.right(&login("lead"), address(1), NOW);
        for _ in 0..10 {
            tries.wrong(&login("lead"), address(2), NOW);
        }
        assert!(tries.check(&login("lead"), address(2), NOW).is_err());
        assert_eq!(tries.check(&login("lead"), address(1), NOW), Ok(()));
    }
}
