//! What changed since a step was last sent back: its findings with their answers, and the items that differ.

use std::collections::BTreeSet;
use std::sync::Arc;

use leptos::prelude::*;
use shared_types::coverage::{Difference, on};
use shared_types::entity::Entity as _;
use shared_types::ids::{DecisionId, LogId, StepId};
use shared_types::job::{JobState, Outcome};

use crate::differences;
use crate::findings;
use crate::pages::parts::pinned::{Pinned, pointed};
use crate::ui::{Section, TickField};

/// What changed since a step was last sent back.
#[derive(Clone, Debug, PartialEq)]
pub struct Since {
    decision: DecisionId,
    differences: Vec<Difference>,
}

impl Since {
    /// Since the last return of a step; nothing if it was never sent back.
    #[must_use]
    pub fn last_return(state: &JobState, step: StepId) -> Option<Self> {
        let returns =
            on(&state.decisions, Some(step)).filter(|(_, it)| it.outcome.or_empty() == Outcome::Return);
        let (decision, it) = returns.max_by_key(|(_, it)| it.created().copied())?;
        let differences = it.coverage.or_empty().differences(&state.step_coverage(step));
        Some(Self { decision: *decision, differences })
    }

    /// Is there anything that was entered or altered?
    #[must_use]
    pub fn shows_anything(&self) -> bool {
        !self.items().is_empty()
    }

    /// The items (`kind/id`) that were entered or altered.
    fn items(&self) -> BTreeSet<&str> {
        let there = self.differences.iter().filter_map(|it| match it {
            Difference::Added(item) | Difference::Altered(item) => Some(item.as_str()),
            Difference::Removed(_) => None,
        });
        there.collect()
    }

    /// Was this item entered or altered?
    #[must_use]
    pub fn has(&self, kind: &str, id: impl std::fmt::Display) -> bool {
        self.items().contains(format!("{kind}/{id}").as_str())
    }
}

/// The findings of the last return with what answers them, what changed, and the way to see the rest.
#[component]
pub fn SinceReturn(
    log: LogId,
    state: Arc<JobState>,
    since: Since,
    only_changed: RwSignal<bool>,
) -> impl IntoView {
    let changed: Vec<_> = since.differences.iter().map(|it| differences::difference(&state, it)).collect();
    let shows = since.shows_anything();
    let listed: Vec<_> = state.findings_of(since.decision).map(|(id, it)| (id, it.clone())).collect();
    view! {
        <Section title="Since it was returned">
            <ul class="lines">
                {listed.into_iter().map(|(id, it)| {
                    let at = pointed(&state, id);
                    let answer = findings::answer(&state, id, &it);
                    view! {
                        <li class="stack stack--tight">
                            <p><strong>"Finding: "</strong>{it.text.or_empty().0}</p>
                            <Pinned log at/>
                            <p>{answer}</p>
                        </li>
                    }
                }).collect_view()}
            </ul>
            <p>{if changed.is_empty() { "Nothing changed since then.".to_owned() } else { format!("Changed: {}.", changed.join("; ")) }}</p>
            {shows.then(|| view! { <TickField label="Show only what changed" value=only_changed/> })}
        </Section>
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_taken_out_is_no_item_to_show() {
        let reading = "reading/01900000-0000-7000-8000-000000000001";
        let since = |differences| Since { decision: DecisionId::default(), differences };
        assert!(!since(vec![Difference::Removed(reading.to_owned())]).shows_anything());
        let altered = since(vec![Difference::Altered(reading.to_owned())]);
        assert!(altered.has("reading", "01900000-0000-7000-8000-000000000001"));
        assert!(!altered.has("photo", "01900000-0000-7000-8000-000000000001"));
    }
}
