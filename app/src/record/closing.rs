//! What closes a job, in the record: weight and balance, the entry, major or minor, what is to be looked at again.

use std::sync::Arc;

use leptos::prelude::*;
use shared_types::closing::{Entry, Extent, Promise, Screened, Screening};
use shared_types::ids::WorksheetId;
use shared_types::job::{AnswerOutcome, JobState, Worksheet};
use shared_types::screening::{answer_words, work};
use shared_types::worksheet::{Quantity, Verdict, WorksheetResult};

use super::sheets;
use super::view::RecordSources;
use crate::ui::{Badge, Section, Shape, Tone, VerdictBadge, quantity_text};

/// The kind of worksheet that changes weight and balance.
pub const WEIGHT_BALANCE: &str = "weight-balance";

/// Stands above every entry: it is a draft until a person signs the aircraft's own record.
pub const ENTRY_NOTE: &str =
    "As drafted in this job. What counts is the signed entry in the aircraft's own record.";

/// Who decided between major and minor: `Minor repair, decided by NAME, CERTIFICATE`. What was screened before it
/// was asked is called a repair.
#[must_use]
pub fn decided(screening: &Screening) -> String {
    let extent = match screening.extent.or_empty() {
        Extent::Open => return "Nobody has decided.".to_owned(),
        Extent::Minor => "Minor",
        Extent::Major => "Major",
    };
    let by = [screening.decided_by.or_empty().0, screening.certificate.or_empty().0];
    let by = by.into_iter().filter(|part| !part.trim().is_empty()).collect::<Vec<_>>().join(", ");
    format!("{extent} {}, decided by {by}", work(screening).unwrap_or("repair"))
}

/// A promise's end: `looked at on 2027-06-20: no cracks`, or that it is open.
#[must_use]
pub fn kept(promise: &Promise) -> String {
    let Some(day) = promise.kept_on.or_empty() else { return "open".to_owned() };
    let note = promise.kept_note.or_empty();
    if note.is_empty() { format!("looked at on {day}") } else { format!("looked at on {day}: {note}") }
}

/// A worksheet that changes weight and balance: what it is called, what came of it.
#[derive(Clone, Debug, PartialEq)]
pub struct BalanceChange {
    /// For what.
    pub title: String,
    /// Names and values; none while the server has not worked it out.
    pub figures: Vec<(&'static str, String)>,
    /// Against the limits that were entered, if any were.
    pub verdict: Option<Verdict>,
}

/// A quantity of a worksheet's result as people read it.
#[must_use]
pub fn output(result: &WorksheetResult, name: &str) -> Option<String> {
    let quantity: Quantity = serde_json::from_value(result.outputs.get(name)?.clone()).ok()?;
    Some(quantity_text(&quantity))
}

/// The weight-and-balance worksheets in use.
#[must_use]
pub fn balance_changes(state: &JobState) -> Vec<BalanceChange> {
    const NAMES: [(&str, &str); 6] = [
        ("New empty weight", "weight"),
        ("New centre of gravity", "arm"),
        ("New moment", "moment"),
        ("Change of weight", "weight_change"),
        ("Change of the centre of gravity", "arm_change"),
        ("Change of moment", "moment_change"),
    ];
    // In the order of the appendix, which has their working.
    let sheets = sheets::all(state).into_iter();
    let sheets = sheets.filter_map(|id| Some((id, &state.worksheets.get(&id)?.it)));
    let of_kind = sheets.filter(|(_, it)| it.kind.or_empty().0 == WEIGHT_BALANCE);
    let change = |(id, it): (WorksheetId, &Worksheet)| {
        let title = it.title.or_empty().0;
        let Some(AnswerOutcome::Result(result)) = state.answer_to(id) else {
            return BalanceChange { title, figures: Vec::new(), verdict: None };
        };
        let figures = NAMES.into_iter().filter_map(|(name, key)| Some((name, output(result, key)?)));
        let verdict = result.outputs.get("verdict").cloned();
        let verdict = verdict.and_then(|it| serde_json::from_value(it).ok());
        BalanceChange { title, figures: figures.collect(), verdict }
    };
    of_kind.map(change).collect()
}

/// The entries, the screening and the promises; of each only what there is.
#[component]
pub fn ClosingPapers(state: Arc<JobState>, sources: RecordSources) -> impl IntoView {
    let entries: Vec<Entry> = state.entries_in_use().map(|(_, it)| it.clone()).collect();
    let screening = state.screening().map(|(_, it)| it.clone());
    let promises: Vec<Promise> = state.promises_in_use().map(|(_, it)| it.clone()).collect();
    let changes = balance_changes(&state);
    view! {
        {(!changes.is_empty()).then(|| view! { <Balance changes/> })}
        {screening.map(|it| view! { <ScreeningRecord it sources=sources.clone()/> })}
        {(!entries.is_empty()).then(|| view! { <Entries entries sources/> })}
        {(!promises.is_empty()).then(|| view! { <Promises promises/> })}
    }
}

#[component]
fn Balance(changes: Vec<BalanceChange>) -> impl IntoView {
    view! {
        <Section title="Weight-and-balance change">
            {changes.into_iter().map(|it| view! {
                <div class="card">
                    <div class="spread"><strong>{it.title}</strong>{it.verdict.map(|verdict| view! { <VerdictBadge verdict/> })}</div>
                    {it.figures.is_empty().then(|| view! { <p class="muted">"The server has not worked this out yet."</p> })}
                    <dl class="facts">
                        {it.figures.into_iter().map(|(name, text)| view! { <dt>{name}</dt><dd class="figures">{text}</dd> }).collect_view()}
                    </dl>
                </div>
            }).collect_view()}
        </Section>
    }
}

#[component]
fn ScreeningRecord(it: Screening, sources: RecordSources) -> impl IntoView {
    let answers = it.answers.or_empty();
    let reason = it.reason.or_empty().0;
    let by = it.extent.entered().map(|it| {
        format!("Entered by {}, {}", (sources.name)(it.mark.author), (sources.moment)(it.mark.stamp.0))
    });
    view! {
        <Section title="Major or minor">
            <p><strong>{decided(&it)}</strong></p>
            {(!reason.is_empty()).then(|| view! { <p class="prewrap">{reason}</p> })}
            <p class="small muted">{by}</p>
            {(!answers.is_empty()).then(|| view! {
                <ul class="lines">
                    {answers.into_iter().map(|it| view! {
                        <li class="spread"><span class="grow small">{it.question.0.clone()}</span><Answer it/></li>
                    }).collect_view()}
                </ul>
            })}
        </Section>
    }
}

#[component]
fn Answer(it: Screened) -> impl IntoView {
    let word = answer_words(&it);
    let (shape, tone) = if it.yes { (Shape::Wave, Tone::Close) } else { (Shape::Bar, Tone::Plain) };
    view! { <Badge word shape tone/> }
}

#[component]
fn Entries(entries: Vec<Entry>, sources: RecordSources) -> impl IntoView {
    let by = move |it: &Entry| {
        let mark = it.text.entered().map(|it| it.mark);
        mark.map(|mark| format!("{}, {}", (sources.name)(mark.author), (sources.moment)(mark.stamp.0)))
    };
    view! {
        <Section title="Maintenance-record entry">
            <p class="small muted">{ENTRY_NOTE}</p>
            {entries.into_iter().map(|it| view! {
                <div class="card">
                    <p class="prewrap">{it.text.or_empty().0}</p>
                    <p class="small muted">{by(&it)}</p>
                </div>
            }).collect_view()}
        </Section>
    }
}

#[component]
fn Promises(promises: Vec<Promise>) -> impl IntoView {
    view! {
        <Section title="To be looked at again">
            <ul class="lines">
                {promises.into_iter().map(|it| view! {
                    <li><strong>{it.what.or_empty().0}</strong>", "{it.when()}": "{kept(&it)}</li>
                }).collect_view()}
            </ul>
        </Section>
    }
}
