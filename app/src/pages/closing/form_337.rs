//! What a report of a major repair would need, gathered to copy.

use leptos::prelude::*;
use shared_types::ids::LogId;
use shared_types::record_entry::form_337::{text, wanted};

use super::{copy, with_facts};
use crate::pages::parts::JobSignal;
use crate::store::use_store;
use crate::ui::{Button, Icon, Section};

/// The facts of a major repair or alteration.
#[component]
pub fn ForMajor(log: LogId, state: JobSignal) -> impl IntoView {
    let store = use_store();
    let facts = Memo::new(move |_| {
        state.with(|state| match state.here() {
            Some(state) => with_facts(store, log, state, wanted),
            None => Vec::new(),
        })
    });
    view! {
        <Section title="For the report of major work">
            <p>"What FAA Form 337 asks to know, as far as the job says it, to copy into the form. By 14 CFR Part 43
            Appendix B (a) it is made at least twice: one for the owner, one sent to the FAA within 48 hours of the
            return to service. Other authorities have their own."</p>
            <dl class="facts">
                {move || facts.get().into_iter().map(|(name, value)| view! {
                    <dt>{name}</dt>
                    <dd class="prewrap">{if value.is_empty() { "to be filled in".to_owned() } else { value }}</dd>
                }).collect_view()}
            </dl>
            <Button label="Copy these facts" icon=Icon::Note on_press=move |()| copy(store, &text(&facts.read_untracked()), "Facts copied")/>
        </Section>
    }
}
