//! When the alarm sounds. Worked out from recorded moments each second; nothing counts down.

use shared_types::ids::MaterialId;
use shared_types::time::UtcMillis;

/// The warning comes so long before the end: common practice, no source. The countdowns turn then too.
const SOON: i64 = 5 * 60_000;
/// A pot that ended longer ago than this when it is first looked at is no alarm any more.
const PAST: i64 = 60_000;
/// How often the alarm of an end sounds, a call each few seconds.
const CALLS: u8 = 10;
const BETWEEN_CALLS: i64 = 3_000;

/// How far a pot is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// Usable.
    Usable,
    /// Near its end.
    Soon,
    /// Over.
    Over,
}

/// How far a pot is at a moment.
#[must_use]
pub const fn stage(ends: UtcMillis, now: UtcMillis) -> Stage {
    match ends.since(now) {
        ..=0 => Stage::Over,
        1..=SOON => Stage::Soon,
        _ => Stage::Usable,
    }
}

/// A pot whose clock runs.
#[derive(Clone, Debug, PartialEq)]
pub struct Pot {
    /// Its material line.
    pub line: MaterialId,
    /// What is in it.
    pub label: String,
    /// When it was mixed.
    pub mixed: Option<UtcMillis>,
    /// When it is over.
    pub ends: UtcMillis,
}

/// A pot, and what was sounded of it.
#[derive(Debug)]
struct Watched {
    pot: Pot,
    sounded: Stage,
    calls: u8,
    called: UtcMillis,
}

/// The pots that an alarm waits for.
#[derive(Debug, Default)]
pub struct Watch(Vec<Watched>);

/// What sounds now.
#[derive(Clone, Debug, PartialEq)]
pub struct Call {
    /// Of which pot.
    pub pot: Pot,
    /// What it has come to.
    pub stage: Stage,
    /// The first call of it: what is said and shown comes with this one alone.
    pub first: bool,
}

impl Watch {
    /// Watches these pots from now on; what was sounded of them already stays so.
    pub fn set(&mut self, pots: Vec<Pot>, now: UtcMillis) {
        let mut before = std::mem::take(&mut self.0);
        for pot in pots {
            let known = before.iter().position(|it| it.pot == pot).map(|at| before.swap_remove(at));
            self.0.push(known.unwrap_or_else(|| {
                let past = pot.ends.since(now) < -PAST;
                let sounded = if past { Stage::Over } else { Stage::Usable };
                Watched { pot, sounded, calls: CALLS, called: now }
            }));
        }
    }

    /// Is there anything left to wait for?
    #[must_use]
    pub fn is_over(&self) -> bool {
        self.0.iter().all(|it| it.sounded == Stage::Over && it.calls >= CALLS)
    }

    /// Is the alarm of an end sounding?
    #[must_use]
    pub fn is_sounding(&self) -> bool {
        self.0.iter().any(|it| it.sounded == Stage::Over && it.calls < CALLS)
    }

    /// Whoever heard it stops it.
    pub fn silence(&mut self) {
        for it in &mut self.0 {
            it.calls = CALLS;
        }
    }

    /// What sounds at this moment.
    pub fn due(&mut self, now: UtcMillis) -> Vec<Call> {
        self.0.iter_mut().filter_map(|it| it.due(now)).collect()
    }
}

impl Watched {
    fn due(&mut self, now: UtcMillis) -> Option<Call> {
        let stage = stage(self.pot.ends, now);
        let first = stage > self.sounded;
        let again = stage == Stage::Over && self.calls < CALLS && now.since(self.called) >= BETWEEN_CALLS;
        if !first && !again {
            return None;
        }
        self.calls = if first { 1 } else { self.calls + 1 };
        if stage != Stage::Over {
            self.calls = CALLS;
        }
        (self.sounded, self.called) = (stage, now);
        Some(Call { pot: self.pot.clone(), stage, first })
    }
}

impl Call {
    /// What is said, on every page and in the notification.
    #[must_use]
    pub fn words(&self) -> String {
        match self.stage {
            Stage::Over => {
                format!("Pot life is over: {}. Do not use what is left in the cup.", self.pot.label)
            }
            _ => format!("Five minutes or less of pot life are left: {}.", self.pot.label),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOW: UtcMillis = UtcMillis(1_795_610_520_000);

    fn pot(minutes: i64) -> Pot {
        let line = MaterialId::default();
        Pot { line, label: "resin".into(), mixed: Some(NOW), ends: NOW.plus_minutes(minutes) }
    }

    fn at(millis: i64) -> UtcMillis {
        UtcMillis(NOW.0 + millis)
    }

    #[test]
    fn it_warns_once_and_calls_at_the_end_until_it_is_heard() {
        let mut watch = Watch::default();
        watch.set(vec![pot(30)], NOW);
        assert_eq!(watch.due(NOW), []);
        let warned = watch.due(NOW.plus_minutes(25));
        assert_eq!((warned[0].stage, warned[0].first), (Stage::Soon, true));
        assert_eq!(watch.due(NOW.plus_minutes(26)), []);
        let over = NOW.plus_minutes(30);
        assert_eq!(watch.due(over)[0].stage, Stage::Over);
        assert!(watch.is_sounding());
        let later = |seconds: i64| UtcMillis(over.0 + seconds * 1000);
        assert_eq!(watch.due(later(1)), [], "a call each three seconds");
        assert!(!watch.due(later(3))[0].first);
        // The same pots at another page: nothing begins anew.
        watch.set(vec![pot(30)], later(4));
        watch.silence();
        assert_eq!(watch.due(later(9)), []);
        assert!(watch.is_over());
    }

    #[test]
    fn nobody_hears_it_and_it_stops_by_itself() {
        let mut watch = Watch::default();
        watch.set(vec![pot(1)], NOW);
        let calls = (0..600).flat_map(|seconds| watch.due(at(seconds * 1000))).collect::<Vec<_>>();
        let ends = calls.iter().filter(|call| call.stage == Stage::Over).count();
        assert_eq!((ends, calls.len()), (usize::from(CALLS), usize::from(CALLS) + 1));
    }

    #[test]
    fn a_phone_that_slept_through_the_end_says_so_when_it_wakes() {
        let mut watch = Watch::default();
        watch.set(vec![pot(30)], NOW);
        let woken = watch.due(NOW.plus_minutes(50));
        assert_eq!((woken[0].stage, woken[0].first), (Stage::Over, true));
    }

    #[test]
    fn a_page_opened_the_day_after_is_quiet() {
        let mut watch = Watch::default();
        watch.set(vec![pot(30)], NOW.plus_minutes(24 * 60));
        assert_eq!(watch.due(NOW.plus_minutes(24 * 60)), []);
        assert!(watch.is_over());
    }
}
