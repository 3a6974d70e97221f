//! Working time: what was planned for a step, and what it took.

use crate::entity::{Entity as _, entity};
use crate::ids::{StepId, UserId};
use crate::job::JobState;
use crate::text::ShortText;
use crate::time::UtcMillis;

entity! {
    /// A stretch of working time.
    TimeEntry / TimePatch {
        /// Who worked.
        person: Option<UserId>,
        /// From when.
        started_at: Option<UtcMillis>,
        /// Until when; running while absent.
        stopped_at: Option<UtcMillis>,
        /// What on.
        note: ShortText,
    }
}

entity! {
    /// The hours planned for a step.
    Estimate / EstimatePatch {
        /// How many.
        hours: Option<f64>,
    }
}

/// What was planned for a step, and what it took.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StepHours {
    /// The step; none for time that belongs to no step in use.
    pub step: Option<StepId>,
    /// The hours planned, if anybody said so.
    pub planned: Option<f64>,
    /// The milliseconds worked, without clocks that still run.
    pub worked: i64,
    /// How many clocks still run.
    pub running: usize,
}

impl StepHours {
    /// The hours worked.
    #[must_use]
    pub fn worked_hours(&self) -> f64 {
        hours(self.worked)
    }

    /// By how many hours more was worked than planned; below zero when it was less.
    #[must_use]
    pub fn over(&self) -> Option<f64> {
        Some(self.worked_hours() - self.planned?)
    }

    /// Is there anything to tell?
    #[must_use]
    pub const fn is_told(&self) -> bool {
        self.planned.is_some() || self.worked > 0 || self.running > 0
    }
}

#[expect(clippy::cast_precision_loss, reason = "milliseconds of working time fit into 53 bits")]
fn hours(millis: i64) -> f64 {
    millis as f64 / 3_600_000.0
}

/// A job's hours, step by step and together.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct JobHours {
    /// Every step in use in its order, then what belongs to none of them.
    pub steps: Vec<StepHours>,
    /// All of them together.
    pub all: StepHours,
    /// Those together that something was planned for: what can be compared.
    pub planned: StepHours,
}

impl JobState {
    /// What was planned for the steps, and what they took. A stretch that ends before it begins takes nothing.
    #[must_use]
    pub fn hours(&self) -> JobHours {
        let mut steps: Vec<StepHours> = self
            .steps_in_order()
            .into_iter()
            .map(|(id, _)| StepHours {
                step: Some(id),
                planned: self.planned_hours(id),
                ..StepHours::default()
            })
            .collect();
        let mut without = StepHours::default();
        for time in self.times.values().filter(|time| !time.it.is_retired()) {
            let on_it = steps.iter_mut().find(|it| it.step == time.step && it.step.is_some());
            let row = on_it.unwrap_or(&mut without);
            match (time.it.started_at.or_empty(), time.it.stopped_at.or_empty()) {
                (Some(from), Some(until)) => row.worked += until.since(from).max(0),
                (Some(_), None) => row.running += 1,
                (None, _) => {}
            }
        }
        if without.is_told() {
            steps.push(without);
        }
        let all = together(steps.iter());
        let planned = together(steps.iter().filter(|it| it.planned.is_some()));
        JobHours { steps, all, planned }
    }

    /// The hours planned for a step.
    #[must_use]
    pub fn planned_hours(&self, step: StepId) -> Option<f64> {
        let estimate = self.estimates.get(&step).filter(|estimate| !estimate.is_retired())?;
        // Fewer than none can't be planned, whatever was sent.
        estimate.hours.or_empty().filter(|hours| *hours >= 0.0)
    }
}

fn together<'a>(rows: impl Iterator<Item = &'a StepHours>) -> StepHours {
    let mut sum = StepHours::default();
    for row in rows {
        sum.worked += row.worked;
        sum.running += row.running;
        if let Some(planned) = row.planned {
            sum.planned = Some(sum.planned.unwrap_or_default() + planned);
        }
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entities::Entities;
    use crate::field::Mark;
    use crate::ids::{Author, ChangeId, DeviceId, TimeId};
    use crate::job::{Step, StepPatch};
    use crate::on_step::OnStep;
    use crate::stamp::Stamp;
    use uuid::Uuid;

    const MARK: Mark = Mark {
        stamp: Stamp(UtcMillis(1), 0),
        device: DeviceId(Uuid::nil()),
        change: ChangeId(Uuid::nil()),
        author: Author::Server,
    };

    fn id(n: u128) -> StepId {
        StepId(Uuid::from_u128(n))
    }

    fn stretch(from: i64, until: Option<i64>, retired: bool) -> TimeEntry {
        let minutes = |it: i64| Some(UtcMillis(it * 60_000));
        let mut time = TimeEntry::default();
        let set = TimePatch {
            started_at: Some(minutes(from)),
            stopped_at: until.map(minutes),
            retired: Some(retired),
            ..TimePatch::default()
        };
        time.apply(&set, &MARK, &[]);
        time
    }

    fn job(planned: &[(u128, f64)], times: Vec<(Option<u128>, TimeEntry)>) -> JobState {
        let mut state = JobState { steps: Entities::default(), ..JobState::default() };
        for n in 1..=3 {
            let mut step = Step::default();
            let order = Some(crate::order::OrderKey(format!("8{n}")));
            step.apply(&StepPatch { order, retired: Some(n == 3), ..StepPatch::default() }, &MARK, &[]);
            state.steps.insert(id(n), step);
        }
        for (n, hours) in planned {
            let mut estimate = Estimate::default();
            estimate.apply(
                &EstimatePatch { hours: Some(Some(*hours)), ..EstimatePatch::default() },
                &MARK,
                &[],
            );
            state.estimates.insert(id(*n), estimate);
        }
        for (n, (step, it)) in (0_u128..).zip(times) {
            state.times.insert(TimeId(Uuid::from_u128(n)), OnStep { step: step.map(id), it });
        }
        state
    }

    #[test]
    fn what_was_planned_stands_beside_what_it_took() {
        let times = vec![
            (Some(1), stretch(0, Some(90), false)),
            (Some(1), stretch(100, Some(130), false)),
            (Some(1), stretch(0, Some(600), true)),
            (Some(1), stretch(200, None, false)),
            (Some(2), stretch(50, Some(20), false)),
            (Some(3), stretch(0, Some(30), false)),
            (None, stretch(0, Some(15), false)),
        ];
        let hours = job(&[(1, 1.5), (2, -3.0)], times).hours();
        let rows: Vec<_> =
            hours.steps.iter().map(|it| (it.step, it.planned, it.worked / 60_000, it.running)).collect();
        assert_eq!(rows, [(Some(id(1)), Some(1.5), 120, 1), (Some(id(2)), None, 0, 0), (None, None, 45, 0)]);
        assert_eq!(hours.steps[0].over(), Some(0.5));
        assert_eq!(hours.steps[1].over(), None);
        assert_eq!((hours.all.planned, hours.all.worked / 60_000, hours.all.running), (Some(1.5), 165, 1));
        assert_eq!(hours.planned.over(), Some(0.5), "what nobody planned is not held against the plan");
    }

    #[test]
    fn a_job_without_any_tells_nothing() {
        let hours = job(&[], Vec::new()).hours();
        assert_eq!(hours.steps.len(), 2);
        assert!(!hours.all.is_told() && hours.planned.over().is_none());
    }
}
