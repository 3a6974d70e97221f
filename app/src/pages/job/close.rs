//! The job's end: closing, opening again, taking out of use.

use leptos::prelude::*;
use shared_types::body::{Known, The};
use shared_types::entity::Entity as _;
use shared_types::ids::LogId;
use shared_types::job::{Job, JobPatch, JobState};

use super::facts::{may_close, may_work};
use crate::clock;
use crate::entry::form::Form;
use crate::entry::{Subject, specs};
use crate::pages::parts::{JobSignal, of_job};
use crate::store::use_store;
use crate::ui::{Banner, Button, ButtonKind, Icon, Section, Sheet, Tone};
use crate::words;

/// Closing the job, opening it again, taking it out of use.
#[component]
pub fn Closing(log: LogId, state: JobSignal) -> impl IntoView {
    let store = use_store();
    let closed = of_job(state, |state| state.job.closed_at.or_empty());
    let statement = of_job(state, |state| state.job.closing_statement.or_empty().0);
    let retired = of_job(state, |state| state.job.is_retired());
    let open = RwSignal::new(false);
    let dispatch =
        move |set: JobPatch, done: &'static str| store.dispatch(log, vec![Known::Job(The { set })], done);
    view! {
        <Section title="Closing">
            {move || closed.get().map(|at| view! {
                <Banner tone=Tone::Good>
                    <p><strong>"Closed " {clock::moment(at)}</strong></p>
                    <p class="prewrap">{statement.get()}</p>
                </Banner>
            })}
            <div class="cluster">
                {move || (may_close(store, log) && closed.get().is_none()).then(|| view! {
                    <Button label="Close the job" icon=Icon::Lock on_press=move |()| open.set(true)/>
                })}
                {move || (may_close(store, log) && closed.get().is_some()).then(|| view! {
                    <Button label="Open it again" on_press=move |()| {
                        dispatch(JobPatch { closed_at: Some(None), ..JobPatch::default() }, "Job opened again");
                    }/>
                })}
                {move || may_work(store, log).then(|| {
                    let out = retired.get();
                    let (label, done) = if out { ("Take back into use", "Job taken back into use") } else { ("Take out of use", "Job taken out of use") };
                    view! {
                        <Button label kind=ButtonKind::Danger icon=Icon::Archive on_press=move |()| dispatch(Job::retirement(!out), done)/>
                    }
                })}
            </div>
            <Sheet title="Close the job" open>
                <CloseForm log state open/>
            </Sheet>
        </Section>
    }
}

#[component]
fn CloseForm(log: LogId, state: JobSignal, open: RwSignal<bool>) -> impl IntoView {
    let store = use_store();
    let unsettled = of_job(state, unsettled);
    let content =
        state.with_untracked(|state| state.here().map(|state| state.job.content()).unwrap_or_default());
    let subject = Subject { id: None, ..Subject::altered("job.v1", "", content) };
    let form = Form::new(log, specs::CLOSING, subject, "closing");
    let close = move || {
        let Ok(statement) = form.change() else { return };
        let at =
            Known::Job(The { set: JobPatch { closed_at: Some(Some(clock::now())), ..JobPatch::default() } });
        store.dispatch_then(log, statement.into_iter().chain([at]).collect(), "Job closed", move || {
            form.forget_draft();
            open.set(false);
        });
    };
    view! {
        <form class="stack" novalidate on:submit=move |event| {
            event.prevent_default();
            close();
        }>
            {move || (!unsettled.read().is_empty()).then(|| view! {
                <Banner tone=Tone::Bad>
                    <p><strong>{words::count(unsettled.read().len(), "step is", "steps are")} " not settled:"</strong></p>
                    <ul>{unsettled.get().into_iter().map(|step| view! { <li>{step}</li> }).collect_view()}</ul>
                    <p>"A closed job can be opened again, and the record shows that it was closed like this."</p>
                </Banner>
            })}
            {form.fields(Signal::default())}
            <div class="sheet-foot">
                <Button label="Close the job" kind=ButtonKind::Primary icon=Icon::Lock submit=true on_press=|()| ()/>
            </div>
        </form>
    }
}

/// Steps on which something is left to do, with where they stand.
fn unsettled(state: &JobState) -> Vec<String> {
    let steps = state.steps_in_order().into_iter().map(|(id, step)| (step, state.step_status(id)));
    let open = steps.filter(|(step, status)| {
        // A hold point wants an acceptance; being finished is not enough.
        !status.is_settled()
            || (step.hold_point.or_empty() && matches!(status, shared_types::status::StepStatus::Finished))
    });
    open.map(|(step, status)| format!("{} ({})", step.title.or_empty(), status.word())).collect()
}
