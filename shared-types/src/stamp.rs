//! Stamps: a hybrid logical clock that follows the wall clock, never runs
//! backwards on one device, and is always later than what the device has seen.

use serde::{Deserialize, Serialize};

use crate::time::UtcMillis;

/// When a change was made, in an order that all devices agree on.
///
/// Written `[milliseconds, counter]`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Stamp(pub UtcMillis, pub u32);

impl Stamp {
    /// How far ahead of the server's clock a stamp may count. A phone whose
    /// clock is a year fast must not win every later edit (see [`Stamp::counted`]).
    pub const MAX_AHEAD_MINUTES: i64 = 5;

    /// The stamp as it counts in the fold: what the device wrote is signed and
    /// stays as it is, but it counts as at most five minutes after the server
    /// received it.
    #[must_use]
    pub fn counted(self, received: Option<UtcMillis>) -> Self {
        match received.map(|at| at.plus_minutes(Self::MAX_AHEAD_MINUTES)) {
            Some(latest) if self.0 > latest => Self(latest, self.1),
            _ => self,
        }
    }
}

/// The clock of one device: the highest stamp it has made or seen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Clock {
    highest: Stamp,
}

impl Clock {
    /// A clock that continues after `highest`.
    #[must_use]
    pub const fn after(highest: Stamp) -> Self {
        Self { highest }
    }

    /// The next stamp, later than every stamp made or seen before, whatever the wall clock says.
    pub fn next(&mut self, wall: UtcMillis) -> Stamp {
        self.highest = if wall > self.highest.0 {
            Stamp(wall, 0)
        } else {
            match self.highest.1.checked_add(1) {
                Some(counter) => Stamp(self.highest.0, counter),
                None => Stamp(UtcMillis(self.highest.0.0.saturating_add(1)), 0),
            }
        };
        self.highest
    }

    /// Takes note of a stamp made elsewhere (as it counts, see [`Stamp::counted`]).
    pub fn see(&mut self, stamp: Stamp) {
        self.highest = self.highest.max(stamp);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_clock_never_runs_backwards(walls in prop::collection::vec(any::<i32>(), 1..50), seen in any::<i32>()) {
            let mut clock = Clock::default();
            let mut last = Stamp::default();
            for (index, wall) in walls.into_iter().enumerate() {
                if index == 7 {
                    clock.see(Stamp(UtcMillis(seen.into()), 3));
                }
                let next = clock.next(UtcMillis(wall.into()));
                prop_assert!(next > last);
                last = next;
            }
        }
    }

    #[test]
    fn a_stamp_from_next_year_counts_as_five_minutes_after_receipt() {
        let received = UtcMillis(1_000_000);
        let year_ahead = Stamp(UtcMillis(31_536_000_000), 2);
        assert_eq!(year_ahead.counted(Some(received)), Stamp(UtcMillis(1_300_000), 2));
        assert_eq!(year_ahead.counted(None), year_ahead);
        let in_time = Stamp(UtcMillis(900_000), 0);
        assert_eq!(in_time.counted(Some(received)), in_time);
    }
}
