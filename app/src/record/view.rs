//! The record itself.

use std::sync::Arc;

use leptos::prelude::*;
use shared_types::coverage::on;
use shared_types::entity::Entity as _;
use shared_types::ids::Author;
use shared_types::job::{Job, JobState, Photo};
use shared_types::signature::Signature;
use shared_types::time::{Day, UtcMillis};

use super::closing::ClosingPapers;
use super::hours::{self, HoursTable};
use super::joint::Joints;
use super::layup::Layups;
use super::step::{NoteList, PhotoList, ReadingTable, StepRecord};
use crate::clock;
use crate::differences;
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

/// Cautions that stand on every record.
pub const CAUTIONS: [&str; 3] = [
    "This record is a working aid and an account of what was done. It is not approved data and not a release to service.",
    "The aircraft type's own maintenance data, local rules and a licensed person decide what may be done and whether the aircraft may fly.",
    "Resin, hardener, solvent, dust and paint harm lungs and skin: the makers' safety data apply to every step above.",
];

/// One job with everything.
#[component]
pub fn RecordView(state: Arc<JobState>, sources: RecordSources) -> impl IntoView {
    let job = state.job.clone();
    let summary = state.summary();
    let over = format!("{} · {}", summary.registration, summary.aircraft_type);
    let steps = state.steps_in_order().into_iter().enumerate().map(|(at, (id, _))| {
        view! { <StepRecord state=state.clone() step=id number=at + 1 sources=sources.clone()/> }
    });
    let steps = steps.collect_view();
    let discrepancy = job.discrepancy.or_empty().0;
    let notes: Vec<_> = on(&state.notes, None).map(|(_, it)| it.clone()).collect();
    let readings: Vec<_> = on(&state.readings, None).map(|(_, it)| it.clone()).collect();
    let photos = state.shown_photos(None);
    let digest = state.job_coverage().digest.to_string();
    let today = sources.today;
    let (facts, closing, papers) = (sources.clone(), sources.clone(), sources.clone());
    let (shown, joints, layups) = (sources.clone(), sources.clone(), sources.clone());
    view! {
        <article class="record stack">
            <Plate over=over title=summary.title.clone()>
                <div class="cluster"><JobBadge status=summary.status/></div>
                <Facts job sources=facts/>
            </Plate>
            <Section title="Discrepancy, as found">
                <p class="prewrap">{discrepancy}</p>
                <NoteList notes sources=shown/>
                <ReadingTable readings/>
                <PhotoList photos sources/>
            </Section>
            <DataReferences state=state.clone()/>
            <Section title="Steps">{steps}</Section>
            <Joints state=state.clone() sources=joints/>
            <Layups state=state.clone() sources=layups/>
            <HoursTable rows=hours::rows(&state)/>
            <Totals state=state.clone()/>
            <ClosingPapers state=state.clone() sources=papers/>
            <Closing state sources=closing/>
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

#[component]
fn Facts(job: Job, sources: RecordSources) -> impl IntoView {
    let opened = job
        .created()
        .map(|mark| format!("{} by {}", (sources.moment)(mark.stamp.0), (sources.name)(mark.author)));
    let closed = job.closed_at.or_empty().map(|at| (sources.moment)(at));
    let rows = [
        ("Registration", job.registration.or_empty().0),
        ("Aircraft serial", job.aircraft_serial.or_empty().0),
        ("Part", job.part.or_empty().0),
        ("Part number", job.part_number.or_empty().0),
        ("Part serial", job.part_serial.or_empty().0),
        ("Opened", opened.unwrap_or_default()),
        ("Closed", closed.unwrap_or_else(|| "not closed".to_owned())),
    ];
    let rows = rows.into_iter().filter(|(_, value)| !value.is_empty());
    view! {
        <dl class="facts">
            {rows.map(|(name, value)| view! { <dt>{name}</dt><dd>{value}</dd> }).collect_view()}
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

/// Hours, hardware and material over the whole job.
#[component]
fn Totals(state: Arc<JobState>) -> impl IntoView {
    let worked = clock::stretch(state.hours().all.worked);
    let hardware = state.hardware.values().filter(|it| !it.it.is_retired()).count();
    let materials = state.materials.values().filter(|it| !it.it.is_retired()).count();
    view! {
        <Section title="Totals">
            <dl class="facts">
                <dt>"Working time"</dt><dd class="figures">{worked}</dd>
                <dt>"Hardware lines"</dt><dd class="figures">{hardware}</dd>
                <dt>"Material lines"</dt><dd class="figures">{materials}</dd>
            </dl>
        </Section>
    }
}

#[component]
fn Closing(state: Arc<JobState>, sources: RecordSources) -> impl IntoView {
    let statement = state.job.closing_statement.or_empty();
    let signatures: Vec<_> = state.signatures.values().filter(|it| !it.is_retired()).cloned().collect();
    let none = statement.is_empty() && signatures.is_empty();
    view! {
        <Section title="Closing">
            {none.then(|| view! { <p class="muted">"The job is not closed. What is above may still change."</p> })}
            {(!statement.is_empty()).then(|| view! { <p class="prewrap">{statement.0}</p> })}
            {signatures.into_iter().map(|signature| {
                view! { <SignatureRecord state=state.clone() signature sources=sources.clone()/> }
            }).collect_view()}
        </Section>
    }
}

#[component]
fn SignatureRecord(state: Arc<JobState>, signature: Signature, sources: RecordSources) -> impl IntoView {
    let coverage = signature.coverage.or_empty();
    let changed = coverage.differences(&state.job_coverage());
    let when = signature.created().map(|mark| (sources.moment)(mark.stamp.0)).unwrap_or_default();
    let certificate = [signature.certificate_kind.or_empty().0, signature.certificate.or_empty().0];
    let certificate = certificate.into_iter().filter(|it| !it.is_empty()).collect::<Vec<_>>().join(" ");
    let confirmed = match signature.confirmation.or_empty() {
        Some(it) => format!(
            "Confirmed by password on {}, with the server's key {}.",
            (sources.moment)(it.at),
            it.key.short()
        ),
        None => "Not confirmed by password.".to_owned(),
    };
    let tone = if changed.is_empty() { "good" } else { "close" };
    view! {
        <div class="card" data-tone=tone>
            <p class="prewrap">{signature.statement.or_empty().0}</p>
            <p>
                {signature.capacity.or_empty().words()}" "
                <strong>{signature.name.or_empty().0}</strong>" "{certificate}", "{when}
            </p>
            <p>{confirmed}</p>
            <p class="small">"Content digest (SHA-256): "<span class="figures">{coverage.digest.to_string()}</span></p>
            {(!changed.is_empty()).then(|| view! {
                <p><strong>"Overtaken: since it was signed, "</strong>
                {changed.iter().map(|it| differences::difference(&state, it)).collect::<Vec<_>>().join("; ")}</p>
            })}
        </div>
    }
}
