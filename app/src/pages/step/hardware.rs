//! Fasteners used: part number, how many, batch, and whether they were still good.

use leptos::prelude::*;
use shared_types::check::Problem;
use shared_types::entity::Entity as _;
use shared_types::job::{HardwareLine, JobState};
use shared_types::shop::StockKind;
use shared_types::status::is_expired;

use super::Place;
use super::line::{Kind, Line, Lines};
use super::picks;
use super::shelf::{FromShelf, MoreThanLeft, taken_from};
use crate::clock;
use crate::entry::form::Form;
use crate::entry::specs;
use crate::pages::parts::{items, of_job};
use crate::shelf::{Shelf, use_shelf};
use crate::ui::{Banner, ExpiryBadge, Tone};

const KIND: Kind = Kind {
    kind: "hardware.v1",
    title: "Hardware",
    one: "hardware line",
    none: "No fasteners recorded.",
    specs: specs::HARDWARE,
};

/// The hardware lines of a step.
#[component]
pub fn HardwareLines(place: Place) -> impl IntoView {
    let all = items(place.state, Some(place.step), |state: &JobState| &state.hardware);
    let shelf = use_shelf(place.shop);
    let lines = Signal::derive(move || {
        let line = |(id, it): (_, HardwareLine)| Line {
            id: ToString::to_string(&id),
            content: it.content(),
            view: shown(shelf, it),
        };
        all.get().into_iter().map(line).collect::<Vec<_>>()
    });
    let picks = of_job(place.state, move |state| picks::hardware(state, &shelf.state.read()));
    view! {
        <Lines
            place kind=KIND lines picks
            above=move |form| view! { <FromShelf form shelf kind=StockKind::Hardware/> }.into_any()
            verdict=move |form| view! { {expired_loudly(form)}<MoreThanLeft form shelf/> }.into_any()
            check=reason_given
        />
    }
}

fn shown(shelf: Shelf, it: HardwareLine) -> ViewFn {
    let quantity = it.quantity.or_empty().map(|quantity| format!("{quantity} × ")).unwrap_or_default();
    let further =
        [it.description.or_empty().0, batch(&it.batch.or_empty().0), it.source_document.or_empty().0];
    let further = joined(further);
    ViewFn::from(move || {
        view! {
            <strong>{quantity.clone()} {it.part_number.or_empty().0}</strong>
            <span class="small muted">{further.clone()}</span>
            <ExpiryBadge expiry=it.expiry.or_empty() today=clock::today()/>
            {taken_from(shelf, it.stock.or_empty())}
            {reason(&it.expired_reason.or_empty().0)}
        }
    })
}

/// `batch A7`, empty for none.
pub fn batch(batch: &str) -> String {
    if batch.trim().is_empty() { String::new() } else { format!("batch {batch}") }
}

/// Parts that are not empty, with a dot between.
pub fn joined<const N: usize>(parts: [String; N]) -> String {
    parts.into_iter().filter(|part| !part.trim().is_empty()).collect::<Vec<_>>().join(" · ")
}

/// Why it was used although expired.
pub fn reason(text: &str) -> Option<impl IntoView + use<>> {
    let text = text.to_owned();
    (!text.trim().is_empty()).then(|| view! { <span class="small">"Used although expired: " {text}</span> })
}

/// Is what the form holds expired today?
fn is_expired_in(form: Form) -> bool {
    is_expired(form.text("expiry").get().parse().ok(), clock::today())
}

/// Said loudly while it is being typed.
pub fn expired_loudly(form: Form) -> AnyView {
    let expired = Memo::new(move |_| is_expired_in(form));
    view! {
        <div role="alert">
            {move || expired.get().then(|| view! {
                <Banner tone=Tone::Bad>
                    <p><strong>"EXPIRED."</strong> " The last day of use is past. Do not use it; if it was used all the same, say why."</p>
                </Banner>
            })}
        </div>
    }
    .into_any()
}

/// What is expired is saved only with a reason.
pub fn reason_given(form: Form) -> bool {
    let missing =
        untrack(|| is_expired_in(form)) && form.text("expired_reason").read_untracked().trim().is_empty();
    if missing {
        form.object(Problem::new("expired_reason", "is missing, and this is expired", "why it was used"));
    }
    !missing
}
