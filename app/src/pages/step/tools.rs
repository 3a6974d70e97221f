//! Tools used: which one, and whether its calibration still holds.

use leptos::prelude::*;
use shared_types::entity::Entity as _;
use shared_types::job::{JobState, ToolUse};
use shared_types::status::is_expired;

use super::Place;
use super::line::{Kind, Line, Lines};
use super::picks;
use crate::clock;
use crate::entry::specs;
use crate::pages::parts::{items, of_job};
use crate::store::use_store;
use crate::ui::{Badge, Shape, Tone};

const KIND: Kind = Kind {
    kind: "tool-use.v1",
    title: "Tools",
    one: "tool",
    none: "No tools recorded.",
    specs: specs::TOOL_USE,
};

/// The tools used on a step.
#[component]
pub fn Tools(place: Place) -> impl IntoView {
    let all = items(place.state, Some(place.step), |state: &JobState| &state.tools);
    let lines = Signal::derive(move || {
        let line = |(id, it): (_, ToolUse)| Line {
            id: ToString::to_string(&id),
            content: it.content(),
            view: shown(it),
        };
        all.get().into_iter().map(line).collect::<Vec<_>>()
    });
    let shop = use_store().shop(place.shop);
    let picks = of_job(place.state, move |state| picks::tools(state, &shop.read()));
    view! { <Lines place kind=KIND lines picks/> }
}

fn shown(it: ToolUse) -> ViewFn {
    ViewFn::from(move || {
        let due = it.calibration_due.or_empty();
        let overdue = is_expired(due, clock::today());
        let word = due.map(|due| {
            if overdue { format!("CALIBRATION WAS DUE {due}") } else { format!("calibrated until {due}") }
        });
        let (shape, tone) = if overdue { (Shape::Cross, Tone::Bad) } else { (Shape::Tick, Tone::Plain) };
        view! {
            <strong>{it.name.or_empty().0}</strong>
            <span class="small muted">{it.identifier.or_empty().0}</span>
            {word.map(|word| view! { <Badge word shape tone/> })}
        }
    })
}
