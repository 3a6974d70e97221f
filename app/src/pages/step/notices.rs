//! What must be known before work goes on: held back, sent back, altered since somebody looked.

use leptos::prelude::*;
use shared_types::entity::Entity as _;
use shared_types::ids::{DecisionId, FindingId, StepId};
use shared_types::job::{Finding, Moment};
use shared_types::status::StepStatus;

use super::Place;
use crate::clock;
use crate::differences::difference;
use crate::entry::form::Form;
use crate::entry::{Subject, specs};
use crate::pages::parts::of_job;
use crate::pages::parts::photos::take_in;
use crate::routes::Route;
use crate::store::{Shot, use_store};
use crate::ui::{Banner, Button, CameraButton, Icon, Tone};

/// The notices of a step.
#[component]
pub fn Notices(place: Place) -> impl IntoView {
    let step = place.step;
    let held = of_job(place.state, move |state| {
        let holder = state.held_by(step).filter(|_| !state.step_status(step).is_settled())?;
        Some((holder, state.steps.get(&holder).map(|it| it.title.or_empty().0).unwrap_or_default()))
    });
    let returned = of_job(place.state, move |state| match state.step_status(step) {
        StepStatus::Returned { decision } => Some(decision),
        _ => None,
    });
    let since = of_job(place.state, move |state| {
        let (accepted, since) = match state.step_status(step) {
            StepStatus::Accepted { since, .. } => (true, since),
            StepStatus::Offered { since, .. } => (false, since),
            _ => return (false, Vec::new()),
        };
        (accepted, since.iter().map(|it| difference(state, it)).collect::<Vec<_>>())
    });
    view! {
        {move || held.get().map(|(holder, title)| view! { <Held place holder title/> })}
        {move || returned.get().map(|decision| view! { <Returned place decision/> })}
        {move || {
            let (accepted, since) = since.get();
            (!since.is_empty()).then(|| view! { <Altered accepted since/> })
        }}
    }
}

#[component]
fn Held(place: Place, holder: StepId, title: String) -> impl IntoView {
    view! {
        <Banner tone=Tone::Close icon=Icon::Lock>
            <p><strong>"Held back."</strong> " The hold point ahead must be accepted before this step starts: "
                <a href=Route::Step(place.shop, place.job, holder).to_string()>{title}</a> "."
            </p>
            <p class="small">"Photos and notes can be recorded meanwhile."</p>
        </Banner>
    }
}

/// Content changed after somebody looked at it: said, with what changed.
#[component]
fn Altered(accepted: bool, since: Vec<String>) -> impl IntoView {
    let head = if accepted {
        "The acceptance is overtaken: the step was altered after it. Offer it again, or take the changes back."
    } else {
        "Altered since it was offered. The inspector sees this too."
    };
    view! {
        <Banner tone=if accepted { Tone::Close } else { Tone::Blue }>
            <p><strong>{head}</strong></p>
            <ul>{since.into_iter().map(|it| view! { <li>{it}</li> }).collect_view()}</ul>
        </Banner>
    }
}

/// Sent back: what the inspector wants put right, each finding with its answer.
#[component]
fn Returned(place: Place, decision: DecisionId) -> impl IntoView {
    let store = use_store();
    let remark = of_job(place.state, move |state| {
        let it = state.decisions.get(&decision).map(|it| &it.it)?;
        let mark = *it.created()?;
        Some((it.remark.or_empty().0, store.name_of(place.shop, mark.author), clock::moment(mark.stamp.0)))
    });
    let findings = of_job(place.state, move |state| {
        state.findings_of(decision).map(|(id, it)| (id, it.clone())).collect::<Vec<_>>()
    });
    view! {
        <Banner tone=Tone::Bad icon=Icon::Return>
            {move || remark.get().map(|(remark, by, at)| view! {
                <p><strong>"Returned by " {by} ", " {at}</strong></p>
                <p class="prewrap">{remark}</p>
            })}
        </Banner>
        <ol class="findings">
            <For each=move || findings.get() key=|(id, it)| (*id, it.text.or_empty(), it.answer.or_empty()) let:it>
                <Answer place id=it.0 finding=it.1/>
            </For>
        </ol>
    }
}

#[component]
fn Answer(place: Place, id: FindingId, finding: Finding) -> impl IntoView {
    let store = use_store();
    let step = place.step;
    let subject = Subject::altered("finding.v1", id, finding.content()).on(Some(step));
    let form = Form::new(place.log, specs::ANSWER, subject, &format!("finding/{id}"));
    let shot = Shot {
        log: place.log,
        step: Some(step),
        moment: Moment::After,
        answers: Some(id),
        attached_to: None,
    };
    let photos = of_job(place.state, move |state| {
        state.photos.values().filter(|it| !it.it.is_retired() && it.it.answers.or_empty() == Some(id)).count()
    });
    view! {
        <li class="card" data-tone="bad">
            <p class="prewrap"><strong>{finding.text.or_empty().0}</strong></p>
            {move || (photos.get() > 0).then(|| view! {
                <p class="small">{crate::words::count(photos.get(), "photo answers", "photos answer")} " this"</p>
            })}
            {place.may_work.then(|| view! {
                <form class="stack stack--tight" novalidate on:submit=move |event| {
                    event.prevent_default();
                    form.save(place.log, "Finding answered".to_owned(), || ());
                }>
                    {form.fields(Signal::default())}
                    <div class="cluster">
                        <Button label="Save the answer" submit=true icon=Icon::Check on_press=|()| ()/>
                    </div>
                </form>
                <CameraButton label="Photograph what you did" on_files=move |event| take_in(store, shot, &event)/>
            })}
        </li>
    }
}
