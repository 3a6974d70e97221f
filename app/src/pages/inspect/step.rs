//! One step that waits, on one screen: what was done, shown and measured, and the decision.

use leptos::prelude::*;
use shared_types::entity::Entity;
use shared_types::ids::{JobId, LogId, OfferId, ShopId, StepId};
use shared_types::job::{JobState, Offer};
use shared_types::status::StepStatus;

use super::decide::Decide;
use super::drafts::Drafts;
use super::recorded::Recorded;
use super::since::{Since, SinceDecision};
use crate::clock;
use crate::differences;
use crate::findings::{self, Overridden};
use crate::pages::parts::talk::Talk;
use crate::pages::parts::waiting::{NotThere, WhenHere};
use crate::pages::parts::{JobSignal, of_job};
use crate::routes::Route;
use crate::store::use_store;
use crate::ui::{Banner, HoldPointMark, Plate, StepBadge, Tone};

/// One step that waits.
#[component]
pub fn InspectStepPage(shop: ShopId, job: JobId, step: StepId) -> impl IntoView {
    let state = use_store().job(shop, job);
    let there = of_job(state, move |state| state.steps.contains_key(&step));
    let log = LogId::Job(shop, job);
    view! {
        <WhenHere state children=move || {
            view! {
                {move || if there.get() {
                    view! { <Inspected log step state/> }.into_any()
                } else {
                    view! { <NotThere title="This job has no such step"/> }.into_any()
                }}
            }.into_any()
        }/>
    }
}

/// What the head of the screen says.
#[derive(Clone, Debug, Default, PartialEq)]
struct Head {
    over: String,
    title: String,
    hold_point: bool,
    status: Option<StepStatus>,
    skipped: String,
}

fn head(state: &JobState, step: StepId) -> Head {
    let it = state.steps.get(&step);
    Head {
        over: format!("{} · {}", state.job.registration.or_empty(), state.job.title.or_empty()),
        title: it.map(|it| it.title.or_empty().0).unwrap_or_default(),
        hold_point: it.is_some_and(|it| it.hold_point.or_empty()),
        status: Some(state.step_status(step)),
        skipped: it.map(|it| it.skipped.or_empty().0).unwrap_or_default(),
    }
}

// Each part follows the job by itself: what comes from others while somebody looks, zooms or writes
// changes what it is about, and nothing else.
#[component]
fn Inspected(log: LogId, step: StepId, state: JobSignal) -> impl IntoView {
    let head = of_job(state, move |state| head(state, step));
    let since = of_job(state, move |state| Since::last_decision(state, step));
    let only_changed = RwSignal::new(true);
    let shown_since = Memo::new(move |_| since.get().filter(|it| only_changed.get() && it.shows_anything()));
    let drafts = Drafts::new(log, step);
    let ringed = of_job(state, move |state| {
        let pinned = since.with(|since| since.as_ref().map(|since| since.pinned_holes(state)));
        let mut holes = pinned.unwrap_or_default();
        holes.extend(drafts.holes());
        holes
    });
    let over = Memo::new(move |_| head.get().over);
    let title = Memo::new(move |_| head.get().title);
    view! {
        <div class="stack">
            <Plate over title>
                {move || {
                    let Head { hold_point, status, skipped, .. } = head.get();
                    view! {
                        <div class="cluster">
                            {hold_point.then(|| view! { <HoldPointMark/> })}
                            {status.map(|status| view! { <StepBadge status/> })}
                        </div>
                        {(!skipped.is_empty()).then(|| view! { <p class="prewrap"><strong>"Skipped: "</strong>{skipped}</p> })}
                    }
                }}
                <Offered log step state/>
            </Plate>
            <Unaccepted log step state/>
            <SinceDecision log state since only_changed/>
            <Recorded log step state since=shown_since ringed/>
            <Talk log step state/>
            <Decide log step state drafts/>
        </div>
    }
}

/// The title of a step that must be accepted first, and isn't.
fn holder(state: &JobState, step: StepId) -> Option<(StepId, String)> {
    let holder = state.held_by(step)?;
    Some((holder, state.steps.get(&holder)?.title.or_empty().0))
}

/// A hold point ahead of this step that nobody accepted, overridden or not.
#[component]
fn Unaccepted(log: LogId, step: StepId, state: JobSignal) -> impl IntoView {
    let store = use_store();
    let held = of_job(state, move |state| holder(state, step));
    let overridden = of_job(state, move |state| {
        let mut all = findings::overridden(state, step);
        all.retain(|it| it.taken_back.is_none());
        all
    });
    let held = move || {
        held.get().map(|(holder, title)| {
            let address = Route::InspectStep(log.shop(), log.job().unwrap_or_default(), holder).to_string();
            view! {
                <Banner tone=Tone::Close>
                    <p><strong>"Offered although a hold point ahead is not accepted: "</strong><a href=address>{title}</a> "."</p>
                </Banner>
            }
        })
    };
    let one = move |it: Overridden| {
        let by = it.by.map(|mark| store.name_of(log.shop(), mark.author));
        view! {
            <Banner tone=Tone::Close>
                <p><strong>"Hold point overridden by "{by}": "</strong>{it.hold_point}</p>
                <p class="prewrap">{it.reason}</p>
            </Banner>
        }
    };
    view! { {held}{move || overridden.get().into_iter().map(one).collect_view()} }
}

/// The offer that waits, with what changed since.
fn offered(state: &JobState, step: StepId) -> Option<(Offer, Vec<String>)> {
    let StepStatus::Offered { offer, since } = state.step_status(step) else { return None };
    let it = state.offers.get(&offer)?.it.clone();
    Some((it, since.iter().map(|it| differences::difference(state, it)).collect()))
}

/// Who offered it, when, and what they said; what changed since.
#[component]
fn Offered(log: LogId, step: StepId, state: JobSignal) -> impl IntoView {
    let store = use_store();
    let offered = of_job(state, move |state| offered(state, step));
    move || {
        offered.get().map(|(it, changed)| {
            let by = it.created().map(|mark| {
                format!("Offered by {}, {}", store.name_of(log.shop(), mark.author), clock::moment(mark.stamp.0))
            });
            view! {
                <p>{by}</p>
                <p class="prewrap">{it.note.or_empty().0}</p>
                {(!changed.is_empty()).then(|| view! {
                    <Banner tone=Tone::Close><p><strong>"Changed since it was offered: "</strong>{changed.join("; ")}</p></Banner>
                })}
            }
        })
    }
}

/// The offer that waits, if one does.
#[must_use]
pub fn open_offer(status: &StepStatus) -> Option<OfferId> {
    match status {
        StepStatus::Offered { offer, .. } => Some(*offer),
        _ => None,
    }
}
