//! What the inspector wants put right, each finding with what answers it: words, photos, readings.

use leptos::prelude::*;
use shared_types::body::{Known, OnStep};
use shared_types::entity::Entity as _;
use shared_types::ids::{DecisionId, FindingId, ReadingId};
use shared_types::job::{Finding, JobState, Moment};
use shared_types::review::{Proof, ProofPatch, proof_id};

use super::Place;
use crate::clock;
use crate::entry::form::Form;
use crate::entry::{Subject, specs};
use crate::pages::parts::photos::take_in;
use crate::pages::parts::pinned::{Pinned, pointed};
use crate::pages::parts::{items, of_job};
use crate::store::{Shot, use_store};
use crate::ui::{Banner, Button, CameraButton, Icon, Tone};
use crate::words::count;

/// Sent back: who, why, and the findings.
#[component]
pub fn Returned(place: Place, decision: DecisionId) -> impl IntoView {
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
    let photos = of_job(place.state, move |state| state.photos_answering(id).count());
    let at = of_job(place.state, move |state| pointed(state, id));
    view! {
        <li class="card" data-tone="bad">
            <p class="prewrap"><strong>{finding.text.or_empty().0}</strong></p>
            {move || view! { <Pinned log=place.log at=at.get()/> }}
            {move || (photos.get() > 0).then(|| view! {
                <p class="small">{count(photos.get(), "photo answers", "photos answer")} " this"</p>
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
                <ReadingsThatAnswer place finding=id/>
            })}
        </li>
    }
}

/// The step's readings: those that show how the finding was put right are ticked.
#[component]
fn ReadingsThatAnswer(place: Place, finding: FindingId) -> impl IntoView {
    let store = use_store();
    let readings = items(place.state, Some(place.step), |state: &JobState| &state.readings);
    let proofs =
        of_job(place.state, move |state| state.proofs_of(finding).map(|(id, _)| id).collect::<Vec<_>>());
    let toggle = move |reading: ReadingId, answers: bool| {
        let set = if answers {
            ProofPatch { finding: Some(finding), reading: Some(reading), retired: Some(false) }
        } else {
            Proof::retirement(true)
        };
        let body = OnStep { id: proof_id(finding, reading), step: Some(place.step), set };
        let done =
            if answers { "Reading answers the finding" } else { "Reading no longer answers the finding" };
        store.dispatch(place.log, vec![Known::Proof(body)], done);
    };
    move || {
        let all = readings.get();
        (!all.is_empty()).then(|| view! {
            <fieldset class="field">
                <legend>"Readings that answer this"</legend>
                {all.into_iter().map(|(id, it)| view! {
                    <label class="tick">
                        <input
                            type="checkbox"
                            prop:checked=move || proofs.read().contains(&id)
                            on:change=move |event| toggle(id, event_target_checked(&event))
                        />
                        <span>{it.label.or_empty().0} " " <span class="figures">{format!("{} {}", it.value.or_empty(), it.unit.or_empty())}</span></span>
                    </label>
                }).collect_view()}
            </fieldset>
        })
    }
}
