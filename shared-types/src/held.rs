//! What holds a step back: a hold point ahead of it whose work no inspector has accepted as it now stands.
//!
//! Looked at before a step is started, finished or offered, on the device and by the server: recording on a
//! held step is always possible, offering it is not.

use crate::entity::Entity as _;
use crate::ids::StepId;
use crate::job::{JobState, Step};
use crate::sorted;
use crate::status::StepStatus;

/// A hold point that lets later steps not pass.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Holder {
    /// The hold point.
    pub step: StepId,
    /// Why it holds.
    pub why: Why,
}

/// Why a hold point holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// Nobody accepted it yet.
    NotAccepted,
    /// It is skipped, and nobody accepted that.
    Skipped,
    /// It was altered after it was accepted.
    Overtaken,
    /// It was taken out, neither accepted nor freed of its hold point before.
    TakenOut,
}

impl JobState {
    /// The earlier hold point that must be accepted before this step may start, be finished or be offered,
    /// unless a lead overrode it.
    #[must_use]
    pub fn held_by(&self, step: StepId) -> Option<StepId> {
        self.holder_of(step).map(|holder| holder.step)
    }

    /// The same, with why it holds.
    #[must_use]
    pub fn holder_of(&self, step: StepId) -> Option<Holder> {
        // One by one: to tell whether an acceptance is overtaken takes a digest of all on the hold point.
        let mut ahead = self.hold_points().into_iter().filter(|id| self.may_hold(*id, step));
        ahead.find_map(|id| self.as_holder(id).filter(|holder| self.holds_now(holder, step)))
    }

    /// All hold points that hold, in order: for a list, which asks of each of its steps.
    #[must_use]
    pub fn holders(&self) -> Vec<Holder> {
        self.hold_points().into_iter().filter_map(|id| self.as_holder(id)).collect()
    }

    /// Does this holder hold this step back?
    #[must_use]
    pub fn holds(&self, holder: &Holder, step: StepId) -> bool {
        self.may_hold(holder.step, step) && self.holds_now(holder, step)
    }

    /// What holds, in words that go on after "Held back:".
    #[must_use]
    pub fn holder_words(&self, holder: &Holder) -> String {
        let title = self.steps.get(&holder.step).map(|step| step.title.or_empty()).unwrap_or_default();
        let why = match holder.why {
            Why::NotAccepted => "is not accepted",
            Why::Skipped => "is skipped, and nobody has accepted that",
            Why::Overtaken => "was altered after it was accepted",
            Why::TakenOut => "was taken out without being accepted",
        };
        format!("the hold point “{title}” {why}")
    }

    /// All hold points in their order. Those taken out too: taking one out is no way past it.
    fn hold_points(&self) -> Vec<StepId> {
        let mut all: Vec<_> = self.steps.iter().filter(|(_, step)| step.hold_point.or_empty()).collect();
        sorted::by(&mut all, |(one, a), (two, b)| a.order.get().cmp(&b.order.get()).then(one.cmp(two)));
        all.into_iter().map(|(id, _)| *id).collect()
    }

    /// Does a hold point stand ahead of a step, with no lead's word against it?
    fn may_hold(&self, hold_point: StepId, step: StepId) -> bool {
        let place = |id: StepId| self.steps.get(&id).map(|it| (it.order.get(), id));
        let ahead = place(hold_point).zip(place(step)).is_some_and(|(hold_point, step)| hold_point < step);
        ahead && self.override_of(step, hold_point).is_none()
    }

    fn as_holder(&self, step: StepId) -> Option<Holder> {
        let why = match self.row_status(step) {
            StepStatus::Accepted { since, .. } if since.is_empty() => return None,
            _ if self.steps.get(&step).is_some_and(Step::is_retired) => Why::TakenOut,
            StepStatus::Accepted { .. } => Why::Overtaken,
            StepStatus::Skipped => Why::Skipped,
            _ => Why::NotAccepted,
        };
        Some(Holder { step, why })
    }

    fn holds_now(&self, holder: &Holder, step: StepId) -> bool {
        match holder.why {
            Why::NotAccepted | Why::Skipped => true,
            // What went past it while it was accepted is before the inspector already.
            Why::Overtaken => match self.row_status(step) {
                StepStatus::Offered { .. } => false,
                StepStatus::Accepted { since, .. } => !since.is_empty(),
                _ => true,
            },
            // Steps that were planned afterwards never stood behind it: a template that was added by
            // mistake and taken back holds nothing.
            Why::TakenOut => {
                let out = self.steps.get(&holder.step).and_then(|it| it.retired.entered());
                let planned = self.steps.get(&step).and_then(|it| it.created());
                out.zip(planned).is_none_or(|(out, planned)| *planned < out.mark)
            }
        }
    }
}
