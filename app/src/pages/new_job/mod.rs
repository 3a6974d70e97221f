//! Opening a job: which aircraft, which part, what is wrong, to which data, by which procedure.

mod aircraft;
mod procedure;

use leptos::prelude::*;
use leptos_router::NavigateOptions;
use leptos_router::hooks::use_navigate;
use shared_types::body::Known;
use shared_types::check::Problem;
use shared_types::ids::{JobId, LogId, ShopId, StepId};

use crate::entry::form::Form;
use crate::entry::{Subject, specs};
use crate::pages::job::facts::may_work;
use crate::procedures::{choices, lay_out};
use crate::routes::Route;
use crate::store::use_store;
use crate::ui::{Button, ButtonKind, EmptyState, Icon, LinkButton, Plate, Section, SelectField};
use aircraft::AircraftChoice;
use procedure::ProcedureChoice;

/// Opening a job. Somebody in several shops says which one it is for.
#[component]
pub fn NewJobPage() -> impl IntoView {
    let store = use_store();
    let shops = Memo::new(move |_| {
        let shops = store.me().get().map(|me| me.shops).unwrap_or_default();
        let mine = shops.into_iter().filter(|it| may_work(store, LogId::Shop(it.shop)));
        mine.map(|it| (it.shop, it.name)).collect::<Vec<_>>()
    });
    let chosen = RwSignal::new(String::new());
    view! {
        <div class="stack">
            <Plate over="Faying" title="New job"/>
            {move || match shops.get().as_slice() {
                [] => view! {
                    <EmptyState icon=Icon::Person title="Opening jobs is for leads and mechanics">
                        <p>"Sign in with an account that works in a shop, or ask a lead to give you the role."</p>
                        <LinkButton label="Sign in" href=Route::SignIn.to_string()/>
                    </EmptyState>
                }.into_any(),
                [(shop, _)] => view! { <NewJob shop=*shop/> }.into_any(),
                several => {
                    let options: Vec<_> = several.iter().map(|(shop, name)| (shop.to_string(), name.clone())).collect();
                    let first = several[0].0;
                    let shop = move || chosen.read().parse::<ShopId>().unwrap_or(first);
                    view! {
                        <SelectField label="For which shop" value=chosen options/>
                        {move || view! { <NewJob shop=shop()/> }}
                    }.into_any()
                }
            }}
        </div>
    }
}

#[component]
fn NewJob(shop: ShopId) -> impl IntoView {
    let store = use_store();
    let job = JobId(store.uuid());
    let log = LogId::Job(shop, job);
    // The draft is the shop's, so that it is found again whichever id the job would have had.
    let facts = Form::new(LogId::Shop(shop), specs::JOB, Subject { id: None, ..Subject::new("job.v1", "") }, "new-job");
    let reference = Form::new(
        LogId::Shop(shop),
        specs::DATA_REFERENCE,
        Subject::new("data-reference.v1", store.uuid()),
        "new-job-reference",
    );
    let (procedure, keep_aircraft) = (RwSignal::new(String::new()), RwSignal::new(None::<Known>));
    let navigate = use_navigate();
    let open = Callback::new(move |()| {
        let Some(bodies) = opening(shop, facts, reference, &procedure.get_untracked()) else { return };
        if let Some(aircraft) = keep_aircraft.get_untracked() {
            store.dispatch(LogId::Shop(shop), vec![aircraft], "Aircraft added to the shop");
        }
        let navigate = navigate.clone();
        store.dispatch_then(log, bodies, "Job opened", move || {
            facts.forget_draft();
            reference.forget_draft();
            navigate(&Route::Job(shop, job).to_string(), NavigateOptions { replace: true, ..NavigateOptions::default() });
        });
    });
    let none = Signal::stored(Vec::new());
    view! {
        <form class="stack" on:submit=move |event| { event.prevent_default(); open.run(()); }>
            <Section title="Aircraft"><AircraftChoice shop facts keep=keep_aircraft/></Section>
            <Section title="Part and discrepancy">
                {["title", "part", "part_number", "part_serial", "discrepancy"].map(|name| facts.field(name, none)).collect_view()}
                <p class="muted small">"Photos of the discrepancy: as soon as the job is open, its page has the camera."</p>
            </Section>
            <Section title="What the work is done to">
                {["document", "revision", "paragraph"].map(|name| reference.field(name, none)).collect_view()}
            </Section>
            <Section title="Procedure"><ProcedureChoice shop chosen=procedure/></Section>
            <div class="action-bar">
                <Button label="Open the job" kind=ButtonKind::Primary icon=Icon::Check submit=true on_press=open/>
            </div>
        </form>
    }
}

/// The changes that open the job; `None` while something is at fault, which the forms show.
fn opening(shop: ShopId, facts: Form, reference: Form, procedure: &str) -> Option<Vec<Known>> {
    let store = use_store();
    let (job, data) = (facts.change(), reference.change());
    if facts.text("title").read_untracked().trim().is_empty() && job.is_ok() {
        facts.object(Problem::new("title", "is empty", "a few words that tell this job from the others"));
        return None;
    }
    let mut bodies: Vec<Known> = job.ok()?.into_iter().collect();
    bodies.extend(data.ok()?);
    let state = store.shop(shop).get_untracked();
    if let Some(choice) = choices(&state).into_iter().find(|choice| choice.key == procedure) {
        bodies.extend(lay_out(choice.steps, None, || StepId(store.uuid())));
    }
    Some(bodies)
}
