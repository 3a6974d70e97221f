//! The repair against the layup that it stands in for: which is softer, which is a hard spot.

use leptos::prelude::*;
use shared_types::layup::comparison_of;
use shared_types::quantity::decimal;
use shared_types::worksheet::WorksheetResult;

use super::Place;
use super::propose::Proposals;
use super::refused::Refusals;
use super::worked::{Worked, use_worked};
use crate::engine::use_engine;
use crate::layups::asked::own;
use crate::layups::compared::{Compared, Held, Likeness, parent_of, question};
use crate::layups::drawing::{StackDrawing, bands};
use crate::pages::parts::of_job;
use crate::pages::parts::of_record::OfRecord;
use crate::ui::{Badge, Cautions, Section, Shape, Tone};

/// The layup that this one stands in for, and how the two compare; nothing without one.
#[component]
pub fn AgainstParent(place: Place) -> impl IntoView {
    let parent = of_job(place.state, move |state| {
        let (id, parent) = parent_of(state, state.layups.get(&place.layup)?)?;
        Some((parent.title(), bands(&own(state, id))))
    });
    move || {
        parent.get().map(|(name, bands)| {
            view! {
                <Section title=format!("Stands in for: {name}")>
                    <StackDrawing bands=Signal::stored(bands) label=name/>
                    <Comparison place/>
                </Section>
            }
        })
    }
}

#[component]
fn Comparison(place: Place) -> impl IntoView {
    let engine = use_engine();
    let asked = Memo::new(move |_| {
        place.state.with(|state| {
            let state = state.here()?;
            place.it.with(|layup| place.plies.with(|plies| question(state, place.layup, layup, plies)))
        })
    });
    let worked = use_worked(place.state, engine, asked);
    view! {
        <div role="status" class="stack stack--tight">
            {move || match worked.get() {
                Worked::Nothing => view! { <p class="muted">"Once both layups have plies, they are compared here."</p> }.into_any(),
                Worked::Fetching => view! { <p class="muted">"Fetching the calculation engine"</p> }.into_any(),
                Worked::NoEngine => view! { <p class="muted">"This device can't compare them by itself just now. Ask for the record: the server answers at the next connection."</p> }.into_any(),
                Worked::Refused(why) => view! { <Refusals why thing="the two layups"/> }.into_any(),
                Worked::Out { of_record, result } => view! { <Outcome of_record result=*result/> }.into_any(),
            }}
        </div>
        <OfRecord log=place.log state=place.state may=place.may thing="comparison" sheet=comparison_of(place.layup)
            questions=Signal::derive(move || asked.get().into_iter().collect())/>
        {place.may.then(|| view! { <Proposals place engine/> })}
    }
}

#[component]
fn Outcome(of_record: bool, result: WorksheetResult) -> impl IntoView {
    let compared = Compared::of(&result);
    let also =
        [("Thickness", compared.thickness), ("Mass", compared.mass), ("Least strength", compared.weakest)];
    let also = also.into_iter().filter_map(|(name, ratio)| {
        ratio.map(|ratio| view! { <dt>{name}</dt><dd class="figures">{format!("{} of the parent's", times(ratio))}</dd> })
    });
    view! {
        <p><strong>{compared.sentence()}</strong></p>
        <ul class="likeness" aria-label="Stiffness of the repair over its parent's">
            {compared.held.iter().map(row).collect_view()}
        </ul>
        <dl class="facts">{also.collect_view()}</dl>
        {compared.why_no_strength.clone().map(|why| view! { <p class="small muted">"Strength is not compared: "{why}"."</p> })}
        <details class="more">
            <summary>"Cautions"</summary>
            <Cautions cautions=result.cautions/>
        </details>
        <p class="small muted">{if of_record { "The server's result: the one of record." } else { "Preview, worked out on this device. Typical values." }}</p>
    }
}

fn row(held: &Held) -> impl IntoView + use<> {
    let (word, shape, tone) = match held.likeness {
        Likeness::Softer => ("softer", Shape::Wave, Tone::Close),
        Likeness::Like => ("like", Shape::Tick, Tone::Good),
        Likeness::HardSpot => ("hard spot", Shape::Cross, Tone::Bad),
    };
    let (name, ratio) = (held.name, times(held.ratio));
    view! {
        <li>
            <span>{name}</span>
            <span class="figures">{ratio}</span>
            <Badge word shape tone/>
        </li>
    }
}

/// A ratio: `0.87 ×`.
fn times(ratio: f64) -> String {
    format!("{} ×", decimal(ratio, 3))
}
