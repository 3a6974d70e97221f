//! One step: before, during and after; what went into it; and its way past the inspector.

mod bar;
mod deeds;
mod findings;
mod hardware;
mod head;
mod held;
mod line;
mod materials;
mod moments;
mod notes;
mod notices;
mod picks;
mod readings;
mod shelf;
mod time;
mod tools;
mod worksheets;

use leptos::prelude::*;
use shared_types::ids::{JobId, LogId, ShopId, StepId};

use crate::clock;
use crate::pages::job::{JointsBeside, LayupOfStep};
use crate::pages::parts::also_entered::{AlsoEntered, side_by_side};
use crate::pages::parts::countdowns::{Countdowns, running};
use crate::pages::parts::talk::Talk;
use crate::pages::parts::waiting::{NotThere, WhenHere};
use crate::pages::parts::{JobSignal, of_job};
use crate::store::use_store;

/// Where a screen's parts are: which step of which job.
#[derive(Clone, Copy)]
pub struct Place {
    /// The job's log.
    pub log: LogId,
    /// Its shop.
    pub shop: ShopId,
    /// The job.
    pub job: JobId,
    /// The step.
    pub step: StepId,
    /// The job's state.
    pub state: JobSignal,
    /// May the person signed in do a mechanic's work here?
    pub may_work: bool,
    /// May they add photos and notes?
    pub may_note: bool,
}

/// One step.
#[component]
pub fn StepPage(shop: ShopId, job: JobId, step: StepId) -> impl IntoView {
    let store = use_store();
    let state = store.job(shop, job);
    let there = of_job(state, move |state| state.steps.contains_key(&step));
    view! {
        <WhenHere state children=move || {
            let log = LogId::Job(shop, job);
            let place = Place {
                log, shop, job, step, state,
                may_work: super::job::may_work(store, log),
                may_note: super::job::may_note(store, log),
            };
            view! {
                {move || if there.get() {
                    view! { <Step place/> }.into_any()
                } else {
                    view! { <NotThere title="This job has no such step"/> }.into_any()
                }}
            }.into_any()
        }/>
    }
}

#[component]
fn Step(place: Place) -> impl IntoView {
    let step = place.step;
    let sides = of_job(place.state, move |state| side_by_side(state, Some(step)));
    let runs = of_job(place.state, move |state| running(state, Some(step), clock::now()));
    let moment = moments::use_moment(place);
    view! {
        <div class="stack step-page">
            <head::Head place/>
            <notices::Notices place/>
            <AlsoEntered log=place.log all=sides/>
            <Countdowns all=runs/>
            <div class="halves">
                <div class="stack">
                    <moments::Moments place moment/>
                </div>
                <div class="stack">
                    <LayupOfStep log=place.log state=place.state step/>
                    <JointsBeside log=place.log state=place.state/>
                    <hardware::HardwareLines place/>
                    <materials::Materials place/>
                    <tools::Tools place/>
                    <time::Times place/>
                    <worksheets::Worksheets place/>
                    <Talk log=place.log step state=place.state/>
                </div>
            </div>
            <head::Neighbours place/>
            <bar::Bar place moment/>
        </div>
    }
}
