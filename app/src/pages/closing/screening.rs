//! Major or minor: questions that help, and the licensed person who decides.

use leptos::prelude::*;
use shared_types::body::{Known, On};
use shared_types::check::Problem;
use shared_types::closing::{DECISION_NEEDS, Extent, Screening, ScreeningPatch};
use shared_types::entity::Entity as _;
use shared_types::ids::{JobId, LogId, ScreeningId, ShopId, derived};

use super::answers::Answers;
use super::form_337::ForMajor;
use crate::entry::form::{EntrySheet, Form};
use crate::entry::{Subject, specs};
use crate::pages::parts::also_entered::{AlsoEntered, sides_of};
use crate::pages::parts::waiting::WhenHere;
use crate::pages::parts::{JobSignal, job_line, of_job};
use crate::store::use_store;
use crate::ui::{Badge, Button, ButtonKind, Icon, Plate, Section, Shape, Tone};

/// The page.
#[component]
pub fn ScreeningPage(shop: ShopId, job: JobId) -> impl IntoView {
    let state = use_store().job(shop, job);
    view! { <WhenHere state children=move || view! { <Screened shop job state/> }.into_any()/> }
}

#[component]
fn Screened(shop: ShopId, job: JobId, state: JobSignal) -> impl IntoView {
    let store = use_store();
    let log = LogId::Job(shop, job);
    // Two people who begin it offline begin the same one.
    let first = ScreeningId(derived(job.0, "screening"));
    let id = of_job(state, move |state| state.screening().map_or(first, |(id, _)| id));
    let now = of_job(state, |state| state.screening().map(|(_, it)| it.clone()).unwrap_or_default());
    let contested = of_job(state, |state| {
        sides_of(state, state.screening().map(|(id, _)| ("screening.v1", id.to_string())).into_iter())
    });
    let may = store.may(log, Known::Screening(On { id: first, set: ScreeningPatch::default() }));
    view! {
        <div class="stack">
            <Plate over=job_line(state) title="Major or minor?"/>
            <AlsoEntered log all=contested/>
            <div class="halves">
                <Answers log id=id.into() now may/>
                <div class="stack">
                    <Decision log id=id.into() now may/>
                    {move || (now.read().extent.or_empty() == Extent::Major).then(|| view! { <ForMajor log state/> })}
                </div>
            </div>
        </div>
    }
}

/// A decision as a word and a shape.
#[component]
pub fn ExtentBadge(extent: Extent) -> impl IntoView {
    let (shape, tone) = match extent {
        Extent::Open => (Shape::Ring, Tone::Plain),
        Extent::Minor => (Shape::Tick, Tone::Good),
        Extent::Major => (Shape::Hold, Tone::Close),
    };
    view! { <Badge word=extent.word() shape tone/> }
}

#[component]
fn Decision(log: LogId, id: Signal<ScreeningId>, now: Memo<Screening>, may: bool) -> impl IntoView {
    let open = RwSignal::new(false);
    let subject = move |()| {
        Subject::altered("screening.v1", id.get_untracked(), now.with_untracked(|now| now.content()))
    };
    let draft = Signal::derive(move || format!("screening/{}", id.get()));
    let label = Signal::derive(move || {
        let open = now.read().extent.or_empty() == Extent::Open;
        if open { "Record the decision" } else { "Alter the decision" }.to_owned()
    });
    view! {
        <Section title="The decision">
            <p>"The questions only help. Whether the work is major decides a licensed person, by the rules of the aircraft's own authority."</p>
            <div class="cluster">{move || view! { <ExtentBadge extent=now.read().extent.or_empty()/> }}</div>
            {move || {
                let now = now.read();
                (now.extent.or_empty() != Extent::Open).then(|| view! {
                    <dl class="facts">
                        <dt>"Decided by"</dt><dd>{now.decided_by.or_empty().0}</dd>
                        <dt>"Certificate"</dt><dd>{now.certificate.or_empty().0}</dd>
                        <dt>"Why"</dt><dd class="prewrap">{now.reason.or_empty().0}</dd>
                    </dl>
                })
            }}
            {may.then(|| view! {
                <Button label kind=ButtonKind::Primary icon=Icon::Edit on_press=move |()| open.set(true)/>
            })}
            <EntrySheet
                title="Major or minor" open log specs=specs::SCREENING subject draft done="Decision recorded" check=is_whole
            />
        </Section>
    }
}

/// A decision names who decided, and why.
fn is_whole(form: Form) -> bool {
    let text = |field: &str| form.text(field).read_untracked().trim().to_owned();
    if text("extent") == "open" {
        return true;
    }
    match DECISION_NEEDS.into_iter().find(|(field, _)| text(field).is_empty()) {
        Some((field, accepted)) => {
            form.object(Problem::new(field, "is empty", accepted));
            false
        }
        None => true,
    }
}
