//! What was recorded on a step that waits: all of it, or what changed.

use std::fmt::Display;
use std::sync::Arc;

use leptos::prelude::*;
use shared_types::coverage::on;
use shared_types::entities::Entities;
use shared_types::entity::Entity;
use shared_types::ids::{HoleId, LogId, StepId, WorksheetId};
use shared_types::job::{AnswerOutcome, JobState, Reading, Worksheet};
use shared_types::on_step::OnStep;
use shared_types::sorted;
use shared_types::status::ReadingVerdict;
use shared_types::worksheet::Verdict;

use super::photos::StepPhotos;
use super::register::{heads_of_the_part, sheets_of_the_part};
use super::since::Since;
use crate::chunks;
use crate::clock;
use crate::pages::job::{JointsBeside, LayupsBeside};
use crate::pages::parts::{JobSignal, items, of_job};
use crate::record::step::{HardwareTable, MaterialTable, NoteList, ReadingTable, SheetRecord, ToolList};
use crate::record::view::RecordSources;
use crate::store::{Loaded, use_store};
use crate::ui::Section;

/// What was recorded on the step: all of it, or what changed.
#[component]
pub fn Recorded(
    log: LogId,
    step: StepId,
    state: JobSignal,
    /// Only what changed since then, if given.
    since: Memo<Option<Since>>,
    /// The holes that findings point to.
    ringed: Memo<Vec<HoleId>>,
) -> impl IntoView {
    let instruction =
        of_job(state, move |state| state.steps.get(&step).map(|it| it.instruction.or_empty().0));
    let has_joints = of_job(state, |state| state.joints_in_use().next().is_some());
    view! {
        <div class="columns">
            <div class="stack">
                <StepPhotos log step state since/>
            </div>
            <div class="stack record">
                <Section title="What was to be done"><p class="prewrap">{move || instruction.get()}</p></Section>
                <JointsBeside log state/>
                {move || has_joints.get().then(|| chunks::registers(state, ringed))}
                <LayupsBeside log state/>
                <Lines log step state since/>
                <Worksheets step state since/>
            </div>
        </div>
    }
}

/// Readings, hardware and materials, notes.
#[component]
fn Lines(log: LogId, step: StepId, state: JobSignal, since: Memo<Option<Since>>) -> impl IntoView {
    let store = use_store();
    let sources = RecordSources {
        name: Arc::new(move |author| store.name_of(log.shop(), author)),
        photo: Arc::new(|_| ().into_any()),
        moment: clock::moment,
        today: clock::today(),
    };
    let readings = picked(state, step, |state| &state.readings, "reading", since);
    let readings = Memo::new(move |_| failing_first(readings.get()));
    let notes = picked(state, step, |state| &state.notes, "note", since);
    let hardware = picked(state, step, |state| &state.hardware, "hardware", since);
    let materials = picked(state, step, |state| &state.materials, "material", since);
    let tools = picked(state, step, |state| &state.tools, "tool-use", since);
    let (today, of_hardware, of_materials) = (sources.today, sources.clone(), sources.clone());
    let no_hardware = Signal::derive(move || {
        hardware.read().is_empty() && materials.read().is_empty() && tools.read().is_empty()
    });
    view! {
        <Section title="Readings">
            <Nothing is_so=Signal::derive(move || readings.read().is_empty()) since/>
            {move || view! { <ReadingTable readings=readings.get() moment=clock::moment/> }}
        </Section>
        <Section title="Hardware and materials">
            <Nothing is_so=no_hardware since/>
            {move || view! { <HardwareTable hardware=hardware.get() sources=of_hardware.clone()/> }}
            {move || view! { <MaterialTable materials=materials.get() sources=of_materials.clone()/> }}
            {move || view! { <ToolList tools=tools.get() today/> }}
        </Section>
        <Section title="Notes">
            <Nothing is_so=Signal::derive(move || notes.read().is_empty()) since/>
            {move || view! { <NoteList notes=notes.get() sources=sources.clone()/> }}
        </Section>
    }
}

/// Says that a section is empty.
#[component]
fn Nothing(is_so: Signal<bool>, since: Memo<Option<Since>>) -> impl IntoView {
    move || {
        let words = if since.with(Option::is_some) { "None that changed." } else { "None recorded." };
        is_so.get().then(|| view! { <p class="muted">{words}</p> })
    }
}

/// A worksheet with its answer: what is shown anew when it is asked or answered again.
type Sheet = (WorksheetId, Worksheet, Option<AnswerOutcome>);

fn sheets(state: &JobState, ids: impl IntoIterator<Item = WorksheetId>) -> Vec<Sheet> {
    let one =
        |id: WorksheetId| Some((id, state.worksheets.get(&id)?.it.clone(), state.answer_to(id).cloned()));
    ids.into_iter().filter_map(one).collect()
}

/// The step's own worksheets, and those of the joints and layups, which stand on no step.
#[component]
fn Worksheets(step: StepId, state: JobSignal, since: Memo<Option<Since>>) -> impl IntoView {
    let own = of_job(state, move |state| {
        let own = on(&state.worksheets, Some(step)).map(|(id, _)| *id);
        let is_shown =
            |id: &WorksheetId| since.with(|it| it.as_ref().is_none_or(|it| it.has("worksheet", id)));
        sheets(state, own.filter(is_shown))
    });
    let of_part = move |ids: fn(&JobState) -> Vec<WorksheetId>| {
        of_job(state, move |state| {
            let is_shown = |id: &WorksheetId| since.with(|it| it.as_ref().is_none_or(|it| it.has_sheet(*id)));
            sheets(state, ids(state).into_iter().filter(is_shown))
        })
    };
    let (parts, heads) = (of_part(sheets_of_the_part), of_part(heads_of_the_part));
    let none = move || own.read().is_empty() && parts.read().is_empty() && heads.read().is_empty();
    view! {
        <Section title="Worksheets">
            <Nothing is_so=Signal::derive(none) since/>
            <Worked title="Of this step" state all=own/>
            <Folded title="Of joints and layups" state all=parts/>
            <Folded title="Of driven heads" state all=heads/>
        </Section>
    }
}

/// Worksheets of the whole part: their working is longer than the step's own, so each opens when it is asked for.
#[component]
fn Folded(title: &'static str, state: JobSignal, all: Memo<Vec<Sheet>>) -> impl IntoView {
    move || {
        (!all.read().is_empty()).then(|| {
            let one = move |it: Sheet| {
                let called = it.1.title.or_empty().0;
                let all = Memo::new(move |_| vec![it.clone()]);
                let open = RwSignal::new(false);
                view! {
                    <details class="instruction" on:toggle=move |_| open.set(true)>
                        <summary>{called}</summary>
                        {move || open.get().then(|| view! { <Worked title="" state all/> })}
                    </details>
                }
            };
            view! { <h3>{title}</h3>{all.get().into_iter().map(one).collect_view()} }
        })
    }
}

/// Worksheets with their working; nothing when there are none.
#[component]
fn Worked(title: &'static str, state: JobSignal, all: Memo<Vec<Sheet>>) -> impl IntoView {
    let one = move |(sheet, ..): Sheet| match state.get_untracked() {
        Loaded::Here(state) => view! { <SheetRecord state sheet/> }.into_any(),
        _ => ().into_any(),
    };
    move || {
        (!all.read().is_empty()).then(|| {
            let title = (!title.is_empty()).then(|| view! { <h3>{title}</h3> });
            view! { {title}{all.get().into_iter().map(one).collect_view()} }
        })
    }
}

/// What was recorded of one kind on a step: all of it, or what changed.
fn picked<I, T>(
    state: JobSignal,
    step: StepId,
    of: fn(&JobState) -> &Entities<I, OnStep<T>>,
    kind: &'static str,
    since: Memo<Option<Since>>,
) -> Memo<Vec<T>>
where
    I: Copy + Ord + Display + Send + Sync + 'static,
    T: Entity + Send + Sync + 'static,
{
    let all = items(state, Some(step), of);
    Memo::new(move |_| {
        let is_shown = |id: I| since.with(|since| since.as_ref().is_none_or(|since| since.has(kind, id)));
        all.with(|all| all.iter().filter(|(id, _)| is_shown(*id)).map(|(_, it)| it.clone()).collect())
    })
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
