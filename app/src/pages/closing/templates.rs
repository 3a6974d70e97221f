//! What the shop's maintenance-record entries are made from: text with names in braces.

use leptos::prelude::*;
use shared_types::body::{Known, On};
use shared_types::check::Problem;
use shared_types::entity::Entity as _;
use shared_types::ids::{EntryTemplateId, LogId, ShopId};
use shared_types::record_entry::{MAINTENANCE, Placeholder, TemplateFault, check};
use shared_types::shop::{EntryTemplate, EntryTemplatePatch};

use crate::entry::form::{EntrySheet, Form};
use crate::entry::{Subject, specs};
use crate::store::use_store;
use crate::ui::{Button, ButtonKind, EmptyState, Icon, Plate, Section};

/// The page.
#[component]
pub fn TemplatesPage(shop: ShopId) -> impl IntoView {
    let store = use_store();
    let log = LogId::Shop(shop);
    let state = store.shop(shop);
    let all = Memo::new(move |_| {
        let state = state.read();
        let in_use = state.entry_templates.iter().filter(|(_, it)| !it.is_retired());
        in_use.map(|(id, it)| (*id, it.clone())).collect::<Vec<_>>()
    });
    let (open, edited) = (RwSignal::new(false), RwSignal::new(None::<EntryTemplateId>));
    let edit = move |id| {
        edited.set(id);
        open.set(true);
    };
    let may = move || {
        store
            .may(log, Known::EntryTemplate(On { id: Default::default(), set: EntryTemplatePatch::default() }))
    };
    let subject = move |()| match edited.get_untracked() {
        None => Subject::new("entry-template.v1", store.uuid()),
        Some(id) => {
            let content =
                all.with_untracked(|all| all.iter().find(|(it, _)| *it == id).map(|(_, it)| it.content()));
            Subject::altered("entry-template.v1", id, content.unwrap_or_default())
        }
    };
    let draft = Signal::derive(move || {
        edited.get().map_or_else(|| "entry-template".to_owned(), |id| format!("entry-template/{id}"))
    });
    view! {
        <div class="stack">
            <Plate over="Shop" title="Entry templates"/>
            <p>"What the maintenance-record entries of this shop are made from, for an authority that asks for other words
            than 14 CFR 43.9 and 43.11. A lead writes them."</p>
            <Section title="Templates" end=move || may().then(|| view! {
                <Button label="Add" kind=ButtonKind::Quiet icon=Icon::Add on_press=move |()| edit(None)/>
            })>
                {move || all.read().is_empty().then(|| view! {
                    <EmptyState icon=Icon::Note title="No template of your own yet">
                        <p>"Entries are made from the app's own two: maintenance and inspection."</p>
                    </EmptyState>
                })}
                <ul class="lines">
                    {move || all.get().into_iter().map(|(id, it)| view! {
                        <Line log id it may=may() on_edit=move |()| edit(Some(id))/>
                    }).collect_view()}
                </ul>
            </Section>
            <Names/>
            <EntrySheet
                title="Entry template" open log specs=specs::ENTRY_TEMPLATE subject draft done="Entry template saved"
                above=begin_with_own check=is_usable
            />
        </div>
    }
}

/// The app's own text, to begin with.
fn begin_with_own(form: Form) -> AnyView {
    let text = form.text("text");
    (move || {
        text.read().is_empty().then(|| view! {
            <Button label="Begin with the app's own text" icon=Icon::Note on_press=move |()| text.set(MAINTENANCE.to_owned())/>
        })
    })
    .into_any()
}

fn is_usable(form: Form) -> bool {
    let missing = |field: &str| form.text(field).read_untracked().trim().is_empty();
    if let Some(field) = ["title", "text"].into_iter().find(|field| missing(field)) {
        form.object(Problem::new(field, "is empty", "a few words"));
        return false;
    }
    match check(&form.text("text").read_untracked()) {
        Ok(()) => true,
        Err(fault) => {
            form.object(Problem::new("text", fault.to_string(), TemplateFault::accepted()));
            false
        }
    }
}

#[component]
fn Line(
    log: LogId,
    id: EntryTemplateId,
    it: EntryTemplate,
    may: bool,
    #[prop(into)] on_edit: Callback<()>,
) -> impl IntoView {
    let store = use_store();
    let take_out = move |()| {
        let body = Known::EntryTemplate(On { id, set: EntryTemplate::retirement(true) });
        store.dispatch(log, vec![body], "Entry template taken out");
    };
    view! {
        <li class="stack stack--tight">
            <div class="spread">
                <strong class="grow">{it.title.or_empty().0}</strong>
                {may.then(|| view! {
                    <span class="cluster">
                        <Button label="Edit entry template" icon_only=true kind=ButtonKind::Quiet icon=Icon::Edit on_press=on_edit/>
                        <Button label="Take entry template out" icon_only=true kind=ButtonKind::Quiet icon=Icon::Archive on_press=take_out/>
                    </span>
                })}
            </div>
            <p class="prewrap small">{it.text.or_empty().0}</p>
        </li>
    }
}

/// The names that a template may have.
#[component]
fn Names() -> impl IntoView {
    view! {
        <Section title="Names for the job's facts">
            <dl class="facts">
                {Placeholder::ALL.map(|it| view! { <dt class="figures">{format!("{{{}}}", it.name())}</dt><dd>{it.about()}</dd> }).collect_view()}
            </dl>
        </Section>
    }
}
