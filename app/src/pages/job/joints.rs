//! The job's joints: each leads to its hole register.

use leptos::prelude::*;
use shared_types::ids::{JointId, LogId};
use shared_types::job::JobState;
use shared_types::joint::{Found, Hole, HoleResult, Joint};

use super::facts::may_work;
use crate::entry::form::EntrySheet;
use crate::entry::{Subject, specs};
use crate::pages::parts::{JobSignal, of_job};
use crate::routes::Route;
use crate::store::use_store;
use crate::ui::{Badge, Button, ButtonKind, EmptyState, Glyph, Icon, Section, Shape, Tone};
use crate::words;

/// A joint in the list.
#[derive(Clone, Debug, PartialEq)]
struct Row {
    id: JointId,
    name: String,
    holes: usize,
    looked_at: usize,
    decided: usize,
    failed: usize,
}

fn rows(state: &JobState) -> Vec<Row> {
    let row = |(id, joint): (JointId, &Joint)| {
        let holes = state.holes_of(id);
        let count = |wanted: &dyn Fn(&Hole) -> bool| holes.iter().filter(|(_, hole)| wanted(hole)).count();
        Row {
            id,
            name: joint.title(),
            holes: holes.len(),
            looked_at: count(&|hole| hole.found.or_empty() != Found::NotLookedAt),
            decided: count(&Hole::is_decided),
            failed: count(&|hole| hole.result.or_empty() == HoleResult::Fail),
        }
    };
    state.joints_in_use().map(row).collect()
}

/// The joints, and the way to a new one.
#[component]
pub fn Joints(log: LogId, state: JobSignal) -> impl IntoView {
    let store = use_store();
    let rows = of_job(state, rows);
    let open = RwSignal::new(false);
    let may = may_work(store, log);
    let subject = move |()| Subject::new("joint.v1", store.uuid());
    view! {
        <Section title="Joints" end=move || may.then(|| view! {
            <Button label="Add a joint" kind=ButtonKind::Quiet icon=Icon::Add on_press=move |()| open.set(true)/>
        })>
            {move || {
                let rows = rows.get();
                if rows.is_empty() {
                    return view! {
                        <EmptyState icon=Icon::Layers title="No joints yet">
                            <p>"A joint is a row of fasteners with the layers it holds. Add one, number its holes as they are marked on the part, and say hole by hole what was found, what is done and how it came out."</p>
                        </EmptyState>
                    }.into_any();
                }
                view! { <ul class="lines">{rows.into_iter().map(|row| view! { <Listed log row/> }).collect_view()}</ul> }.into_any()
            }}
            <EntrySheet title="Add a joint" open log specs=specs::JOINT subject draft="joint/new" done="Joint added"/>
        </Section>
    }
}

/// The joints beside a step: the register is kept while steps are worked on. Nothing while there is none.
#[component]
pub fn JointsBeside(log: LogId, state: JobSignal) -> impl IntoView {
    let rows = of_job(state, rows);
    move || {
        let rows = rows.get();
        (!rows.is_empty()).then(|| {
            view! {
                <Section title="Joints">
                    <ul class="lines">{rows.into_iter().map(|row| view! { <Listed log row/> }).collect_view()}</ul>
                </Section>
            }
        })
    }
}

#[component]
fn Listed(log: LogId, row: Row) -> impl IntoView {
    let href = Route::Joint(log.shop(), log.job().unwrap_or_default(), row.id).to_string();
    let standing = if row.holes == 0 {
        "no holes yet".to_owned()
    } else {
        format!(
            "{}, {} looked at, {} decided",
            words::count(row.holes, "hole", "holes"),
            row.looked_at,
            row.decided
        )
    };
    view! {
        <li>
            <a class="line-link" href=href>
                <Glyph icon=Icon::Layers/>
                <span class="grow"><strong>{row.name}</strong><br/><span class="small muted">{standing}</span></span>
                {(row.failed > 0).then(|| view! {
                    <Badge word=format!("{} failed", row.failed) shape=Shape::Cross tone=Tone::Bad/>
                })}
            </a>
        </li>
    }
}
