//! One step that waits, on one screen: what was done, shown and measured, and the decision.

use std::sync::Arc;

use leptos::prelude::*;
use shared_types::coverage::on;
use shared_types::entity::Entity as _;
use shared_types::ids::{JobId, LogId, OfferId, ShopId, StepId};
use shared_types::job::{JobState, Outcome, Reading};
use shared_types::status::{ReadingVerdict, StepStatus};
use shared_types::worksheet::Verdict;

use super::decide::Decide;
use super::photos::StepPhotos;
use crate::clock;
use crate::differences;
use crate::pages::job::JointsBeside;
use crate::record::step::{HardwareTable, MaterialTable, NoteList, ReadingTable, SheetRecord, ToolList};
use crate::record::view::RecordSources;
use crate::routes::Route;
use crate::store::{Loaded, use_store};
use crate::ui::{
    Banner, EmptyState, HoldPointMark, Icon, LinkButton, Plate, Section, Skeleton, StepBadge, Tone,
};

/// One step that waits.
#[component]
pub fn InspectStepPage(shop: ShopId, job: JobId, step: StepId) -> impl IntoView {
    let store = use_store();
    let state = store.job(shop, job);
    move || match state.get() {
        Loaded::Loading => view! { <Skeleton lines=5/> }.into_any(),
        Loaded::Failed(why) => view! { <Banner tone=Tone::Bad><p>{why}</p></Banner> }.into_any(),
        Loaded::Here(state) if state.steps.contains_key(&step) => {
            view! { <Inspected shop job step state/> }.into_any()
        }
        Loaded::Absent | Loaded::Here(_) => view! {
            <EmptyState icon=Icon::Inspect title="This step is not on this device">
                <p>"It is fetched as soon as there is a connection, if you are a member of its shop."</p>
                <LinkButton label="What waits" href=Route::Inspect.to_string()/>
            </EmptyState>
        }
        .into_any(),
    }
}

#[component]
fn Inspected(shop: ShopId, job: JobId, step: StepId, state: Arc<JobState>) -> impl IntoView {
    let store = use_store();
    let Some(it) = state.steps.get(&step).cloned() else { return ().into_any() };
    let status = state.step_status(step);
    let over = format!("{} · {}", state.job.registration.or_empty(), state.job.title.or_empty());
    let sources = RecordSources {
        name: Arc::new(move |author| store.name_of(shop, author)),
        photo: Arc::new(|_| ().into_any()),
        moment: clock::moment,
        today: clock::today(),
    };
    let id = Some(step);
    let notes: Vec<_> = on(&state.notes, id).map(|(_, it)| it.clone()).collect();
    let readings = failing_first(on(&state.readings, id).map(|(_, it)| it.clone()).collect());
    let hardware: Vec<_> = on(&state.hardware, id).map(|(_, it)| it.clone()).collect();
    let materials: Vec<_> = on(&state.materials, id).map(|(_, it)| it.clone()).collect();
    let tools: Vec<_> = on(&state.tools, id).map(|(_, it)| it.clone()).collect();
    let sheets: Vec<_> = on(&state.worksheets, id).map(|(id, _)| *id).collect();
    let (shown, noted, seen, decided) = (state.clone(), sources.clone(), state.clone(), state.clone());
    let (offered, badge) = (status.clone(), status.clone());
    let today = sources.today;
    let instruction = it.instruction.or_empty().0;
    let none = |is_so: bool| is_so.then(|| view! { <p class="muted">"None recorded."</p> });
    let (no_readings, no_notes, no_sheets) =
        (none(readings.is_empty()), none(notes.is_empty()), none(sheets.is_empty()));
    let no_hardware = none(hardware.is_empty() && materials.is_empty() && tools.is_empty());
    view! {
        <div class="stack">
            <Plate over=over title=it.title.or_empty().0>
                <div class="cluster">
                    {it.hold_point.or_empty().then(|| view! { <HoldPointMark/> })}
                    <StepBadge status=badge/>
                </div>
                <Offered shop state=state.clone() status=offered/>
            </Plate>
            <SinceReturn step state=seen.clone()/>
            <div class="columns">
                <div class="stack">
                    <StepPhotos log=LogId::Job(shop, job) step state=seen/>
                </div>
                <div class="stack record">
                    <Section title="What was to be done"><p class="prewrap">{instruction}</p></Section>
                    <JointsBeside log=LogId::Job(shop, job) state=store.job(shop, job)/>
                    <Section title="Readings">{no_readings}<ReadingTable readings/></Section>
                    <Section title="Hardware and materials">
                        {no_hardware}
                        <HardwareTable hardware sources=sources.clone()/>
                        <MaterialTable materials sources/>
                        <ToolList tools today/>
                    </Section>
                    <Section title="Notes">{no_notes}<NoteList notes sources=noted/></Section>
                    <Section title="Worksheets">
                        {no_sheets}
                        {sheets.into_iter().map(|sheet| view! { <SheetRecord state=shown.clone() sheet/> }).collect_view()}
                    </Section>
                </div>
            </div>
            <Decide shop job step state=decided status/>
        </div>
    }
    .into_any()
}

/// Who offered it, when, and what they said; what changed since.
#[component]
fn Offered(shop: ShopId, state: Arc<JobState>, status: StepStatus) -> impl IntoView {
    let store = use_store();
    let StepStatus::Offered { offer, since } = status else { return ().into_any() };
    let Some(it) = state.offers.get(&offer).map(|offer| offer.it.clone()) else { return ().into_any() };
    let by = it.created().map(|mark| {
        format!("Offered by {}, {}", store.name_of(shop, mark.author), clock::moment(mark.stamp.0))
    });
    let changed: Vec<_> = since.iter().map(|it| differences::difference(&state, it)).collect();
    view! {
        <p>{by}</p>
        <p class="prewrap">{it.note.or_empty().0}</p>
        {(!changed.is_empty()).then(|| view! {
            <Banner tone=Tone::Close><p><strong>"Changed since it was offered: "</strong>{changed.join("; ")}</p></Banner>
        })}
    }
    .into_any()
}

/// What changed since the last return, with its findings and answers.
#[component]
fn SinceReturn(step: StepId, state: Arc<JobState>) -> impl IntoView {
    let last = on(&state.decisions, Some(step))
        .filter(|(_, it)| it.outcome.or_empty() == Outcome::Return)
        .max_by_key(|(_, it)| it.created().copied());
    let (id, decision) = last?;
    let changed = decision.coverage.or_empty().differences(&state.step_coverage(step));
    let changed: Vec<_> = changed.iter().map(|it| differences::difference(&state, it)).collect();
    let findings: Vec<_> =
        state.findings_of(*id).map(|(_, it)| (it.text.or_empty(), it.answer.or_empty())).collect();
    Some(view! {
        <Section title="Since it was returned">
            <ul class="lines">
                {findings.into_iter().map(|(text, answer)| view! {
                    <li>
                        <p><strong>"Finding: "</strong>{text.0}</p>
                        <p>{if answer.is_empty() { "not answered yet".to_owned() } else { format!("Answer: {answer}") }}</p>
                    </li>
                }).collect_view()}
            </ul>
            <p>{if changed.is_empty() { "Nothing changed since then.".to_owned() } else { format!("Changed: {}.", changed.join("; ")) }}</p>
        </Section>
    })
}

/// Readings outside of their limits first, then those nobody can judge by number.
fn failing_first(mut readings: Vec<Reading>) -> Vec<Reading> {
    readings.sort_by_key(|reading| match reading.verdict() {
        ReadingVerdict::Judged { verdict: Verdict::Outside, .. } => 0,
        ReadingVerdict::Unreadable(_) => 1,
        ReadingVerdict::Judged { verdict: Verdict::TooClose, .. } => 2,
        ReadingVerdict::Empty | ReadingVerdict::NoLimits => 3,
        ReadingVerdict::Judged { verdict: Verdict::Within, .. } => 4,
    });
    readings
}

/// The offer that waits, if one does.
#[must_use]
pub fn open_offer(status: &StepStatus) -> Option<OfferId> {
    match status {
        StepStatus::Offered { offer, .. } => Some(*offer),
        _ => None,
    }
}
