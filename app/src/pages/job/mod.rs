//! One job: its facts, what is wrong, what the work is done to, its steps, its end.

mod arrange;
mod close;
pub mod facts;
mod joints;
mod layups;
mod outline;
mod references;
mod sign;
mod sign_form;
mod steps;

use leptos::prelude::*;
use shared_types::ids::{JobId, LogId, ShopId};
use shared_types::job::{JobState, Moment};
use shared_types::shop::Role;

use crate::clock;
use crate::pages::closing::{Papers, Promises};
use crate::pages::parts::also_entered::{AlsoEntered, side_by_side};
use crate::pages::parts::countdowns::{Countdowns, running};
use crate::pages::parts::photos::{Strip, take_in};
use crate::pages::parts::waiting::WhenHere;
use crate::pages::parts::{items, of_job};
use crate::routes::Route;
use crate::store::{Shot, use_store};
use crate::ui::{ButtonKind, CameraButton, Icon, LinkButton, Section};

pub use facts::{may_note, may_work};
pub use joints::JointsBeside;
pub use layups::{LayupOfStep, LayupsBeside};
pub use outline::JobOutline;

/// One job.
#[component]
pub fn JobPage(shop: ShopId, job: JobId) -> impl IntoView {
    let store = use_store();
    let state = store.job(shop, job);
    let log = LogId::Job(shop, job);
    let sides = of_job(state, |state| side_by_side(state, None));
    let runs = of_job(state, |state| running(state, None, clock::now()));
    view! {
        <WhenHere state children=move || view! {
            <div class="stack">
                <facts::Facts log state/>
                <AlsoEntered log all=sides/>
                <Countdowns all=runs/>
                <div class="halves">
                    <div class="stack">
                        <steps::Steps log state/>
                        <joints::Joints log state/>
                        <layups::Layups log state/>
                    </div>
                    <div class="stack">
                        <Discrepancy log state/>
                        <references::References log state/>
                        <close::Closing log state/>
                        <Promises log state/>
                        <Papers shop job state/>
                        <sign::Signatures log state/>
                        {move || store.roles_in(log).contains(&Role::Lead).then(|| view! {
                            <LinkButton label="Guests and links" kind=ButtonKind::Quiet icon=Icon::Link href=Route::Access(shop, job).to_string()/>
                        })}
                        <LinkButton label="Time and cost" kind=ButtonKind::Quiet icon=Icon::Timer href=Route::Cost(shop, job).to_string()/>
                        <LinkButton label="History" kind=ButtonKind::Quiet icon=Icon::Clock href=Route::History(shop, job).to_string()/>
                    </div>
                </div>
                <div class="action-bar">
                    <Onward shop job state/>
                    <LinkButton label="Record" icon=Icon::File href=Route::Record(shop, job).to_string()/>
                </div>
            </div>
        }.into_any()/>
    }
}

/// What is wrong, as found: in words and in photos.
#[component]
fn Discrepancy(log: LogId, state: super::parts::JobSignal) -> impl IntoView {
    let store = use_store();
    let photos = items(state, None, |state: &JobState| &state.photos);
    let text = of_job(state, |state| state.job.discrepancy.or_empty().0);
    let shot = Shot { log, step: None, moment: Moment::Before, answers: None, attached_to: None };
    view! {
        <Section title="Discrepancy">
            <p class="prewrap">{move || {
                let text = text.get();
                if text.trim().is_empty() { "Not described yet.".to_owned() } else { text }
            }}</p>
            <Strip shot photos/>
            {may_work(store, log).then(|| view! {
                <CameraButton label="Photograph as found" on_files=move |event| take_in(store, shot, &event)/>
            })}
        </Section>
    }
}

/// The one thing to do next: the step where work goes on.
#[component]
fn Onward(shop: ShopId, job: JobId, state: super::parts::JobSignal) -> impl IntoView {
    let next = of_job(state, steps::next_step);
    move || {
        next.get().map(|(step, title)| view! {
        <LinkButton label=format!("Go on: {title}") icon=Icon::Wrench kind=ButtonKind::Primary href=Route::Step(shop, job, step).to_string()/>
    })
    }
}
