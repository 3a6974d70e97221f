//! What must be known before work goes on: held back, sent back, altered since somebody looked.

use leptos::prelude::*;
use shared_types::status::StepStatus;

use super::Place;
use super::findings::Returned;
use super::held::HoldPoints;
use crate::differences::difference;
use crate::pages::parts::of_job;
use crate::ui::{Banner, Tone};

/// The notices of a step.
#[component]
pub fn Notices(place: Place) -> impl IntoView {
    let step = place.step;
    let returned = of_job(place.state, move |state| match state.step_status(step) {
        StepStatus::Returned { decision } => Some(decision),
        _ => None,
    });
    let since = of_job(place.state, move |state| {
        let (accepted, since) = match state.step_status(step) {
            StepStatus::Accepted { since, .. } => (true, since),
            StepStatus::Offered { since, .. } => (false, since),
            _ => return (false, Vec::new()),
        };
        (accepted, since.iter().map(|it| difference(state, it)).collect::<Vec<_>>())
    });
    view! {
        <HoldPoints place/>
        {move || returned.get().map(|decision| view! { <Returned place decision/> })}
        {move || {
            let (accepted, since) = since.get();
            (!since.is_empty()).then(|| view! { <Altered accepted since/> })
        }}
    }
}

/// Content changed after somebody looked at it: said, with what changed.
#[component]
fn Altered(accepted: bool, since: Vec<String>) -> impl IntoView {
    let head = if accepted {
        "The acceptance is overtaken: the step was altered after it. Offer it again, or take the changes back."
    } else {
        "Altered since it was offered. The inspector sees this too."
    };
    view! {
        <Banner tone=if accepted { Tone::Close } else { Tone::Blue }>
            <p><strong>{head}</strong></p>
            <ul>{since.into_iter().map(|it| view! { <li>{it}</li> }).collect_view()}</ul>
        </Banner>
    }
}
