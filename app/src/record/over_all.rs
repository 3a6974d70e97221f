//! The lists over the whole job, on the page.

use std::sync::Arc;

use leptos::prelude::*;
use shared_types::job::JobState;

use super::lists::FINDINGS;
use super::step::{HardwareTable, MaterialTable};
use super::tell::in_use;
use super::view::RecordSources;
use crate::ui::Section;

/// Hardware and materials of all steps, with their batches.
#[component]
pub fn WholeJob(state: Arc<JobState>, sources: RecordSources) -> impl IntoView {
    let hardware: Vec<_> = in_use(state.hardware.values().map(|it| &it.it)).into_iter().cloned().collect();
    let materials: Vec<_> = in_use(state.materials.values().map(|it| &it.it)).into_iter().cloned().collect();
    let none = hardware.is_empty() && materials.is_empty();
    view! {
        <Section title="Hardware and materials of the whole job">
            {none.then(|| view! { <p class="muted">"None were entered."</p> })}
            <HardwareTable hardware sources=sources.clone()/>
            <MaterialTable materials sources/>
        </Section>
    }
}

/// Findings, and how they were closed.
#[component]
pub fn FindingList(rows: Vec<[String; 4]>) -> impl IntoView {
    let body = if rows.is_empty() {
        view! { <p class="muted">"There were none."</p> }.into_any()
    } else {
        let row = |[step, finding, answer, closed]: [String; 4]| {
            view! { <tr><th scope="row">{step}</th><td>{finding}</td><td>{answer}</td><td>{closed}</td></tr> }
        };
        view! {
            <div class="table table--wide" role="group" tabindex="0" aria-label="Findings"><table>
                <thead><tr>{FINDINGS.map(|name| view! { <th scope="col">{name}</th> }).collect_view()}</tr></thead>
                <tbody>{rows.into_iter().map(row).collect_view()}</tbody>
            </table></div>
        }
        .into_any()
    };
    view! { <Section title="Findings, and how they were closed">{body}</Section> }
}

/// What was done otherwise than planned.
#[component]
pub fn DoneOtherwise(points: Vec<(String, String)>) -> impl IntoView {
    let none = points.is_empty();
    let points = points.into_iter().map(|(what, why)| view! { <li><strong>{what}". "</strong>{why}</li> });
    view! {
        <Section title="Done otherwise, with the reason given">
            {none.then(|| view! { <p class="muted">"Nothing was recorded."</p> })}
            <ul class="lines">{points.collect_view()}</ul>
        </Section>
    }
}
