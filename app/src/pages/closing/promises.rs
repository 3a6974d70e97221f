//! What was promised to be looked at again: added, altered, kept, taken out.

use leptos::prelude::*;
use shared_types::body::{Known, On};
use shared_types::check::Problem;
use shared_types::closing::{Promise, PromisePatch};
use shared_types::entity::Entity as _;
use shared_types::ids::{LogId, PromiseId};
use shared_types::job::JobState;
use shared_types::time::Day;

use super::hours_of;
use crate::clock;
use crate::entry::form::{EntrySheet, Form};
use crate::entry::{Subject, specs};
use crate::pages::parts::{JobSignal, of_job};
use crate::store::use_store;
use crate::ui::{Badge, Button, ButtonKind, Icon, Section, Shape, Tone};

fn in_use(state: &JobState) -> Vec<(PromiseId, Promise)> {
    state.promises_in_use().map(|(id, it)| (id, it.clone())).collect()
}

/// The promises of a job.
#[component]
pub fn Promises(log: LogId, state: JobSignal) -> impl IntoView {
    let store = use_store();
    let all = of_job(state, in_use);
    let may = store.may(log, Known::Promise(On { id: PromiseId::default(), set: PromisePatch::default() }));
    let hours = hours_of(store, log, state);
    let (open, keeping) = (RwSignal::new(false), RwSignal::new(false));
    let chosen = RwSignal::new(None::<PromiseId>);
    let show = move |sheet: RwSignal<bool>, id: Option<PromiseId>| {
        chosen.set(id);
        sheet.set(true);
    };
    let subject = move |()| match chosen.get_untracked() {
        None => Subject::new("promise.v1", store.uuid()),
        Some(id) => {
            let content =
                all.with_untracked(|all| all.iter().find(|(it, _)| *it == id).map(|(_, it)| it.content()));
            Subject::altered("promise.v1", id, content.unwrap_or_default())
        }
    };
    let draft = move |of: &'static str| {
        Signal::derive(move || chosen.get().map_or_else(|| of.to_owned(), |id| format!("{of}/{id}")))
    };
    view! {
        <Section title="To be looked at again" end=move || may.then(|| view! {
            <Button label="Add" kind=ButtonKind::Quiet icon=Icon::Add on_press=move |()| show(open, None)/>
        })>
            {move || all.read().is_empty().then(|| view! {
                <p class="muted">"Nothing was promised. Write down what must be checked after some hours or by some day."</p>
            })}
            <ul class="lines">
                {move || all.get().into_iter().map(|(id, it)| view! {
                    <Line log id it may hours on_edit=move |()| show(open, Some(id)) on_keep=move |()| show(keeping, Some(id))/>
                }).collect_view()}
            </ul>
            <EntrySheet
                title="To be looked at again" open log specs=specs::PROMISE subject draft=draft("promise")
                done="Promise saved" check=is_due_some_time
            />
            <EntrySheet
                title="It was looked at" open=keeping log specs=specs::KEPT subject draft=draft("kept")
                done="Promise kept" check=is_kept
            />
        </Section>
    }
}

#[component]
fn Line(
    log: LogId,
    id: PromiseId,
    it: Promise,
    may: bool,
    hours: Signal<Option<f64>>,
    #[prop(into)] on_edit: Callback<()>,
    #[prop(into)] on_keep: Callback<()>,
) -> impl IntoView {
    let store = use_store();
    let take_out = move |()| {
        store.dispatch(
            log,
            vec![Known::Promise(On { id, set: Promise::retirement(true) })],
            "Promise taken out",
        );
    };
    let kept = it.kept_on.or_empty();
    let note = it.kept_note.or_empty().0;
    let (when, due_by, due_at) = (it.when(), it.due.or_empty(), it.due_hours.or_empty());
    view! {
        <li class="stack stack--tight">
            <div class="spread">
                <span class="grow"><strong>{it.what.or_empty().0}</strong><br/><span class="small">{when}</span></span>
                {move || {
                    let due = due_by.is_some_and(|day| day <= clock::today())
                        || due_at.zip(hours.get()).is_some_and(|(due, now)| due <= now);
                    view! { <Standing kept due/> }
                }}
            </div>
            {kept.map(|day| view! { <p class="small">"Looked at on " {clock::day(day)} ". " <span class="prewrap">{note}</span></p> })}
            {may.then(|| view! {
                <div class="cluster">
                    {kept.is_none().then(|| view! { <Button label="It was looked at" icon=Icon::Check on_press=on_keep/> })}
                    {kept.is_some().then(|| view! { <Button label="Alter what was seen" kind=ButtonKind::Quiet icon=Icon::Edit on_press=on_keep/> })}
                    <Button label="Edit promise" icon_only=true kind=ButtonKind::Quiet icon=Icon::Edit on_press=on_edit/>
                    <Button label="Take promise out" icon_only=true kind=ButtonKind::Quiet icon=Icon::Archive on_press=take_out/>
                </div>
            })}
        </li>
    }
}

/// Where a promise stands, as a word and a shape.
#[component]
pub fn Standing(kept: Option<Day>, due: bool) -> impl IntoView {
    let (word, shape, tone) = match (kept, due) {
        (Some(_), _) => ("kept", Shape::Tick, Tone::Good),
        (None, true) => ("due", Shape::Hold, Tone::Bad),
        (None, false) => ("open", Shape::Ring, Tone::Plain),
    };
    view! { <Badge word shape tone/> }
}

fn is_due_some_time(form: Form) -> bool {
    let empty = |field: &str| form.text(field).read_untracked().trim().is_empty();
    if empty("what") {
        form.object(Problem::new("what", "is empty", "what is to be looked at"));
        return false;
    }
    if empty("due") && empty("due_hours") {
        form.object(Problem::new("due", "and hours are both empty", "a day, airframe hours, or both"));
        return false;
    }
    true
}

fn is_kept(form: Form) -> bool {
    let empty = form.text("kept_on").read_untracked().trim().is_empty();
    let said = !form.text("kept_note").read_untracked().trim().is_empty();
    // Both emptied takes it back: it is open again.
    if empty && said {
        form.object(Problem::new("kept_on", "is empty", "the day it was looked at"));
    }
    !(empty && said)
}
