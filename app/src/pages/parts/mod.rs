//! Parts that several screens share. Unlike `crate::ui` they know the store.

pub mod also_entered;
pub mod alter_step;
pub mod countdowns;
pub mod grip;
pub mod of_record;
pub mod photos;
pub mod pinned;
pub mod shelf;
pub mod talk;
pub mod template;
pub mod waiting;

use leptos::prelude::*;
use shared_types::coverage::on;
use shared_types::entities::Entities;
use shared_types::entity::Entity;
use shared_types::ids::StepId;
use shared_types::job::JobState;
use shared_types::on_step::OnStep;

use crate::store::Loaded;

/// A job's state as screens get it.
pub type JobSignal = Signal<Loaded<JobState>>;

/// The entities of one kind in use on a step, or on the discrepancy itself.
pub fn items<I, T>(
    state: JobSignal,
    step: Option<StepId>,
    of: fn(&JobState) -> &Entities<I, OnStep<T>>,
) -> Memo<Vec<(I, T)>>
where
    I: Copy + Ord + Send + Sync + 'static,
    T: Entity + Send + Sync + 'static,
{
    Memo::new(move |_| {
        state.with(|state| {
            let here =
                state.here().map(|state| on(of(state), step).map(|(id, it)| (*id, it.clone())).collect());
            here.unwrap_or_default()
        })
    })
}

/// Something of a job, worked out anew when the job changes; the empty value while it isn't here.
pub fn of_job<T: Default + PartialEq + Send + Sync + 'static>(
    state: JobSignal,
    of: impl Fn(&JobState) -> T + Send + Sync + 'static,
) -> Memo<T> {
    Memo::new(move |_| state.with(|state| state.here().map(|state| of(state)).unwrap_or_default()))
}

/// The job in a few words, above the name of something of it: registration and title.
#[must_use]
pub fn job_line(state: JobSignal) -> Memo<String> {
    of_job(state, |state| {
        let parts = [state.job.registration.or_empty().0, state.job.title.or_empty().0];
        parts.into_iter().filter(|part| !part.trim().is_empty()).collect::<Vec<_>>().join(" · ")
    })
}
