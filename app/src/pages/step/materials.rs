//! Resin, cloth, sealant, primer, paint: batch, mix, pot life and cure.

use leptos::prelude::*;
use serde_json::json;
use shared_types::entity::Entity as _;
use shared_types::ids::MaterialId;
use shared_types::job::{JobState, MaterialLine};
use shared_types::shop::StockKind;

use super::Place;
use super::hardware::{batch, expired_loudly, joined, reason, reason_given};
use super::line::{Kind, Line, Lines};
use super::picks;
use super::shelf::{FromShelf, MoreThanLeft, taken_from};
use crate::clock;
use crate::entry::form::Form;
use crate::entry::{Subject, specs};
use crate::pages::parts::{items, of_job};
use crate::routes::Route;
use crate::shelf::{Shelf, use_shelf};
use crate::store::use_store;
use crate::ui::{Button, ExpiryBadge, Icon, LinkButton};

const KIND: Kind = Kind {
    kind: "material.v1",
    title: "Materials",
    one: "material line",
    none: "No resin, cloth, sealant, primer or paint recorded.",
    specs: specs::MATERIAL,
};

/// The material lines of a step.
#[component]
pub fn Materials(place: Place) -> impl IntoView {
    let all = items(place.state, Some(place.step), |state: &JobState| &state.materials);
    let shelf = use_shelf(place.shop);
    let lines = Signal::derive(move || {
        let line = |(id, it): (MaterialId, MaterialLine)| Line {
            id: id.to_string(),
            content: it.content(),
            view: shown(place, shelf, id, it),
        };
        all.get().into_iter().map(line).collect::<Vec<_>>()
    });
    let picks = of_job(place.state, move |state| picks::materials(state, &shelf.state.read()));
    let weigh = Route::Weigh(place.shop, place.job, place.step).to_string();
    view! {
        <Lines
            place kind=KIND lines picks below=moments
            above=move |form| view! { <FromShelf form shelf kind=StockKind::Material/> }.into_any()
            verdict=move |form| view! { {expired_loudly(form)}<MoreThanLeft form shelf/> }.into_any()
            check=reason_given
            foot=move || place.may_work.then(|| view! {
                <div class="cluster"><LinkButton label="Weigh resin in" icon=Icon::Flask href=weigh.clone()/></div>
            })
        />
    }
}

fn shown(place: Place, shelf: Shelf, id: MaterialId, it: MaterialLine) -> ViewFn {
    let store = use_store();
    let head = joined([it.name.or_empty().0, it.quantity.or_empty().0]);
    let head = if head.is_empty() { it.kind.or_empty().word().to_owned() } else { head };
    let mixed = it.mixed_at.or_empty().map(|at| format!("mixed {}", clock::moment(at))).unwrap_or_default();
    let cured = it
        .cure_started_at
        .or_empty()
        .map(|at| format!("cure from {}", clock::moment(at)))
        .unwrap_or_default();
    let further = joined([
        it.kind.or_empty().word().to_owned(),
        batch(&it.batch.or_empty().0),
        it.source_document.or_empty().0,
        it.mix.or_empty().0,
        mixed,
        cured,
        it.cure_temperature.or_empty().0,
    ]);
    // Whoever stirs a pot has no hand free to open a form: the two moments are one tap each.
    let now = move |field: &'static str, done: &'static str| {
        let body =
            Subject::new("material.v1", id).on(Some(place.step)).setting([(field, json!(clock::now()))]);
        store.dispatch(place.log, body.into_iter().collect(), done);
    };
    let (mixes, cures) = (it.pot_life_minutes.or_empty().is_some(), it.cure_hours.or_empty().is_some());
    let (to_mix, to_cure) =
        (mixes && it.mixed_at.or_empty().is_none(), cures && it.cure_started_at.or_empty().is_none());
    ViewFn::from(move || {
        view! {
            <strong>{head.clone()}</strong>
            <span class="small muted">{further.clone()}</span>
            <ExpiryBadge expiry=it.expiry.or_empty() today=clock::today()/>
            {taken_from(shelf, it.stock.or_empty())}
            {reason(&it.expired_reason.or_empty().0)}
            <div class="cluster">
                {(place.may_work && to_mix).then(|| view! { <Button label="Mixed now" icon=Icon::Flask on_press=move |()| now("mixed_at", "Time of mixing recorded")/> })}
                {(place.may_work && to_cure).then(|| view! { <Button label="Cure begins now" icon=Icon::Timer on_press=move |()| now("cure_started_at", "Start of cure recorded")/> })}
            </div>
        }
    })
}

/// The two moments at one tap.
fn moments(form: Form) -> AnyView {
    let now = move |field: &'static str| form.text(field).set(clock::to_typed(clock::now().0));
    view! {
        <div class="cluster">
            <Button label="Mixed now" icon=Icon::Flask on_press=move |()| now("mixed_at")/>
            <Button label="Cure begins now" icon=Icon::Timer on_press=move |()| now("cure_started_at")/>
        </div>
    }
    .into_any()
}
