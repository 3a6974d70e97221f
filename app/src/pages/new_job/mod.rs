//! Opening a job: which aircraft, which part, what is wrong, to which data, by which procedure.

mod aircraft;
mod discrepancy;
mod opening;
mod procedure;

use leptos::prelude::*;
use leptos_router::NavigateOptions;
use leptos_router::hooks::{use_navigate, use_query_map};
use shared_types::check::Problem;
use shared_types::ids::{JobId, LogId, ShopId};

use crate::entry::form::Form;
use crate::entry::{Subject, specs};
use crate::pages::job::may_work;
use crate::procedures::choices;
use crate::routes::Route;
use crate::store::{Store, use_store};
use crate::ui::{Button, ButtonKind, EmptyState, Icon, Plate, Section, SelectField};
use aircraft::AircraftPicks;
use discrepancy::DiscrepancyPhotos;
use opening::{Opening, derived_title};
use procedure::ProcedureChoice;

/// Opening a job. Somebody in several shops says which one it is for.
#[component]
pub fn NewJobPage() -> impl IntoView {
    let store = use_store();
    let shops = Memo::new(move |_| {
        let shops = store.me().get().map(|me| me.shops).unwrap_or_default();
        let mine = shops.into_iter().filter(|it| may_work(store, LogId::Job(it.shop, JobId::default())));
        mine.map(|it| (it.shop, it.name)).collect::<Vec<_>>()
    });
    let chosen = RwSignal::new(String::new());
    let shop = Memo::new(move |_| {
        chosen.read().parse::<ShopId>().ok().or_else(|| shops.read().first().map(|it| it.0))
    });
    let options = Signal::derive(move || {
        shops.get().into_iter().map(|(shop, name)| (shop.to_string(), name)).collect::<Vec<_>>()
    });
    view! {
        <div class="stack">
            <Plate over="Under a minute; the rest can follow" title="New job"/>
            {move || (shops.read().len() > 1).then(|| view! { <SelectField label="For which shop" value=chosen options/> })}
            {move || match shop.get() {
                Some(shop) => view! { <NewJob shop/> }.into_any(),
                None => view! {
                    <EmptyState icon=Icon::Person title="Opening jobs is for leads and mechanics">
                        <p>"Ask a lead of your shop to give you the role."</p>
                    </EmptyState>
                }.into_any(),
            }}
        </div>
    }
}

#[component]
fn NewJob(shop: ShopId) -> impl IntoView {
    let store = use_store();
    let query = use_query_map();
    // The job is in the address once a photo was taken: a tab that the camera killed comes back to it.
    let begun = query.read_untracked().get("job").and_then(|job| job.parse::<JobId>().ok());
    let job = begun.unwrap_or_else(|| JobId(store.uuid()));
    let log = LogId::Job(shop, job);
    let subject = Subject { id: None, ..Subject::new("job.v1", "") };
    // Drafts are the shop's, so that they are found again whichever id the job would have had.
    let facts = Form::new(LogId::Shop(shop), specs::JOB, subject, "new-job");
    let reference = Subject::new("data-reference.v1", store.uuid());
    let reference = Form::new(LogId::Shop(shop), specs::DATA_REFERENCE, reference, "new-job-reference");
    let (procedure, keep_aircraft) = (RwSignal::new(String::new()), RwSignal::new(true));
    let navigate = use_navigate();
    let open = Callback::new(move |()| {
        let Some(opening) = read(store, shop, facts, reference, &procedure.get_untracked(), keep_aircraft)
        else {
            return;
        };
        let (of_shop, of_job) = opening.bodies(|| store.uuid());
        if !of_shop.is_empty() {
            store.dispatch(LogId::Shop(shop), of_shop, "Aircraft kept in the shop");
        }
        let navigate = navigate.clone();
        store.dispatch_then(log, of_job, "Job opened", move || {
            facts.forget_draft();
            reference.forget_draft();
            navigate(
                &Route::Job(shop, job).to_string(),
                NavigateOptions { replace: true, ..NavigateOptions::default() },
            );
        });
    });
    let none = Signal::stored(Vec::new());
    view! {
        <form class="stack" novalidate on:submit=move |event| { event.prevent_default(); open.run(()); }>
            <Section title="Aircraft"><AircraftPicks shop facts keep=keep_aircraft/></Section>
            <Section title="Part and discrepancy">
                {facts.field("part", none)}
                <div class="fields fields--entry">
                    {["part_number", "part_serial"].map(|name| facts.field(name, none)).collect_view()}
                </div>
                {facts.field("discrepancy", none)}
                <DiscrepancyPhotos shop job facts/>
                {facts.field("title", none)}
            </Section>
            <Section title="What the work is done to">
                {facts_of_reference(reference)}
            </Section>
            <Section title="Steps"><ProcedureChoice shop chosen=procedure/></Section>
            <div class="action-bar">
                <Button label="Open the job" kind=ButtonKind::Primary icon=Icon::Check submit=true on_press=|()| ()/>
            </div>
        </form>
    }
}

fn facts_of_reference(reference: Form) -> AnyView {
    let none = Signal::stored(Vec::new());
    view! {
        {reference.field("document", none)}
        <div class="fields fields--entry">
            {["revision", "paragraph"].map(|name| reference.field(name, none)).collect_view()}
        </div>
    }
    .into_any()
}

/// What was typed; `None` while something is at fault, which the forms show.
fn read(
    store: Store,
    shop: ShopId,
    facts: Form,
    reference: Form,
    procedure: &str,
    keep_aircraft: RwSignal<bool>,
) -> Option<Opening> {
    let text = |name: &str| facts.text(name).get_untracked().trim().to_owned();
    if text("title").is_empty() {
        match derived_title(&text("part"), &text("discrepancy")) {
            Some(title) => facts.text("title").set(title),
            None => {
                facts.object(Problem::new(
                    "part",
                    "is empty, and so are discrepancy and title",
                    "a few words that tell this job from the others",
                ));
                return None;
            }
        }
    }
    let (facts_change, reference_change) = (facts.change(), reference.change());
    let state = store.shop(shop).get_untracked();
    Some(Opening {
        facts: facts_change.ok()??,
        reference: reference_change.ok()?,
        aircraft: aircraft::chosen(&state, facts, keep_aircraft.get_untracked()),
        steps: choices(&state)
            .into_iter()
            .find(|choice| choice.key == procedure)
            .map(|choice| choice.steps)
            .unwrap_or_default(),
    })
}
