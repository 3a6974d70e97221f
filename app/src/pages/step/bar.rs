//! The bar at the thumb: the camera, and the one deed that comes next.

use leptos::prelude::*;
use shared_types::ids::{OfferId, TimeId};
use shared_types::job::{JobState, Moment};

use super::Place;
use super::deeds::{self, Deed, deed, gaps, running_clocks, withdraw};
use super::time::{Running, me};
use crate::clock;
use crate::entry::form::Form;
use crate::entry::{Subject, specs};
use crate::pages::parts::of_job;
use crate::pages::parts::photos::take_in;
use crate::routes::Route;
use crate::store::{Shot, use_store};
use crate::ui::{Banner, Button, ButtonKind, CameraButton, Icon, LinkButton, Sheet, Tone};

/// The bar.
#[component]
pub fn Bar(place: Place, moment: Memo<Moment>) -> impl IntoView {
    let store = use_store();
    let finishing = RwSignal::new(false);
    let shot = move || Shot {
        log: place.log,
        step: Some(place.step),
        moment: moment.get_untracked(),
        answers: None,
        attached_to: None,
    };
    view! {
        <div class="dock">
        <OwnClock place/>
        <div class="action-bar">
            {place.may_note.then(|| view! {
                <CameraButton
                    label=Signal::derive(move || format!("Photo {}", moment.get().word()))
                    on_files=move |event| take_in(store, shot(), &event)
                />
            })}
            {place.may_work.then(|| view! { <Next place finishing/> })}
        </div>
        </div>
        <Sheet title="Finish the step" open=finishing>
            <Finish place open=finishing/>
        </Sheet>
    }
}

/// The one deed that comes next.
#[component]
fn Next(place: Place, finishing: RwSignal<bool>) -> impl IntoView {
    let store = use_store();
    let step = place.step;
    let next = of_job(place.state, move |state| Some(deed(state, step)));
    let start = move |()| {
        let (Some(state), Some(person)) = (place.state.get_untracked().here().cloned(), me(store)) else {
            return;
        };
        let bodies = deeds::start(&state, step, person, TimeId(store.uuid()), clock::now());
        store.dispatch(place.log, bodies, "Step started, your clock runs");
    };
    let finish = move |()| finishing.set(true);
    move || {
        match next.get()? {
        Deed::Held(holder) => Some(
            view! { <LinkButton label="Go to the hold point" icon=Icon::Lock href=Route::Step(place.shop, place.job, holder.step).to_string()/> }
                .into_any(),
        ),
        Deed::Start => Some(view! { <Button label="Start" icon=Icon::Play on_press=start/> }.into_any()),
        Deed::Finish => Some(view! { <Button label="Finish" icon=Icon::Check on_press=finish/> }.into_any()),
        Deed::Offer => Some(view! { <Button label="Offer" icon=Icon::Send on_press=finish/> }.into_any()),
        Deed::Withdraw(offer) => Some(
            view! {
                <Button label="Withdraw the offer" icon=Icon::Return on_press=move |()| {
                    store.dispatch(place.log, vec![withdraw(step, offer)], "Offer withdrawn");
                }/>
            }
            .into_any(),
        ),
        Deed::GoOn(after) => Some(
            view! { <LinkButton label="Next step" icon=Icon::ChevronRight href=Route::Step(place.shop, place.job, after).to_string()/> }
                .into_any(),
        ),
        Deed::Nothing => None,
    }
    }
}

/// The person's own clock, while it runs.
#[component]
fn OwnClock(place: Place) -> impl IntoView {
    let store = use_store();
    let own = of_job(place.state, move |state| {
        let clocks = running_clocks(state, place.step).into_iter();
        let own = clocks.filter(|(_, time)| time.person.or_empty() == me(store));
        own.filter_map(|(id, time)| Some((id, time.started_at.or_empty()?))).next()
    });
    move || {
        own.get().map(|(id, from)| {
            let stop = move |()| {
                store.dispatch(
                    place.log,
                    vec![deeds::clock_off(place.step, id, clock::now())],
                    "Clock stopped",
                );
            };
            view! {
                <div class="own-clock">
                    <span>"Your clock runs: "<strong class="figures"><Running from/></strong></span>
                    <Button label="Stop" icon=Icon::Stop on_press=stop/>
                </div>
            }
        })
    }
}

/// What is missing, a word to the inspector, and the two ways to finish.
#[component]
fn Finish(place: Place, open: RwSignal<bool>) -> impl IntoView {
    let store = use_store();
    let step = place.step;
    let gaps = of_job(place.state, move |state| gaps(state, step, clock::today()));
    let (hold_point, finished, skipped) = {
        let state = place.state.get_untracked();
        let it = state.here().and_then(|state| state.steps.get(&step));
        (
            it.is_some_and(|it| it.hold_point.or_empty()),
            it.is_some_and(|it| it.finished_at.or_empty().is_some()),
            state.here().is_some_and(|state| deeds::is_skipped(state, step)),
        )
    };
    // Somebody may have altered the hold point ahead while the sheet was open.
    let passes = move |state: &JobState| {
        let holder = state.holder_of(step);
        if let Some(holder) = &holder {
            store.warn(format!("Held back: {}.", state.holder_words(holder)));
        }
        holder.is_none()
    };
    let subject = Subject::new("offer.v1", store.uuid()).on(Some(step));
    let form = Form::new(place.log, specs::OFFER, subject, &format!("offer/{step}"));
    let done = move || {
        form.forget_draft();
        open.set(false);
    };
    let offer = move || {
        let (Some(state), Some(person)) = (place.state.get_untracked().here().cloned(), me(store)) else {
            return;
        };
        if !passes(&state) {
            return;
        }
        let note = form.text("note").get_untracked().trim().into();
        let bodies = deeds::offer(&state, step, person, OfferId(store.uuid()), note, clock::now());
        store.dispatch_then(place.log, bodies, "Offered for inspection", done);
    };
    let finish = move |()| {
        let (Some(state), Some(person)) = (place.state.get_untracked().here().cloned(), me(store)) else {
            return;
        };
        if !passes(&state) {
            return;
        }
        store.dispatch_then(
            place.log,
            deeds::finish(&state, step, person, clock::now()),
            "Step finished",
            done,
        );
    };
    view! {
        <form class="stack" novalidate on:submit=move |event| {
            event.prevent_default();
            offer();
        }>
            {move || if skipped {
                view! { <Banner tone=Tone::Close><p>"This step is skipped: the inspector accepts that, or sends it back."</p></Banner> }.into_any()
            } else if gaps.read().is_empty() {
                view! { <Banner tone=Tone::Good><p>"Photos before and after are there, every reading is within its limits."</p></Banner> }.into_any()
            } else {
                view! {
                    <Banner tone=Tone::Close>
                        <p><strong>"Before you finish"</strong></p>
                        <ul>{gaps.get().into_iter().map(|gap| view! { <li>{gap}</li> }).collect_view()}</ul>
                    </Banner>
                }.into_any()
            }}
            {hold_point.then(|| view! { <p>"This is a hold point: later steps wait until it is accepted."</p> })}
            {form.fields(Signal::default())}
            <div class="sheet-foot">
                {(!hold_point && !finished).then(|| view! { <Button label="Finish without inspection" icon=Icon::Check on_press=finish/> })}
                <Button label="Offer for inspection" kind=ButtonKind::Primary icon=Icon::Send submit=true on_press=|()| ()/>
            </div>
        </form>
    }
}
