//! The layup's plate: what it is of, in which resin, what it stands in for; and its steps.

use leptos::prelude::*;
use leptos_router::NavigateOptions;
use leptos_router::hooks::use_navigate;
use shared_types::body::{Known, On};
use shared_types::entity::Entity as _;
use shared_types::layup::{Layup, LayupPatch, Purpose};

use super::Place;
use super::patch::Patch;
use crate::engine::use_layup_engine;
use crate::entry::form::EntrySheet;
use crate::entry::{Subject, specs};
use crate::layups::asked::laminate;
use crate::layups::steps::{Reckoned, are_made, steps};
use crate::pages::parts::{job_line, of_job};
use crate::record::layup::facts;
use crate::routes::Route;
use crate::ui::{Button, ButtonKind, Icon, Plate, SelectField, Sheet};

/// The plate.
#[component]
pub fn Facts(place: Place, patch: Patch) -> impl IntoView {
    let over = job_line(place.state);
    let title = Signal::derive(move || place.it.read().title());
    view! {
        <Plate over=over title>
            <dl class="facts">
                {move || facts(&place.it.read()).into_iter().map(|(name, fact)| view! { <dt>{name}</dt><dd>{fact}</dd> }).collect_view()}
            </dl>
            <p class="prewrap">{move || place.it.read().note.or_empty().0}</p>
            {place.may.then(|| view! { <Parent place/><Deeds place patch/> })}
        </Plate>
    }
}

/// Which layup a repair stands in for.
#[component]
fn Parent(place: Place) -> impl IntoView {
    let others = of_job(place.state, move |state| {
        let parents = state
            .layups_in_use()
            .filter(|(id, it)| *id != place.layup && it.purpose.or_empty() == Purpose::Parent);
        parents.map(|(id, it)| (id.to_string(), it.title())).collect::<Vec<_>>()
    });
    let now =
        Memo::new(move |_| place.it.read().parent.or_empty().map(|id| id.to_string()).unwrap_or_default());
    let value = RwSignal::new(String::new());
    Effect::new(move |_| value.set(now.get()));
    Effect::new(move |before: Option<()>| {
        let chosen = value.get();
        if before.is_some() && chosen != now.get_untracked() {
            let set = LayupPatch { parent: Some(chosen.parse().ok()), ..LayupPatch::default() };
            let body = Known::Layup(On { id: place.layup, set });
            place.store.dispatch(place.log, vec![body], "Parent layup set");
        }
    });
    let options = Signal::derive(move || {
        let none = (String::new(), "none, or not entered here".to_owned());
        std::iter::once(none).chain(others.get()).collect::<Vec<_>>()
    });
    let shown = move || place.it.read().purpose.or_empty() == Purpose::Repair && !others.read().is_empty();
    move || shown().then(|| view! { <SelectField label="Stands in for" value options/> })
}

#[component]
fn Deeds(place: Place, patch: Patch) -> impl IntoView {
    let editing = RwSignal::new(false);
    let subject =
        move |()| Subject::altered("layup.v1", place.layup, place.it.with_untracked(Layup::content));
    let navigate = use_navigate();
    let take_out = move |()| {
        let navigate = navigate.clone();
        let body = Known::Layup(On { id: place.layup, set: Layup::retirement(true) });
        place.store.dispatch_then(place.log, vec![body], "Layup taken out", move || {
            let options = NavigateOptions { replace: true, ..NavigateOptions::default() };
            navigate(&Route::Job(place.shop, place.job).to_string(), options);
        });
    };
    view! {
        <div class="cluster plate-foot">
            <Button label="Edit the layup" kind=ButtonKind::Quiet icon=Icon::Edit on_press=move |()| editing.set(true)/>
            <MakeSteps place patch/>
            <Button label="Take out" kind=ButtonKind::Quiet icon=Icon::Archive on_press=take_out/>
        </div>
        <EntrySheet title="The layup" open=editing log=place.log specs=specs::LAYUP subject draft=format!("layup/{}", place.layup) done="Layup saved"/>
    }
}

/// One tap makes the steps; asked before they are made twice.
#[component]
fn MakeSteps(place: Place, patch: Patch) -> impl IntoView {
    let engine = use_layup_engine();
    let asking = RwSignal::new(false);
    let are_made = of_job(place.state, move |state| are_made(state, place.layup));
    let nothing = Signal::derive(move || place.plies.with(Vec::is_empty));
    let make = move || {
        let layup = place.it.get_untracked();
        let plies = place.plies.get_untracked();
        let summary = untrack(|| engine.sum_up(&laminate(&layup, &plies)?)).and_then(Result::ok);
        let reckoned = Reckoned { plies: plies.len(), summary, scarf: patch.scarf() };
        let bodies =
            place.state.with_untracked(|state| Some(steps(state.here()?, place.layup, &layup, &reckoned)));
        place.store.dispatch(place.log, bodies.unwrap_or_default(), "Steps made from this layup");
        asking.set(false);
    };
    let press = move |()| {
        if are_made.get_untracked() {
            asking.set(true);
        } else {
            make();
        }
    };
    view! {
        <Button label="Make steps from this layup" kind=ButtonKind::Quiet icon=Icon::Wrench disabled=nothing on_press=press/>
        <Sheet title="Make the steps again?" open=asking>
            <p>"This job has steps that were made from this layup. A second set goes after the steps already there."</p>
            <div class="cluster">
                <Button label="Make a second set" kind=ButtonKind::Primary on_press=move |()| make()/>
                <Button label="Leave it" on_press=move |()| asking.set(false)/>
            </div>
        </Sheet>
    }
}
