//! Proposals for the repair's plies, ranked with the reason; one tap builds one.

use std::time::Duration;

use leptos::prelude::*;
use leptos::task::spawn_local;
use serde_json::Value;
use shared_types::body::{Known, On};
use shared_types::catalogue::Catalogue;
use shared_types::ids::PlyId;
use shared_types::layup::LayupPatch;
use shared_types::text::LongText;

use super::Place;
use super::deeds::replaced;
use super::proposed::{Failed, Found, Proposal, in_the_catalogue, on_the_shelf, search};
use super::refused::Refusals;
use crate::clock;
use crate::engine::{self, Engine};
use crate::layups::asked::own;
use crate::layups::compared::{parent_of, parent_plies};
use crate::layups::drawing::angle_words;
use crate::layups::log::laid;
use crate::pages::parts::of_job;
use crate::shelf::{Shelf, use_shelf};
use crate::ui::{Banner, Button, ButtonKind, Icon, Tone};
use crate::words;

/// Long enough for the browser to draw what was pressed before the search takes its time.
const DRAWN: Duration = Duration::from_millis(50);

/// How far the search has come.
#[derive(Clone, Debug, PartialEq)]
enum Search {
    NotAsked,
    Working,
    Failed(Failed),
    Found {
        /// The parent it was for.
        parent: Value,
        /// From the shelf, or from the catalogue?
        from_shelf: bool,
        found: Found,
    },
}

/// The button that searches, and what it found.
#[component]
pub fn Proposals(place: Place, engine: Engine) -> impl IntoView {
    let found = RwSignal::new(Search::NotAsked);
    let shelf = use_shelf(place.shop);
    let parent = of_job(place.state, move |state| parent_plies(state, state.layups.get(&place.layup)?));
    let ask = move |()| {
        let Some(asked) = parent.get_untracked() else { return };
        found.set(Search::Working);
        spawn_local(async move {
            let catalogue = engine::catalogue().await.and_then(|text| serde_json::from_str(&text).ok());
            set_timeout(
                move || {
                    // The page may be gone by now.
                    if !found.is_disposed() {
                        found.set(untrack(|| {
                            look(place, engine, asked, shelf, &catalogue.unwrap_or_default())
                        }));
                    }
                },
                DRAWN,
            );
        });
    };
    let busy = Signal::derive(move || parent.read().is_none() || found.with(|it| *it == Search::Working));
    view! {
        <h3>"Plies that come close to it"</h3>
        <div class="cluster">
            <Button label="Propose plies" icon=Icon::Search disabled=busy on_press=ask/>
        </div>
        <div role="status" class="stack stack--tight">
            {move || match found.get() {
                Search::NotAsked => view! { <p class="small muted">"Out of the cloth on your shelf; out of the catalogue's if there is none."</p> }.into_any(),
                Search::Working => view! { <p class="muted">"Trying plies against the parent"</p> }.into_any(),
                Search::Failed(Failed::NoEngine) => view! { <p class="muted">"This device can't try plies by itself just now."</p> }.into_any(),
                Search::Failed(Failed::Refused(why)) => view! { <Refusals why thing="the parent"/> }.into_any(),
                Search::Found { parent: of, .. } if Some(&of) != parent.read().as_ref() => view! {
                    <p class="muted">"The parent was altered since: ask once more."</p>
                }.into_any(),
                Search::Found { from_shelf, found, .. } => view! { <Ranked place from_shelf found/> }.into_any(),
            }}
        </div>
    }
}

impl Place {
    /// Something worked out of the plies that this layup stands in for.
    fn with_parent<T>(self, read: impl FnOnce(&crate::layups::asked::Plies) -> T) -> T {
        let plies = self.state.with_untracked(|state| {
            let state = state.here()?;
            let (id, _) = parent_of(state, state.layups.get(&self.layup)?)?;
            Some(own(state, id))
        });
        read(&plies.unwrap_or_default())
    }
}

/// Searches the shelf, and the catalogue where the shelf has nothing to propose.
fn look(place: Place, engine: Engine, parent: Value, shelf: Shelf, catalogue: &Catalogue) -> Search {
    let layup = place.it.get_untracked();
    let work_out = |kind: &str, input: &Value| engine.work_out(kind, input);
    let (items, left) = (shelf.state.read(), shelf.balances.read());
    let there = place.with_parent(|plies| on_the_shelf(&items, &left, catalogue, plies, clock::today()));
    let of_shelf = match search(&parent, &layup, there, work_out) {
        Ok(found) => found,
        Err(failed) => return Search::Failed(failed),
    };
    if !of_shelf.proposals.is_empty() {
        return Search::Found { parent, from_shelf: true, found: of_shelf };
    }
    let listed = place.with_parent(|plies| in_the_catalogue(catalogue, plies));
    match search(&parent, &layup, listed, work_out) {
        Ok(found) => {
            let found = Found { left_out: of_shelf.left_out, ..found };
            Search::Found { parent, from_shelf: false, found }
        }
        Err(failed) => Search::Failed(failed),
    }
}

#[component]
fn Ranked(place: Place, from_shelf: bool, found: Found) -> impl IntoView {
    let Found { proposals, left_out } = found;
    if proposals.is_empty() {
        return view! { <p>"No stack of plies comes near the parent's thickness."</p> }.into_any();
    }
    let any_laid = Signal::derive(move || place.plies.with(|plies| laid(plies) > 0));
    let one = |(rank, proposal): (usize, Proposal)| view! { <One place rank from_shelf proposal any_laid/> };
    view! {
        {(!from_shelf).then(|| view! {
            <Banner tone=Tone::Close><p>"The shelf holds no cloth to reckon with. These are of the catalogue's cloth: get it before you build one."</p></Banner>
        })}
        <ol class="lines">{(1..).zip(proposals).map(one).collect_view()}</ol>
        {move || any_laid.get().then(|| view! { <p class="small muted">"Plies of this layup are laid: what went in is not replaced."</p> })}
        {(!left_out.is_empty()).then(|| view! {
            <details class="more">
                <summary>{words::count(left_out.len(), "cloth on the shelf left out", "cloths on the shelf left out")}</summary>
                <ul>{left_out.iter().map(|it| view! { <li>{it.clone()}</li> }).collect_view()}</ul>
            </details>
        })}
    }
    .into_any()
}

#[component]
fn One(
    place: Place,
    rank: usize,
    from_shelf: bool,
    proposal: Proposal,
    any_laid: Signal<bool>,
) -> impl IntoView {
    let angles: Vec<_> = proposal.plies.iter().map(|(_, angle)| angle_words(angle)).collect();
    let shown = format!("{}. {}: {}", rank, words::count(angles.len(), "ply", "plies"), angles.join(" / "));
    let reason = proposal.reason.clone();
    let build = move |()| {
        let from = if from_shelf { "the shelf" } else { "the catalogue" };
        let note = format!("Plies as proposed out of {from}, rank {rank}: {}", proposal.reason);
        let changes = place.plies.with_untracked(|plies| {
            let was_there = |id: PlyId| {
                let saved = place
                    .state
                    .with_untracked(|state| state.here().is_some_and(|it| it.plies.contains_key(&id)));
                saved || plies.iter().any(|(it, _)| *it == id)
            };
            replaced(place.layup, plies, &proposal.plies, was_there)
        });
        place.alter_with(&changes, noted(place, &note), "Plies replaced by the proposal");
    };
    view! {
        <li class="stack stack--tight">
            <strong class="figures">{shown}</strong>
            <span class="small">{reason}</span>
            <div class="cluster">
                <Button label="Build this" kind=ButtonKind::Plain icon=Icon::Layers disabled=any_laid on_press=build/>
            </div>
        </li>
    }
}

/// The change that adds the reason to the layup's note, as long as there is room.
fn noted(place: Place, note: &str) -> Vec<Known> {
    let before = place.it.with_untracked(|layup| layup.note.or_empty().0);
    let note = if before.trim().is_empty() { note.to_owned() } else { format!("{before}\n{note}") };
    if note.chars().count() > LongText::MAX {
        return Vec::new();
    }
    let set = LayupPatch { note: Some(note.into()), ..LayupPatch::default() };
    vec![Known::Layup(On { id: place.layup, set })]
}
