//! The pots of this job, their clocks from the moment of mixing, and how far the alarm goes.

use leptos::prelude::*;
use shared_types::ids::MaterialId;
use shared_types::job::JobState;
use shared_types::sorted;
use shared_types::time::UtcMillis;

use super::alarm::{self, Notifying};
use super::mixed::{has_pot, spread};
use super::watch::{Pot, Stage, stage};
use crate::clock;
use crate::pages::parts::of_job;
use crate::pages::step::Place;
use crate::routes::Route;
use crate::store::{use_store, use_ticking_now};
use crate::ui::{Badge, Banner, Button, ButtonKind, Icon, Section, Shape, Tone, spell_duration};

/// A pot that ended so long ago is the step's to show, not this page's.
const SHOWN_AFTER_END_MINUTES: i64 = 12 * 60;

/// The pots that this page shows: those of the job that have not gone into the part.
fn pots(state: &JobState, now: UtcMillis) -> Vec<Pot> {
    let lines = state.materials.iter().filter(|(_, line)| has_pot(&line.it));
    let mut pots: Vec<_> = lines
        .filter_map(|(id, line)| {
            let ends = line.it.pot_ends()?;
            let name = line.it.name.or_empty().0;
            let label = format!("{name}, {}", line.it.quantity.or_empty());
            Some(Pot { line: *id, label, mixed: line.it.mixed_at.or_empty(), ends })
        })
        .filter(|pot| now <= pot.ends.plus_minutes(SHOWN_AFTER_END_MINUTES))
        .collect();
    sorted::by_key(&mut pots, |pot| pot.ends);
    pots
}

/// The clocks, and the alarm set for them.
#[component]
pub fn Clocks(place: Place) -> impl IntoView {
    let store = use_store();
    let all = of_job(place.state, |state| pots(state, clock::now()));
    let path = Route::Weigh(place.shop, place.job, place.step).to_string();
    Effect::new(move |_| alarm::watch(all.get(), store, path.clone()));
    move || {
        let all = all.get();
        (!all.is_empty()).then(|| {
            view! {
                <Section title="Pots">
                    <div class="pots">{all.into_iter().map(|pot| view! { <Clock place pot/> }).collect_view()}</div>
                    <Sounding/>
                    <Reach/>
                </Section>
            }
        })
    }
}

#[component]
fn Clock(place: Place, pot: Pot) -> impl IntoView {
    let now = use_ticking_now();
    let ends = pot.ends;
    let stage = Memo::new(move |_| stage(ends, now.get()));
    let tone = move || match stage.get() {
        Stage::Usable => Tone::Blue,
        Stage::Soon => Tone::Close,
        Stage::Over => Tone::Bad,
    };
    let badge = move || match stage.get() {
        Stage::Usable => view! { <Badge word="pot life left" shape=Shape::Half tone=Tone::Blue/> },
        Stage::Soon => view! { <Badge word="ends soon" shape=Shape::Wave tone=Tone::Close/> },
        Stage::Over => view! { <Badge word="over: do not use" shape=Shape::Cross tone=Tone::Bad/> },
    };
    let mixed = pot.mixed.map(|at| format!("Mixed {}, until {}", clock::moment(at), clock::moment(ends)));
    view! {
        <div class="pot" data-tone=move || tone().name()>
            <p class="pot-left" role="timer">{move || spell_duration(ends.since(now.get()))}</p>
            {badge}
            <p><strong>{pot.label}</strong></p>
            <p class="small">{mixed}</p>
            {place.may_work.then(|| view! { <InThePart place line=pot.line/> })}
        </div>
    }
}

#[component]
fn InThePart(place: Place, line: MaterialId) -> impl IntoView {
    let store = use_store();
    let press = move |()| {
        let step = place.state.with_untracked(|state| state.here()?.materials.get(&line)?.step);
        let step = step.unwrap_or(place.step);
        store.dispatch(place.log, vec![spread(step, line, clock::now())], "Start of cure recorded");
    };
    view! { <Button label="In the part: cure begins" icon=Icon::Check on_press=press/> }
}

/// While the alarm of an end sounds, the way to stop it.
#[component]
fn Sounding() -> impl IntoView {
    let now = use_ticking_now();
    let heard = RwSignal::new(());
    let sounds = Memo::new(move |_| {
        now.track();
        heard.track();
        alarm::is_sounding()
    });
    let stop = move |()| {
        alarm::silence();
        heard.set(());
    };
    move || {
        sounds
            .get()
            .then(|| view! { <Button label="Stop the alarm" kind=ButtonKind::Danger icon=Icon::Stop on_press=stop/> })
    }
}

/// How far the alarm goes, and what can be done to make it go further.
#[component]
fn Reach() -> impl IntoView {
    let notifying = RwSignal::new(alarm::notifying());
    let now = use_ticking_now();
    let mute = Memo::new(move |_| {
        now.track();
        !alarm::can_sound()
    });
    let hear = move |()| {
        alarm::unlock();
        alarm::sound(Stage::Over);
    };
    let ask = move |()| {
        alarm::ask_to_notify(move |answer| {
            // The page may be gone by now.
            notifying.try_set(answer);
        });
    };
    view! {
        <details class="more">
            <summary>"How far the alarm goes"</summary>
            <p>"It warns five minutes before the end and calls at the end, by sound and vibration, while this app is open and the screen is on, on every page of it. The clock itself is worked out from the recorded moment of mixing: closing, reloading or locking does not stop it."</p>
            <p>"With the screen locked, or another app in front, most phones put this app to sleep: the alarm may then come late, or only when you come back. A closed or reloaded app can't wake itself: open this page again. Where it matters, set the phone's own timer too, and feel the cup."</p>
            {move || match notifying.get() {
                Notifying::Allowed => view! { <p class="small">"A notification is shown as well."</p> }.into_any(),
                Notifying::Refused => view! { <p class="small">"Notifications are refused for this app, in the settings of the browser."</p> }.into_any(),
                Notifying::Unknown => view! { <p class="small">"This browser shows no notifications for this app."</p> }.into_any(),
                Notifying::NotAsked => view! { <Button label="Show a notification as well" icon=Icon::Info on_press=ask/> }.into_any(),
            }}
        </details>
        {move || mute.get().then(|| view! {
            <Banner tone=Tone::Close><p>"The alarm is mute until this page is touched once."</p></Banner>
        })}
        <div class="cluster"><Button label="Try the alarm" icon=Icon::Timer on_press=hear/></div>
    }
}
