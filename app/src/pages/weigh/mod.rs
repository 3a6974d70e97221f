//! Weighing resin in: what the batch wants, what the scale shows cup by cup, and the pots' clocks.

mod alarm;
mod awake;
mod clocks;
mod cup;
mod desk;
mod mixed;
mod origins;
mod parts;
mod plan;
mod pour;
mod recipe;
mod watch;

use leptos::prelude::*;
use shared_types::entity::Entity as _;
use shared_types::ids::{JobId, LogId, ShopId, StepId};

use super::job::{may_note, may_work};
use super::parts::waiting::{NotThere, WhenHere};
use super::parts::{job_line, of_job};
use super::step::Place;
use crate::routes::Route;
use crate::store::use_store;
use crate::ui::{EmptyState, Icon, LinkButton, Plate};
use desk::{Desk, Stage};

/// Weighing in for one step.
#[component]
pub fn WeighPage(shop: ShopId, job: JobId, step: StepId) -> impl IntoView {
    let store = use_store();
    let state = store.job(shop, job);
    let there = of_job(state, move |state| state.steps.get(&step).is_some_and(|it| !it.is_retired()));
    view! {
        <WhenHere state children=move || {
            let log = LogId::Job(shop, job);
            let place = Place {
                log, shop, job, step, state,
                may_work: may_work(store, log),
                may_note: may_note(store, log),
            };
            view! {
                {move || match (there.get(), place.may_work) {
                    (true, true) => view! { <Weighing place/> }.into_any(),
                    (true, false) => view! { <OnlyLooking place/> }.into_any(),
                    (false, _) => view! { <NotThere title="This job has no such step"/> }.into_any(),
                }}
            }.into_any()
        }/>
    }
}

/// Who may not work here still sees the clocks.
#[component]
fn OnlyLooking(place: Place) -> impl IntoView {
    view! {
        <div class="stack">
            <Head place/>
            <clocks::Clocks place/>
            <EmptyState icon=Icon::Lock title="You may not weigh in here"><p>"Who works on this job may."</p></EmptyState>
        </div>
    }
}

#[component]
fn Weighing(place: Place) -> impl IntoView {
    let desk = Desk::new(place);
    view! {
        <div class="stack" on:click=move |_| alarm::unlock() on:keydown=move |_| alarm::unlock()>
            <Head place/>
            <clocks::Clocks place/>
            {move || match desk.stage.get() {
                Stage::Plan => view! { <plan::Plan desk/> }.into_any(),
                Stage::Pour => view! { <pour::Pour desk/> }.into_any(),
            }}
        </div>
    }
}

#[component]
fn Head(place: Place) -> impl IntoView {
    let step = of_job(place.state, move |state| {
        state.steps.get(&place.step).map(|it| it.title.or_empty().0).unwrap_or_default()
    });
    let back = Route::Step(place.shop, place.job, place.step).to_string();
    view! {
        <LinkButton label="Back to the step" icon=Icon::Back href=back/>
        <Plate over=job_line(place.state) title="Weigh resin in"><p class="muted">{step}</p></Plate>
    }
}
