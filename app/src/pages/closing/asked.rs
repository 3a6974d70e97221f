//! What the rule asks for, held against the text as it is typed.

use leptos::prelude::*;
use shared_types::closing::Entry;
use shared_types::ids::LogId;
use shared_types::record_entry::asked::{Asked, Found, Rule, asked, blanks};

use super::with_facts;
use crate::pages::parts::JobSignal;
use crate::store::use_store;
use crate::ui::{Badge, Banner, Shape, Tone};

/// The rules: name in the choice, words, rule.
pub const RULES: [(&str, &str, Rule); 4] = [
    ("43.9", "maintenance, 14 CFR 43.9(a)", Rule::Maintenance),
    ("43.11", "an inspection, 14 CFR 43.11(a)", Rule::Inspection),
    ("43.11b", "a list of discrepancies, 14 CFR 43.11(b)", Rule::Discrepancies),
    ("other", "another authority's", Rule::Other),
];

/// How the app's own list of discrepancies begins.
const LIST: &str = "List of discrepancies";

/// The rule of a name in the choice.
pub fn rule_named(name: &str) -> Rule {
    RULES.iter().find(|it| it.0 == name).map_or(Rule::Other, |it| it.2)
}

/// The rule that an entry was probably made under; its signer can choose another.
pub fn rule_of(entry: &Entry) -> (&'static str, Rule) {
    let text = entry.text.or_empty().0;
    let at = match entry.template.or_empty() {
        Some(_) => 3,
        None if text.contains("has been inspected") => 1,
        None => 2 * usize::from(text.starts_with(LIST)),
    };
    (RULES[at].0, RULES[at].2)
}

/// The list.
#[component]
pub fn CheckList(
    log: LogId,
    state: JobSignal,
    text: RwSignal<String>,
    rule: RwSignal<String>,
) -> impl IntoView {
    let store = use_store();
    let asked = Memo::new(move |_| {
        let (rule, text) = (rule_named(&rule.read()), text.read());
        state.with(|state| match state.here() {
            Some(state) => with_facts(store, log, state, |facts| asked(rule, &text, facts)),
            None => Vec::new(),
        })
    });
    let blanks = Memo::new(move |_| blanks(&text.read()));
    view! {
        <ul class="lines asked" aria-label="What the rule asks for">
            {move || asked.get().into_iter().map(|it| view! { <Line it/> }).collect_view()}
        </ul>
        {move || (!blanks.read().is_empty()).then(|| view! {
            <Banner tone=Tone::Close>
                <p><strong>"Blanks left: "</strong>{blanks.get().join("; ")}</p>
            </Banner>
        })}
        <p class="small muted">"Words are looked for, not understood. Read the text before you sign it."</p>
    }
}

#[component]
fn Line(it: Asked) -> impl IntoView {
    let (word, shape, tone) = match it.found {
        Found::There => ("there", Shape::Tick, Tone::Good),
        Found::Unsure => ("read it", Shape::Wave, Tone::Close),
        Found::Missing => ("missing", Shape::Cross, Tone::Bad),
    };
    view! {
        <li class="spread">
            <span class="grow">
                <strong>{it.what}</strong>" "<span class="small muted nowrap">{it.paragraph}</span><br/>
                <span class="small">{it.note}</span>
            </span>
            <Badge word shape tone/>
        </li>
    }
}
