//! The job's layups: each leads to its plies.

use leptos::prelude::*;
use shared_types::ids::{LayupId, LogId, StepId};
use shared_types::job::JobState;
use shared_types::layup::Layup;

use super::facts::may_work;
use crate::entry::form::EntrySheet;
use crate::entry::{Subject, specs};
use crate::layups::steps::{ANCHOR, laid_in};
use crate::pages::parts::{JobSignal, of_job};
use crate::routes::Route;
use crate::store::use_store;
use crate::ui::{Button, ButtonKind, EmptyState, Glyph, Icon, Section};
use crate::words;

/// A layup in the list.
#[derive(Clone, Debug, PartialEq)]
struct Row {
    id: LayupId,
    name: String,
    standing: String,
}

fn rows(state: &JobState) -> Vec<Row> {
    let row = |(id, layup): (LayupId, &Layup)| {
        let plies = state.plies_of(id);
        let laid = plies.iter().filter(|(_, ply)| ply.laid().is_some()).count();
        let standing = format!(
            "{}, {}, {laid} laid",
            layup.purpose.or_empty().word(),
            words::count(plies.len(), "ply", "plies")
        );
        Row { id, name: layup.title(), standing }
    };
    state.layups_in_use().map(row).collect()
}

/// The layups, and the way to a new one.
#[component]
pub fn Layups(log: LogId, state: JobSignal) -> impl IntoView {
    let store = use_store();
    let rows = of_job(state, rows);
    let open = RwSignal::new(false);
    let may = may_work(store, log);
    let subject = move |()| Subject::new("layup.v1", store.uuid());
    view! {
        <Section title="Layups" end=move || may.then(|| view! {
            <Button label="Add a layup" kind=ButtonKind::Quiet icon=Icon::Add on_press=move |()| open.set(true)/>
        })>
            {move || {
                let rows = rows.get();
                if rows.is_empty() {
                    return view! {
                        <EmptyState icon=Icon::Layers title="No layups yet">
                            <p>"A layup is a stack of plies: the part's as it was built, or its repair's. Add one, tap its plies, and tick each when it goes in."</p>
                        </EmptyState>
                    }.into_any();
                }
                view! { <ul class="lines">{rows.into_iter().map(|row| view! { <Listed log row/> }).collect_view()}</ul> }.into_any()
            }}
            <EntrySheet title="Add a layup" open log specs=specs::LAYUP subject draft="layup/new" done="Layup added"/>
        </Section>
    }
}

/// The layups beside a step that is inspected. Nothing while there is none.
#[component]
pub fn LayupsBeside(log: LogId, state: JobSignal) -> impl IntoView {
    let rows = of_job(state, rows);
    move || {
        let rows = rows.get();
        (!rows.is_empty()).then(|| {
            view! {
                <Section title="Layups">
                    <ul class="lines">{rows.into_iter().map(|row| view! { <Listed log row/> }).collect_view()}</ul>
                </Section>
            }
        })
    }
}

#[component]
fn Listed(log: LogId, row: Row) -> impl IntoView {
    let href = Route::Layup(log.shop(), log.job().unwrap_or_default(), row.id).to_string();
    view! {
        <li>
            <a class="line-link" href=href>
                <Glyph icon=Icon::Layers/>
                <span class="grow"><strong>{row.name}</strong><br/><span class="small muted">{row.standing}</span></span>
            </a>
        </li>
    }
}

/// The layup whose plies go in in a step, with the way to its log; nothing in other steps.
#[component]
pub fn LayupOfStep(log: LogId, state: JobSignal, step: StepId) -> impl IntoView {
    let layup = of_job(state, move |state| {
        let id = laid_in(state, step)?;
        rows(state).into_iter().find(|row| row.id == id)
    });
    move || {
        layup.get().map(|row| {
            let href = Route::Layup(log.shop(), log.job().unwrap_or_default(), row.id);
            view! {
                <Section title="Plies to lay">
                    <ul class="lines">
                        <li>
                            <a class="line-link" href=format!("{href}#{ANCHOR}")>
                                <Glyph icon=Icon::Layers/>
                                <span class="grow"><strong>"Log of "{row.name}</strong><br/><span class="small muted">{row.standing}</span></span>
                            </a>
                        </li>
                    </ul>
                </Section>
            }
        })
    }
}
