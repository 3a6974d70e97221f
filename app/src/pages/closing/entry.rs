//! The maintenance-record entry: built from the job, edited by its signer, held against the rule, printed.

use leptos::prelude::*;
use shared_types::body::{Known, On};
use shared_types::closing::EntryPatch;
use shared_types::entity::Entity as _;
use shared_types::ids::{EntryId, EntryTemplateId, JobId, LogId, ShopId};
use shared_types::record_entry::{
    DISCREPANCIES, INSPECTION, MAINTENANCE, NOT_APPROVED, TemplateFault, draft,
};

use super::draft::Draft;
use super::with_facts;
use crate::pages::parts::also_entered::{AlsoEntered, sides_of};
use crate::pages::parts::waiting::WhenHere;
use crate::pages::parts::{JobSignal, job_line, of_job};
use crate::routes::Route;
use crate::store::{Store, use_store};
use crate::ui::{Banner, Button, ButtonKind, Icon, LinkButton, Plate, Section, Tone};

/// The page.
#[component]
pub fn EntryPage(shop: ShopId, job: JobId) -> impl IntoView {
    let state = use_store().job(shop, job);
    view! {
        <WhenHere state children=move || view! { <Entries log=LogId::Job(shop, job) state/> }.into_any()/>
    }
}

#[component]
fn Entries(log: LogId, state: JobSignal) -> impl IntoView {
    let all =
        of_job(state, |state| state.entries_in_use().map(|(id, it)| (id, it.clone())).collect::<Vec<_>>());
    let contested = of_job(state, |state| {
        sides_of(state, state.entries_in_use().map(|(id, _)| ("entry.v1", id.to_string())))
    });
    let printed = RwSignal::new(None);
    let signed = of_job(state, |state| state.signatures.values().any(|it| !it.is_retired()));
    view! {
        <div class="stack entry-page">
            <div class="no-print">
                <Plate over=job_line(state) title="Maintenance-record entry"/>
            </div>
            <div class="no-print stack">
                <Banner>
                    <p>"A draft made of the job. The person who signs the aircraft's record answers for its words, and
                    the rules of the aircraft's own authority decide what it must hold."</p>
                </Banner>
                {move || (signed.get() && !all.read().is_empty()).then(|| view! {
                    <Banner tone=Tone::Close>
                        <p>"The job is signed, this entry with it: altering it shows those signatures as overtaken."</p>
                    </Banner>
                })}
                <AlsoEntered log all=contested/>
            </div>
            <For each=move || all.get() key=|(id, it)| (*id, it.text.or_empty()) let:entry>
                <Draft log state id=entry.0 it=entry.1 printed/>
            </For>
            <div class="no-print"><Begin log state is_first=Signal::derive(move || all.read().is_empty())/></div>
        </div>
    }
}

/// What an entry can be made from: its words on a button, and the shop's template if it is one.
fn templates(store: Store, shop: ShopId) -> Vec<(String, Made)> {
    let own = [
        ("Maintenance, by 14 CFR 43.9".to_owned(), Made::Maintenance),
        ("Inspection, by 14 CFR 43.11".to_owned(), Made::Inspection),
        ("Inspection, not approved, by 14 CFR 43.11".to_owned(), Made::NotApproved),
        ("List of discrepancies, by 14 CFR 43.11(b)".to_owned(), Made::Discrepancies),
    ];
    let state = store.shop(shop).get();
    let of_shop = state.entry_templates.iter().filter(|(_, it)| !it.is_retired());
    own.into_iter().chain(of_shop.map(|(id, it)| (it.title.or_empty().0, Made::OfShop(*id)))).collect()
}

/// What an entry is made from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Made {
    /// The app's own for maintenance.
    Maintenance,
    /// The app's own for an inspection.
    Inspection,
    /// The app's own for an inspection that found what must be put right.
    NotApproved,
    /// The app's own for the list of it.
    Discrepancies,
    /// A template of the shop.
    OfShop(EntryTemplateId),
}

impl Made {
    const fn template(self) -> Option<EntryTemplateId> {
        match self {
            Self::OfShop(id) => Some(id),
            Self::Maintenance | Self::Inspection | Self::NotApproved | Self::Discrepancies => None,
        }
    }
}

/// The text that a job makes of a template, at this moment.
///
/// # Errors
/// The shop's template has a fault.
pub fn built(store: Store, log: LogId, state: JobSignal, made: Made) -> Result<String, TemplateFault> {
    let text = match made {
        Made::Maintenance => MAINTENANCE.to_owned(),
        Made::Inspection => INSPECTION.to_owned(),
        Made::NotApproved => NOT_APPROVED.to_owned(),
        Made::Discrepancies => DISCREPANCIES.to_owned(),
        Made::OfShop(id) => {
            let shop = store.shop(log.shop()).get_untracked();
            shop.entry_templates.get(&id).map(|it| it.text.or_empty().0).unwrap_or_default()
        }
    };
    state.with_untracked(|state| match state.here() {
        Some(state) => untrack(|| with_facts(store, log, state, |facts| draft(&text, facts))),
        None => Ok(String::new()),
    })
}

#[component]
fn Begin(log: LogId, state: JobSignal, is_first: Signal<bool>) -> impl IntoView {
    let store = use_store();
    let begin = move |made: Made| match built(store, log, state, made) {
        Ok(text) => {
            let set = EntryPatch {
                template: made.template().map(Some),
                text: Some(text.into()),
                ..EntryPatch::default()
            };
            let body = Known::Entry(On { id: EntryId(store.uuid()), set });
            store.dispatch(log, vec![body], "Entry built from the job");
        }
        Err(fault) => store.warn(format!("The template can't be used: {fault}")),
    };
    let title = Signal::derive(move || {
        if is_first.get() { "Build it from the job" } else { "Another entry" }.to_owned()
    });
    move || {
        may_write(store, log).then(|| {
            view! {
                <Section title>
                    <div class="cluster">
                        {templates(store, log.shop()).into_iter().map(|(label, made)| view! {
                            <Button label icon=Icon::Note on_press=move |()| begin(made)/>
                        }).collect_view()}
                    </div>
                    <LinkButton label="The shop's templates" kind=ButtonKind::Quiet icon=Icon::Settings
                        href=Route::EntryTemplates(log.shop()).to_string()/>
                </Section>
            }
        })
    }
}

/// May the person signed in write entries here?
pub fn may_write(store: Store, log: LogId) -> bool {
    store.may(log, Known::Entry(On { id: EntryId::default(), set: EntryPatch::default() }))
}
