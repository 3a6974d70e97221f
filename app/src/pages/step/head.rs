//! The step's plate, its instruction, and the ways to its neighbours.

use leptos::prelude::*;
use shared_types::entity::Entity as _;
use shared_types::job::Step;
use shared_types::status::StepStatus;

use super::Place;
use super::deeds::{next_after, next_before};
use crate::entry::form::EntrySheet;
use crate::entry::{Subject, specs};
use crate::pages::parts::alter_step::{AlterStep, freed, may_free};
use crate::pages::parts::of_job;
use crate::routes::Route;
use crate::store::use_store;
use crate::ui::{Button, ButtonKind, HoldPointMark, Icon, LinkButton, Plate, StepBadge};

/// What the plate says.
#[derive(Clone, Debug, Default, PartialEq)]
struct Shown {
    over: String,
    title: String,
    instruction: String,
    status: Option<StepStatus>,
    hold_point: bool,
    skipped: String,
}

fn shown(place: Place) -> Memo<Shown> {
    of_job(place.state, move |state| {
        let steps = state.steps_in_order();
        let number = steps.iter().position(|(id, _)| *id == place.step).map(|at| at + 1);
        let step = state.steps.get(&place.step).cloned().unwrap_or_default();
        let registration = state.job.registration.or_empty().0;
        let of = number
            .map_or_else(|| "Taken out".to_owned(), |number| format!("Step {number} of {}", steps.len()));
        Shown {
            over: [registration, of]
                .into_iter()
                .filter(|part| !part.is_empty())
                .collect::<Vec<_>>()
                .join(" · "),
            title: step.title.or_empty().0,
            instruction: step.instruction.or_empty().0,
            status: Some(state.step_status(place.step)),
            hold_point: step.hold_point.or_empty(),
            skipped: step.skipped.or_empty().0,
        }
    })
}

/// The plate.
#[component]
pub fn Head(place: Place) -> impl IntoView {
    let store = use_store();
    let shown = shown(place);
    let (editing, skipping) = (RwSignal::new(false), RwSignal::new(false));
    let subject = move |()| {
        let state = place.state.get_untracked();
        let content = state.here().and_then(|state| state.steps.get(&place.step).map(Step::content));
        Subject::altered("step.v1", place.step, content.unwrap_or_default())
    };
    // Open while there is nothing recorded to look at instead.
    let fresh = shown.with_untracked(|shown| shown.status == Some(StepStatus::Planned));
    let frees = !place.may_work && may_free(store, place.log);
    let free = move |()| store.dispatch(place.log, vec![freed(place.step)], "Hold point taken away");
    let skip_draft = format!("skip/{}", place.step);
    view! {
        <Plate
            over=Signal::derive(move || shown.read().over.clone())
            title=Signal::derive(move || shown.read().title.clone())
        >
            <div class="cluster">
                {move || shown.read().status.clone().map(|status| view! { <StepBadge status/> })}
                {move || shown.read().hold_point.then(|| view! { <HoldPointMark/> })}
            </div>
            {move || {
                let skipped = shown.read().skipped.clone();
                (!skipped.is_empty()).then(|| view! { <p class="prewrap">"Skipped: " {skipped}</p> })
            }}
            {move || {
                let instruction = shown.read().instruction.clone();
                (!instruction.trim().is_empty()).then(|| view! {
                    <details class="instruction" open=fresh>
                        <summary>"What to do"</summary>
                        <p class="prewrap">{instruction}</p>
                    </details>
                })
            }}
            // Who does the work has it in the form.
            {move || (frees && shown.read().hold_point).then(|| view! {
                <div class="cluster plate-foot">
                    <Button label="Take the hold point away" kind=ButtonKind::Quiet on_press=free/>
                </div>
            })}
            {place.may_work.then(|| view! {
                <div class="cluster plate-foot">
                    <Button label="Alter" kind=ButtonKind::Quiet icon=Icon::Edit on_press=move |()| editing.set(true)/>
                    <Skip place skipped=Signal::derive(move || !shown.read().skipped.is_empty()) open=skipping/>
                </div>
                <AlterStep log=place.log state=place.state step=Signal::stored(Some(place.step)) open=editing/>
                <EntrySheet title="Skip the step" open=skipping log=place.log specs=specs::SKIP subject draft=skip_draft.clone() done="Step skipped"/>
            })}
        </Plate>
    }
}

/// Skipping with a reason, and taking that back.
#[component]
fn Skip(place: Place, skipped: Signal<bool>, open: RwSignal<bool>) -> impl IntoView {
    let store = use_store();
    let take_back = move || {
        let body = Subject::new("step.v1", place.step).setting([("skipped", "".into())]);
        store.dispatch(place.log, body.into_iter().collect(), "Step no longer skipped");
    };
    view! {
        <Button
            label=Signal::derive(move || if skipped.get() { "Don't skip" } else { "Skip" }.to_owned())
            kind=ButtonKind::Quiet
            icon=Icon::Skip
            on_press=move |()| if skipped.get_untracked() { take_back() } else { open.set(true) }
        />
    }
}

/// The ways to the step ahead and the step after.
#[component]
pub fn Neighbours(place: Place) -> impl IntoView {
    let step = place.step;
    let neighbours = of_job(place.state, move |state| (next_before(state, step), next_after(state, step)));
    let to = move |id| Route::Step(place.shop, place.job, id).to_string();
    view! {
        <nav class="spread" aria-label="Neighbouring steps">
            {move || neighbours.get().0.map(|id| view! { <LinkButton label="Step before" kind=ButtonKind::Quiet icon=Icon::Back href=to(id)/> })}
            {move || neighbours.get().1.map(|id| view! { <LinkButton label="Step after" kind=ButtonKind::Quiet icon=Icon::ChevronRight href=to(id)/> })}
        </nav>
    }
}
