//! One step that waits, on one screen: what was done, shown and measured, and the decision.

use std::fmt::Display;
use std::sync::Arc;

use leptos::prelude::*;
use shared_types::coverage::on;
use shared_types::entities::Entities;
use shared_types::entity::Entity;
use shared_types::ids::{JobId, LogId, OfferId, ShopId, StepId, WorksheetId};
use shared_types::job::{JobState, Reading};
use shared_types::on_step::OnStep;
use shared_types::sorted;
use shared_types::status::{ReadingVerdict, StepStatus};
use shared_types::worksheet::Verdict;

use super::decide::Decide;
use super::photos::StepPhotos;
use super::since::{Since, SinceReturn};
use crate::chunks;
use crate::clock;
use crate::differences;
use crate::findings;
use crate::pages::job::JointsBeside;
use crate::pages::parts::talk::Talk;
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
    let only_changed = RwSignal::new(true);
    move || match state.get() {
        Loaded::Loading => view! { <Skeleton lines=5/> }.into_any(),
        Loaded::Failed(why) => view! { <Banner tone=Tone::Bad><p>{why}</p></Banner> }.into_any(),
        Loaded::Here(state) if state.steps.contains_key(&step) => {
            view! { <Inspected shop job step state only_changed/> }.into_any()
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
fn Inspected(
    shop: ShopId,
    job: JobId,
    step: StepId,
    state: Arc<JobState>,
    only_changed: RwSignal<bool>,
) -> impl IntoView {
    let store = use_store();
    let log = LogId::Job(shop, job);
    let Some(it) = state.steps.get(&step).cloned() else { return ().into_any() };
    let status = state.step_status(step);
    let over = format!("{} · {}", state.job.registration.or_empty(), state.job.title.or_empty());
    let since = Since::last_return(&state, step);
    let (offered, badge, decided) = (status.clone(), status.clone(), state.clone());
    let (returned, whole, told, held) = (since.clone(), state.clone(), state.clone(), state.clone());
    let shown = move || {
        let since = since.clone().filter(|it| only_changed.get() && it.shows_anything());
        view! { <Recorded log step state=whole.clone() since/> }
    };
    view! {
        <div class="stack">
            <Plate over=over title=it.title.or_empty().0>
                <div class="cluster">
                    {it.hold_point.or_empty().then(|| view! { <HoldPointMark/> })}
                    <StepBadge status=badge/>
                </div>
                <Offered shop state=told status=offered/>
            </Plate>
            <Unaccepted shop job step state=held/>
            {returned.map(|since| view! { <SinceReturn log state=state.clone() since only_changed/> })}
            {shown}
            <Talk log step state=store.job(shop, job)/>
            <Decide shop job step state=decided status/>
        </div>
    }
    .into_any()
}

/// What was recorded on the step: all of it, or what changed.
#[component]
fn Recorded(log: LogId, step: StepId, state: Arc<JobState>, since: Option<Since>) -> impl IntoView {
    let store = use_store();
    let sources = RecordSources {
        name: Arc::new(move |author| store.name_of(log.shop(), author)),
        photo: Arc::new(|_| ().into_any()),
        moment: clock::moment,
        today: clock::today(),
    };
    let job = store.job(log.shop(), log.job().unwrap_or_default());
    let readings = failing_first(picked(&state.readings, step, "reading", since.as_ref()));
    let notes = picked(&state.notes, step, "note", since.as_ref());
    let hardware = picked(&state.hardware, step, "hardware", since.as_ref());
    let materials = picked(&state.materials, step, "material", since.as_ref());
    let tools = picked(&state.tools, step, "tool-use", since.as_ref());
    let is_shown = |id: &&WorksheetId| since.as_ref().is_none_or(|since| since.has("worksheet", id));
    let sheets: Vec<_> =
        on(&state.worksheets, Some(step)).map(|(id, _)| id).filter(is_shown).copied().collect();
    let instruction = state.steps.get(&step).map(|it| it.instruction.or_empty().0);
    let none = if since.is_some() { "None that changed." } else { "None recorded." };
    let none = |is_so: bool| is_so.then(|| view! { <p class="muted">{none}</p> });
    let (no_readings, no_notes, no_sheets) =
        (none(readings.is_empty()), none(notes.is_empty()), none(sheets.is_empty()));
    let no_hardware = none(hardware.is_empty() && materials.is_empty() && tools.is_empty());
    let has_joints = state.joints_in_use().next().is_some();
    let registers = has_joints.then(|| chunks::registers(state.clone()));
    let (today, noted, seen) = (sources.today, sources.clone(), state.clone());
    view! {
        <div class="columns">
            <div class="stack">
                <StepPhotos log step state=seen since/>
            </div>
            <div class="stack record">
                <Section title="What was to be done"><p class="prewrap">{instruction}</p></Section>
                <JointsBeside log state=job/>
                {registers}
                <Section title="Readings">{no_readings}<ReadingTable readings moment=sources.moment/></Section>
                <Section title="Hardware and materials">
                    {no_hardware}
                    <HardwareTable hardware sources=sources.clone()/>
                    <MaterialTable materials sources/>
                    <ToolList tools today/>
                </Section>
                <Section title="Notes">{no_notes}<NoteList notes sources=noted/></Section>
                <Section title="Worksheets">
                    {no_sheets}
                    {sheets.into_iter().map(|sheet| view! { <SheetRecord state=state.clone() sheet/> }).collect_view()}
                </Section>
            </div>
        </div>
    }
}

/// What was recorded of one kind on a step: all of it, or what changed.
fn picked<I: Copy + Ord + Display, T: Entity>(
    all: &Entities<I, OnStep<T>>,
    step: StepId,
    kind: &str,
    since: Option<&Since>,
) -> Vec<T> {
    let is_shown = |id: I| since.is_none_or(|since| since.has(kind, id));
    on(all, Some(step)).filter(|(id, _)| is_shown(**id)).map(|(_, it)| it.clone()).collect()
}

/// A hold point ahead of this step that nobody accepted, overridden or not.
#[component]
fn Unaccepted(shop: ShopId, job: JobId, step: StepId, state: Arc<JobState>) -> impl IntoView {
    let store = use_store();
    let title = |step: StepId| state.steps.get(&step).map(|it| it.title.or_empty().0);
    let held = state.held_by(step).map(|holder| {
        let (address, title) = (Route::InspectStep(shop, job, holder).to_string(), title(holder));
        view! {
            <Banner tone=Tone::Close>
                <p><strong>"Offered although a hold point ahead is not accepted: "</strong><a href=address>{title}</a> "."</p>
            </Banner>
        }
    });
    let overridden = findings::overridden(&state, step).into_iter().map(|it| {
        let by = it.by.map(|mark| store.name_of(shop, mark.author));
        view! {
            <Banner tone=Tone::Close>
                <p><strong>"Hold point overridden by "{by}": "</strong>{it.hold_point}</p>
                <p class="prewrap">{it.reason}</p>
            </Banner>
        }
    });
    let overridden = overridden.collect_view();
    view! { {held}{overridden} }
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

/// Readings outside of their limits first, then those nobody can judge by number.
fn failing_first(mut readings: Vec<Reading>) -> Vec<Reading> {
    sorted::by_key(&mut readings, |reading| match reading.verdict() {
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
