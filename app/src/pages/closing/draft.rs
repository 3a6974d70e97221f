//! One draft of the entry: its text, what it lacks, and the ways it leaves the app.

use leptos::prelude::*;
use shared_types::body::{Known, On};
use shared_types::closing::{Entry, EntryPatch};
use shared_types::entity::Entity as _;
use shared_types::ids::{EntryId, LogId};
use shared_types::record_entry::asked::Rule;

use super::asked::{CheckList, RULES, rule_named, rule_of};
use super::copy;
use super::entry::{Made, built, may_write};
use super::label::Label;
use crate::entry::form::Form;
use crate::entry::{Subject, specs};
use crate::pages::parts::JobSignal;
use crate::store::use_store;
use crate::ui::{Button, ButtonKind, Choice, Icon, Section};

/// A draft that its signer edits.
#[component]
pub fn Draft(
    log: LogId,
    state: JobSignal,
    id: EntryId,
    it: Entry,
    printed: RwSignal<Option<EntryId>>,
) -> impl IntoView {
    let store = use_store();
    let subject = Subject::altered("entry.v1", id, it.content());
    let form = Form::new(log, specs::ENTRY, subject, &format!("entry/{id}"));
    let text = form.text("text");
    let saved = it.text.or_empty().0;
    let rule = RwSignal::new(rule_of(&it).0.to_owned());
    let template = it.template.or_empty();
    let save = move || form.save(log, "Entry saved".to_owned(), || ());
    // What was typed is not wanted any more, also by the form that takes this one's place.
    let set = move |set: EntryPatch, done: &'static str| {
        form.forget_draft();
        store.dispatch(log, vec![Known::Entry(On { id, set })], done);
    };
    let again = move |()| {
        let own = || match rule_named(&rule.read_untracked()) {
            Rule::Inspection if text.read_untracked().contains("list of discrepancies") => Made::NotApproved,
            Rule::Inspection => Made::Inspection,
            Rule::Discrepancies => Made::Discrepancies,
            Rule::Maintenance | Rule::Other => Made::Maintenance,
        };
        match built(store, log, state, template.map_or_else(own, Made::OfShop)) {
            Ok(built) if built == *text.read_untracked() => store.say("The job says the same as before"),
            Ok(built) => {
                set(EntryPatch { text: Some(built.into()), ..EntryPatch::default() }, "Entry built again");
            }
            Err(fault) => store.warn(format!("The template can't be used: {fault}")),
        }
    };
    let take_out = move |()| set(Entry::retirement(true), "Entry taken out");
    let shown = saved.clone();
    let dirty = form.is_dirty();
    let (may, none) = (may_write(store, log), Signal::stored(Vec::new()));
    view! {
        <div class="stack">
            <div class="halves no-print">
                <form class="stack" novalidate on:submit=move |event| {
                    event.prevent_default();
                    save();
                }>
                    {if may { form.field("text", none) } else { view! { <p class="prewrap">{shown}</p> }.into_any() }}
                    {may.then(|| view! {
                        <div class="cluster">
                            <Button label="Save the entry" kind=ButtonKind::Primary icon=Icon::Check submit=true
                                disabled=Signal::derive(move || !dirty.get()) on_press=|()| ()/>
                            <Button label="Build again from the job" icon=Icon::Sync on_press=again/>
                            <Button label="Take out" kind=ButtonKind::Quiet icon=Icon::Archive on_press=take_out/>
                        </div>
                    })}
                    {move || dirty.get().then(|| view! {
                        <p class="small muted" role="status">"Not saved yet; kept on this device as you type."</p>
                    })}
                </form>
                <Section title="What the rule asks for">
                    <Choice label="The entry is one of" value=rule options=RULES.map(|(name, word, _)| (name.to_owned(), word.to_owned())).into()/>
                    <CheckList log state text rule/>
                    <Button label="Copy the text" icon=Icon::Note on_press=move |()| copy(store, &text.read_untracked(), "Entry copied")/>
                </Section>
            </div>
            <Label id text printed/>
        </div>
    }
}
