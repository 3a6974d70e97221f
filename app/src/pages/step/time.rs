//! Working time: a clock at one tap, and stretches that can be put right.

use leptos::prelude::*;
use serde_json::json;
use shared_types::entity::Entity as _;
use shared_types::ids::{TimeId, UserId};
use shared_types::job::JobState;
use shared_types::working_time::TimeEntry;

use super::Place;
use super::deeds::{clock_off, clock_on};
use super::line::{Kind, Line, Lines};
use crate::clock;
use crate::entry::specs;
use crate::pages::parts::items;
use crate::store::{Store, use_store, use_ticking_now};
use crate::ui::{Button, Icon};

const KIND: Kind = Kind {
    kind: "time.v1",
    title: "Time",
    one: "stretch of time",
    none: "No working time recorded.",
    specs: specs::TIME,
};

/// The stretches of working time of a step.
#[component]
pub fn Times(place: Place) -> impl IntoView {
    let store = use_store();
    let all = items(place.state, Some(place.step), |state: &JobState| &state.times);
    let lines = Signal::derive(move || {
        let line = |(id, it): (TimeId, TimeEntry)| Line {
            id: id.to_string(),
            content: it.content(),
            view: shown(store, place, it),
        };
        all.get().into_iter().map(line).collect::<Vec<_>>()
    });
    let fixed = move |()| vec![("person", json!(me(store)))];
    view! {
        <Lines place kind=KIND lines picks=Vec::new() fixed foot=move || place.may_work.then(|| view! { <ClockSwitch place all/> })/>
    }
}

fn shown(store: Store, place: Place, it: TimeEntry) -> ViewFn {
    ViewFn::from(move || {
        let who = it.person.or_empty().map(|who| store.name_of_user(place.shop, who)).unwrap_or_default();
        let (from, until) = (it.started_at.or_empty(), it.stopped_at.or_empty());
        let span = match (from, until) {
            (Some(from), Some(until)) => format!("{} – {}", clock::moment(from), clock::moment(until)),
            (Some(from), None) => format!("since {}", clock::moment(from)),
            (None, _) => "no start recorded".to_owned(),
        };
        let length = from.zip(until).map(|(from, until)| clock::stretch(until.since(from)));
        view! {
            <span class="spread">
                <strong>{who}</strong>
                <span class="figures">{match length {
                    Some(length) => length.into_any(),
                    None => from.map(|from| view! { <Running from/> }).into_any(),
                }}</span>
            </span>
            <span class="small muted">{span} " " {it.note.or_empty().0}</span>
        }
    })
}

/// How long a clock has run.
#[component]
pub fn Running(from: shared_types::time::UtcMillis) -> impl IntoView {
    let now = use_ticking_now();
    view! { <span role="timer">{move || clock::countdown(now.get().since(from).max(0) / 1000 * 1000)}</span> }
}

/// Starts and stops the person's own clock.
#[component]
fn ClockSwitch(place: Place, all: Memo<Vec<(TimeId, TimeEntry)>>) -> impl IntoView {
    let store = use_store();
    let own = Memo::new(move |_| {
        all.with(|all| {
            let runs =
                |it: &TimeEntry| it.person.or_empty() == me(store) && it.stopped_at.or_empty().is_none();
            all.iter().find(|(_, it)| it.started_at.or_empty().is_some() && runs(it)).map(|(id, _)| *id)
        })
    });
    let switch = move |()| {
        let now = clock::now();
        match (own.get_untracked(), me(store)) {
            (Some(id), _) => store.dispatch(place.log, vec![clock_off(place.step, id, now)], "Clock stopped"),
            (None, Some(person)) => {
                let body = clock_on(place.step, person, TimeId(store.uuid()), now);
                store.dispatch(place.log, vec![body], "Clock started");
            }
            (None, None) => {}
        }
    };
    view! {
        <div class="cluster">
            {move || {
                let (label, icon) = if own.get().is_some() { ("Stop my clock", Icon::Stop) } else { ("Start my clock", Icon::Play) };
                view! { <Button label icon on_press=switch/> }
            }}
        </div>
    }
}

/// The person signed in.
pub fn me(store: Store) -> Option<UserId> {
    store.me().with_untracked(|me| me.as_ref().map(|me| me.user))
}
