//! Altering a step, where its hold point is not everybody's to take away.

use leptos::prelude::*;
use shared_types::body::{Known, On};
use shared_types::entity::Entity as _;
use shared_types::ids::{LogId, StepId};
use shared_types::job::{Step, StepPatch};

use super::{JobSignal, of_job};
use crate::entry::form::EntrySheet;
use crate::entry::{Subject, specs};
use crate::store::{Store, use_store};

/// The change that takes a hold point away.
#[must_use]
pub fn freed(step: StepId) -> Known {
    Known::Step(On { id: step, set: StepPatch { hold_point: Some(false), ..StepPatch::default() } })
}

/// May the person signed in take hold points away here?
#[must_use]
pub fn may_free(store: Store, log: LogId) -> bool {
    store.may(log, freed(StepId::default()))
}

/// The form in which a step is altered.
#[component]
pub fn AlterStep(
    log: LogId,
    state: JobSignal,
    /// Which one.
    #[prop(into)]
    step: Signal<Option<StepId>>,
    open: RwSignal<bool>,
) -> impl IntoView {
    let may_free = may_free(use_store(), log);
    let locked = of_job(state, move |state| {
        let it = step.get().and_then(|id| state.steps.get(&id));
        !may_free && it.is_some_and(|it| it.hold_point.or_empty())
    });
    let subject = move |()| {
        let id = step.get_untracked().unwrap_or_default();
        let state = state.get_untracked();
        let content = state.here().and_then(|state| state.steps.get(&id).map(Step::content));
        Subject::altered("step.v1", id, content.unwrap_or_default())
    };
    let draft = Signal::derive(move || step.get().map_or_else(String::new, |id| format!("step/{id}")));
    let below = move |_| {
        locked
            .get_untracked()
            .then(|| {
                view! {
                    <label class="tick">
                        <input type="checkbox" checked disabled/>
                        <span>"Hold point: must be accepted before a later step may start"</span>
                    </label>
                    <p class="small muted">"Only a lead or an inspector can take a hold point away."</p>
                }
            })
            .into_any()
    };
    move || {
        let specs = if locked.get() { specs::HELD_STEP } else { specs::STEP };
        view! { <EntrySheet title="Alter the step" open log specs subject draft below done="Step altered"/> }
    }
}
