//! A hold point ahead that is not accepted: it holds the step back, unless a lead says otherwise.

use leptos::prelude::*;
use serde_json::json;
use shared_types::body::{Known, OnStep};
use shared_types::coverage::on;
use shared_types::entity::Entity as _;
use shared_types::ids::{OverrideId, StepId};
use shared_types::job::JobState;
use shared_types::review::{Override, OverridePatch};

use super::Place;
use super::deeds::{Deed, deed};
use crate::clock;
use crate::entry::form::EntrySheet;
use crate::entry::{Subject, specs};
use crate::pages::parts::of_job;
use crate::routes::Route;
use crate::store::{Store, use_store};
use crate::ui::{Banner, Button, ButtonKind, Icon, Tone};

/// May the person signed in override hold points here?
fn may_override(store: Store, place: Place) -> bool {
    let set = OverridePatch::default();
    store.may(place.log, Known::Override(OnStep { id: OverrideId::default(), step: None, set }))
}

fn title_of(state: &JobState, step: StepId) -> String {
    state.steps.get(&step).map(|it| it.title.or_empty().0).unwrap_or_default()
}

/// What holds the step back, and what was overridden.
#[component]
pub fn HoldPoints(place: Place) -> impl IntoView {
    let step = place.step;
    let held = of_job(place.state, move |state| {
        let holder = match deed(state, step) {
            Deed::Held(holder) => holder,
            // The inspector sees it too.
            Deed::Withdraw(_) => state.holder_of(step)?,
            _ => return None,
        };
        Some((holder.step, state.holder_words(&holder)))
    });
    let overridden = of_job(place.state, move |state| {
        let in_force = on(&state.overrides, Some(step)).filter(|(_, it)| !it.reason.or_empty().is_empty());
        in_force
            .map(|(id, it)| (*id, it.clone(), title_of(state, it.hold_point.or_empty())))
            .collect::<Vec<_>>()
    });
    view! {
        {move || held.get().map(|(holder, words)| view! { <Held place holder words/> })}
        <For each=move || overridden.get() key=|(id, it, title)| (*id, it.reason.or_empty(), title.clone()) let:it>
            <Overridden place id=it.0 it=it.1 title=it.2/>
        </For>
    }
}

#[component]
fn Held(place: Place, holder: StepId, words: String) -> impl IntoView {
    let store = use_store();
    let open = RwSignal::new(false);
    let subject = move |()| {
        let new = Subject::new("override.v1", store.uuid()).on(Some(place.step));
        new.with("hold_point", json!(holder))
    };
    view! {
        <Banner tone=Tone::Close icon=Icon::Lock>
            <p><strong>"Held back."</strong> " This step can't be started, finished or offered: "
                <a href=Route::Step(place.shop, place.job, holder).to_string()>{words}</a> "."
            </p>
            <p class="small">"What is seen and measured can be recorded meanwhile."</p>
            {may_override(store, place).then(|| view! {
                <Button label="Override the hold point" kind=ButtonKind::Danger on_press=move |()| open.set(true)/>
            })}
        </Banner>
        <EntrySheet
            title="Override the hold point" open log=place.log specs=specs::OVERRIDE subject
            draft=format!("{}/override", place.step) done="Hold point overridden"
        />
    }
}

/// Said for good: who overrode which hold point, and why.
#[component]
fn Overridden(place: Place, id: OverrideId, it: Override, title: String) -> impl IntoView {
    let store = use_store();
    let by = it
        .created()
        .map(|mark| format!("{}, {}", store.name_of(place.shop, mark.author), clock::moment(mark.stamp.0)));
    let take_back = move |()| {
        let body = OnStep { id, step: Some(place.step), set: Override::retirement(true) };
        store.dispatch(place.log, vec![Known::Override(body)], "Override taken back");
    };
    view! {
        <Banner tone=Tone::Close>
            <p><strong>"Hold point overridden: "</strong> {title} ". " <span class="small">{by}</span></p>
            <p class="prewrap">{it.reason.or_empty().0}</p>
            {may_override(store, place).then(|| view! {
                <Button label="Take the override back" kind=ButtonKind::Quiet on_press=take_back/>
            })}
        </Banner>
    }
}
