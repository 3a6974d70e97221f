//! The record itself.

use std::sync::Arc;

use leptos::prelude::*;
use shared_types::coverage::on;
use shared_types::entity::Entity as _;
use shared_types::ids::Author;
use shared_types::job::{JobState, Photo};
use shared_types::time::{Day, UtcMillis};

use super::closing::ClosingPapers;
use super::facts::{facts, stretches};
use super::hours::{self, HoursTable};
use super::joint::Joints;
use super::layup::Layups;
use super::lists;
use super::over_all::{DoneOtherwise, FindingList, WholeJob};
use super::sheets;
use super::signed::{SignatureRecord, signatures};
use super::step::{NoteList, PhotoList, ReadingTable, SheetRecord, StepRecord, Stretches};
use super::tell::Tell;
use crate::ui::{JobBadge, Plate, Section};

/// What the record needs beside the job: names, pictures, and how moments are written.
#[derive(Clone)]
pub struct RecordSources {
    /// What an author is called.
    pub name: Arc<dyn Fn(Author) -> String + Send + Sync>,
    /// A photo's picture.
    pub photo: Arc<dyn Fn(&Photo) -> AnyView + Send + Sync>,
    /// How a moment is written.
    pub moment: fn(UtcMillis) -> String,
    /// The day the record is made.
    pub today: Day,
}

impl RecordSources {
    /// What it takes to tell of a job.
    #[must_use]
    pub fn tell<'a>(&'a self, state: &'a JobState) -> Tell<'a> {
        Tell { state, name: &*self.name, moment: self.moment, today: self.today }
    }
}

/// Stands where no signature is in force.
pub const NOBODY_SIGNED: &str = "Nobody has signed. What is above may still change.";

/// Cautions that stand on every record.
pub const CAUTIONS: [&str; 3] = [
    "This record is a working aid and an account of what was done. It is not approved data and not a release to service.",
    "The aircraft type's own maintenance data, local rules and a licensed person decide what may be done and whether the aircraft may fly.",
    "Resin, hardener, solvent, dust and paint harm lungs and skin: the makers' safety data apply to every step above.",
];

/// One job with everything.
#[component]
pub fn RecordView(state: Arc<JobState>, sources: RecordSources) -> impl IntoView {
    let summary = state.summary();
    let over = format!("{} · {}", summary.registration, summary.aircraft_type);
    let steps = state.steps_in_order().into_iter().enumerate().map(|(at, (id, _))| {
        view! { <StepRecord state=state.clone() step=id number=at + 1 sources=sources.clone()/> }
    });
    let steps = steps.collect_view();
    let (facts, findings, otherwise) = {
        let tell = sources.tell(&state);
        (facts(tell), lists::findings(tell), lists::otherwise(tell))
    };
    let digest = state.job_coverage().digest.to_string();
    let today = sources.today;
    let (joints, layups, whole, papers) =
        (sources.clone(), sources.clone(), sources.clone(), sources.clone());
    view! {
        <article class="record stack">
            <Plate over=over title=summary.title.clone()>
                <div class="cluster"><JobBadge status=summary.status/></div>
                <Facts rows=facts/>
            </Plate>
            <AsFound state=state.clone() sources=sources.clone()/>
            <DataReferences state=state.clone()/>
            <Section title="Steps">{steps}</Section>
            <Joints state=state.clone() sources=joints/>
            <Layups state=state.clone() sources=layups/>
            <OwnSheets state=state.clone()/>
            <WholeJob state=state.clone() sources=whole/>
            <HoursTable rows=hours::rows(&state)/>
            <FindingList rows=findings/>
            <DoneOtherwise points=otherwise/>
            <ClosingPapers state=state.clone() sources=papers/>
            <Closing state sources/>
            <Section title="Cautions">
                <ul class="cautions">{CAUTIONS.map(|text| view! { <li>{text}</li> }).collect_view()}</ul>
            </Section>
            <p class="small muted">
                {format!("Made on {today}. Content digest of the job as shown (SHA-256): ")}
                <span class="figures">{digest}</span>
            </p>
        </article>
    }
}

/// What was found, and what was recorded on no step.
#[component]
fn AsFound(state: Arc<JobState>, sources: RecordSources) -> impl IntoView {
    let discrepancy = state.job.discrepancy.or_empty();
    let discrepancy = if discrepancy.is_empty() { "None was entered.".to_owned() } else { discrepancy.0 };
    let notes: Vec<_> = on(&state.notes, None).map(|(_, it)| it.clone()).collect();
    let readings: Vec<_> = on(&state.readings, None).map(|(_, it)| it.clone()).collect();
    let photos = state.shown_photos(None);
    let worked = stretches(sources.tell(&state), None);
    let (moment, noted) = (sources.moment, sources.clone());
    view! {
        <Section title="Discrepancy, as found">
            <p class="prewrap">{discrepancy}</p>
            <NoteList notes sources=noted/>
            <ReadingTable readings moment/>
            <Stretches rows=worked/>
            <PhotoList photos sources/>
        </Section>
    }
}

#[component]
fn Facts(rows: Vec<(&'static str, String)>) -> impl IntoView {
    view! {
        <dl class="facts">
            {rows.into_iter().map(|(name, value)| view! { <dt>{name}</dt><dd>{value}</dd> }).collect_view()}
        </dl>
    }
}

#[component]
fn DataReferences(state: Arc<JobState>) -> impl IntoView {
    let references: Vec<_> = state.data_references.values().filter(|it| !it.is_retired()).cloned().collect();
    view! {
        <Section title="Data references">
            {if references.is_empty() {
                view! { <p class="muted">"None were entered."</p> }.into_any()
            } else {
                view! {
                    <ul class="lines">
                        {references.into_iter().map(|it| {
                            let parts = [it.document.or_empty().0, it.revision.or_empty().0, it.paragraph.or_empty().0];
                            let parts: Vec<_> = parts.into_iter().filter(|part| !part.is_empty()).collect();
                            view! { <li>{parts.join(" · ")}</li> }
                        }).collect_view()}
                    </ul>
                }.into_any()
            }}
        </Section>
    }
}

/// Worksheets that are about nothing but the job.
#[component]
fn OwnSheets(state: Arc<JobState>) -> impl IntoView {
    let sheets = sheets::of_job(&state);
    (!sheets.is_empty()).then(|| {
        let sheets = sheets.into_iter().map(|sheet| view! { <SheetRecord state=state.clone() sheet/> });
        let sheets = sheets.collect_view();
        view! { <Section title="Worksheets of the job">{sheets}</Section> }
    })
}

#[component]
fn Closing(state: Arc<JobState>, sources: RecordSources) -> impl IntoView {
    let statement = state.job.closing_statement.or_empty();
    let signatures = signatures(sources.tell(&state));
    let in_force = signatures.iter().any(|it| it.taken_back.is_none());
    view! {
        <Section title="Closing">
            {if statement.is_empty() {
                view! { <p class="muted">"No closing statement was written."</p> }.into_any()
            } else {
                view! { <p class="prewrap">{statement.0}</p> }.into_any()
            }}
        </Section>
        <Section title="Signatures">
            {(!in_force).then(|| view! { <p class="muted">{NOBODY_SIGNED}</p> })}
            {signatures.into_iter().map(|it| view! { <SignatureRecord it/> }).collect_view()}
        </Section>
    }
}
