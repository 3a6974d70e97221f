//! One log or photo that fails does not keep the others: it is tried again by itself, less and less often.

use shared_types::ids::LogId;
use shared_types::time::UtcMillis;

use crate::device::{Device, LocalError};
use crate::session::CallError;
use crate::store::{LocalStore, StoreError};
use crate::surroundings::Surroundings;
use crate::transport::Transport;

/// So many failures with nothing that went well in between, and it is the server as a whole.
const MOST_FAILED: u32 = 3;
/// Longer than any wait is; a clock that was put back must not make one longer.
const LONGEST: i64 = 120_000;

/// What failed by a fault that may be its own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Trouble {
    tries: u32,
    /// Not tried again before.
    next: UtcMillis,
    /// For people.
    pub why: String,
}

/// How a row of logs or photos went so far.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Going {
    fine: bool,
    failed: u32,
}

/// Fetching a log, by the key of its trouble; pushing into it goes by the log's own key.
pub(crate) fn fetching_key(log: LogId) -> String {
    format!("fetch|{log}")
}

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// Takes note of how it went for one log or photo.
    ///
    /// # Errors
    /// When it is not this one's own trouble, as far as can be told: nothing more can be done then.
    pub(crate) fn judge(
        &self,
        key: &str,
        going: &mut Going,
        done: Result<(), CallError>,
    ) -> Result<(), CallError> {
        match done {
            Ok(()) => {
                going.fine = true;
                self.inner.now.borrow_mut().trouble.remove(key);
                Ok(())
            }
            Err(error) if may_be_its_own(&error) => {
                self.went_wrong(key, error.to_string());
                going.failed += 1;
                if going.fine || going.failed < MOST_FAILED { Ok(()) } else { Err(error) }
            }
            Err(error) => Err(error),
        }
    }

    /// It is tried again later.
    pub(crate) fn went_wrong(&self, key: &str, why: String) {
        let tries = self.inner.now.borrow().trouble.get(key).map_or(0, |trouble| trouble.tries) + 1;
        let asked = self.inner.now.borrow().access.retry_after.unwrap_or_default();
        let wait = i64::from(self.back_off(tries).max(asked));
        let next = UtcMillis(self.now().0.saturating_add(wait));
        self.inner.now.borrow_mut().trouble.insert(key.to_owned(), Trouble { tries, next, why });
    }

    /// Is it not its turn yet?
    pub(crate) fn must_wait(&self, key: &str) -> bool {
        let now = self.now();
        self.inner.now.borrow().trouble.get(key).is_some_and(|trouble| left(trouble, now) > 0)
    }

    /// The milliseconds until something that failed is tried again.
    pub(crate) fn trouble_due(&self) -> Option<u32> {
        let now = self.now();
        let due = self.inner.now.borrow().trouble.values().map(|trouble| left(trouble, now).max(1)).min();
        due.and_then(|due| u32::try_from(due).ok())
    }
}

fn left(trouble: &Trouble, now: UtcMillis) -> i64 {
    let left = trouble.next.since(now);
    if left > LONGEST { 0 } else { left }
}

/// Can it be about this log or photo alone? The server stumbles over it, or what is stored of it is damaged.
pub(crate) fn may_be_its_own(error: &CallError) -> bool {
    match error {
        CallError::Refused(problem) => problem.status >= 500,
        CallError::Unreadable(_) | CallError::Local(LocalError::Store(StoreError::Damaged(_))) => true,
        _ => false,
    }
}
