//! What the work is done to: documents and paragraphs.

use leptos::prelude::*;
use shared_types::entity::Entity as _;
use shared_types::ids::{DataReferenceId, LogId};
use shared_types::job::{DataReference, JobState};

use super::facts::may_work;
use crate::entry::form::EntrySheet;
use crate::entry::{Subject, specs};
use crate::pages::parts::{JobSignal, of_job};
use crate::store::use_store;
use crate::ui::{Banner, Button, ButtonKind, Icon, Section, Tone};

/// The data references, oldest first.
#[component]
pub fn References(log: LogId, state: JobSignal) -> impl IntoView {
    let store = use_store();
    let all = of_job(state, in_use);
    let open = RwSignal::new(false);
    let edited = RwSignal::new(None::<DataReferenceId>);
    let may = may_work(store, log);
    let edit = move |id: Option<DataReferenceId>| {
        edited.set(id);
        open.set(true);
    };
    let subject = move |()| match edited.get_untracked() {
        None => Subject::new("data-reference.v1", store.uuid()),
        Some(id) => {
            let content =
                all.with_untracked(|all| all.iter().find(|(it, _)| *it == id).map(|(_, it)| it.content()));
            Subject::altered("data-reference.v1", id, content.unwrap_or_default())
        }
    };
    let draft = Signal::derive(move || {
        edited.get().map_or_else(|| "data-reference".to_owned(), |id| format!("data-reference/{id}"))
    });
    view! {
        <Section title="Data references" end=move || may.then(|| view! {
            <Button label="Add" kind=ButtonKind::Quiet icon=Icon::Add on_press=move |()| edit(None)/>
        })>
            {move || {
                let all = all.get();
                if all.is_empty() {
                    return view! {
                        <Banner tone=Tone::Close>
                            <p>"No document yet. Write down the paragraph of the type's own data, or the approved scheme, that the work is done to."</p>
                        </Banner>
                    }.into_any();
                }
                view! {
                    <ul class="lines">
                        {all.into_iter().map(|(id, it)| view! { <Reference log id it may on_edit=move |()| edit(Some(id))/> }).collect_view()}
                    </ul>
                }.into_any()
            }}
            <EntrySheet
                title="Data reference" open log specs=specs::DATA_REFERENCE subject draft done="Data reference saved"
            />
        </Section>
    }
}

#[component]
fn Reference(
    log: LogId,
    id: DataReferenceId,
    it: DataReference,
    may: bool,
    #[prop(into)] on_edit: Callback<()>,
) -> impl IntoView {
    let store = use_store();
    let further = [it.revision.or_empty().0, it.paragraph.or_empty().0];
    let further = further.into_iter().filter(|part| !part.trim().is_empty()).collect::<Vec<_>>().join(" · ");
    let take_out = move |()| {
        let body = Subject::new("data-reference.v1", id).retirement();
        store.dispatch(log, body.into_iter().collect(), "Data reference taken out");
    };
    view! {
        <li class="spread">
            <span class="grow"><strong>{it.document.or_empty().0}</strong><br/><span class="muted small">{further}</span></span>
            {may.then(|| view! {
                <span class="cluster">
                    <Button label="Edit data reference" icon_only=true kind=ButtonKind::Quiet icon=Icon::Edit on_press=on_edit/>
                    <Button label="Take data reference out" icon_only=true kind=ButtonKind::Quiet icon=Icon::Archive on_press=take_out/>
                </span>
            })}
        </li>
    }
}

fn in_use(state: &JobState) -> Vec<(DataReferenceId, DataReference)> {
    let all = state.data_references.iter().filter(|(_, it)| !it.is_retired());
    all.map(|(id, it)| (*id, it.clone())).collect()
}
