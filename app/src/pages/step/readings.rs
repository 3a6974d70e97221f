//! Readings: measured values, held against their limits at once and in words.

use leptos::prelude::*;
use serde_json::json;
use shared_types::entity::Entity as _;
use shared_types::job::{JobState, Moment, Reading, ReadingPatch};

use super::Place;
use super::line::{Kind, Line, Lines};
use super::picks;
use crate::clock;
use crate::entry::form::Form;
use crate::entry::preview::entity;
use crate::entry::specs;
use crate::pages::parts::{items, of_job};
use crate::ui::ReadingBadge;

const KIND: Kind = Kind {
    kind: "reading.v1",
    title: "Readings",
    one: "reading",
    none: "Nothing measured yet.",
    specs: specs::READING,
};

/// The readings of one moment.
#[component]
pub fn Readings(place: Place, moment: Moment) -> impl IntoView {
    let all = items(place.state, Some(place.step), |state: &JobState| &state.readings);
    let lines = Signal::derive(move || {
        let all = all.get().into_iter().filter(|(_, it)| it.moment.or_empty() == moment);
        all.map(|(id, it)| Line { id: id.to_string(), content: it.content(), view: shown(it) })
            .collect::<Vec<_>>()
    });
    let fixed = move |()| vec![("moment", json!(moment)), ("measured_at", json!(clock::now()))];
    view! { <Lines place kind=KIND lines picks=of_job(place.state, picks::readings) fixed verdict=verdict/> }
}

/// A reading as a line: what, how much, and what that means.
fn shown(it: Reading) -> ViewFn {
    let (minimum, maximum) = (it.minimum.or_empty().0, it.maximum.or_empty().0);
    let unit = it.unit.or_empty().0;
    let limits = match (minimum.is_empty(), maximum.is_empty()) {
        (true, true) => String::new(),
        (false, true) => format!("at least {minimum} {unit}"),
        (true, false) => format!("at most {maximum} {unit}"),
        (false, false) => format!("{minimum} to {maximum} {unit}"),
    };
    let further = [limits, it.limit_source.or_empty().0, it.tool.or_empty().0];
    let further = further.into_iter().filter(|part| !part.trim().is_empty()).collect::<Vec<_>>().join(" · ");
    ViewFn::from(move || {
        view! {
            <span class="spread">
                <strong>{it.label.or_empty().0}</strong>
                <span class="figures">{it.value.or_empty().0} " " {unit.clone()}</span>
            </span>
            <span class="cluster">
                <ReadingBadge reading=it.clone()/>
                <span class="small muted">{further.clone()}</span>
            </span>
        }
    })
}

/// The verdict on what is being typed.
fn verdict(form: Form) -> AnyView {
    let typed = move |name: &str| Some(form.text(name).get().trim().into());
    let reading = Memo::new(move |_| {
        let patch = ReadingPatch {
            value: typed("value"),
            unit: typed("unit"),
            minimum: typed("minimum"),
            maximum: typed("maximum"),
            ..ReadingPatch::default()
        };
        entity::<Reading>(&patch)
    });
    view! { <p role="status" class="cluster">{move || view! { <ReadingBadge reading=reading.get()/> }}</p> }
        .into_any()
}
