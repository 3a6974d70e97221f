//! Where an item went: job by job, line by line.

use leptos::prelude::*;
use shared_types::entity::Entity;
use shared_types::ids::{JobId, ShopId, StepId, StockId};
use shared_types::job::JobState;
use shared_types::on_step::OnStep;
use shared_types::shelf::written;

use crate::clock;
use crate::pages::parts::{job_line, of_job};
use crate::routes::Route;
use crate::store::{Loaded, use_store};
use crate::ui::{Section, Skeleton};

/// A line that took from the item.
#[derive(Clone, Debug, Default, PartialEq)]
struct Use {
    step: Option<StepId>,
    title: String,
    quantity: String,
    at: String,
}

/// The jobs that took from an item.
#[component]
pub fn Used(shop: ShopId, id: StockId) -> impl IntoView {
    let rows = use_store().rows();
    let jobs = Memo::new(move |_| {
        let rows = rows.read();
        let rows = rows.here().map(|rows| rows.as_slice()).unwrap_or_default();
        let took = rows.iter().filter(|row| row.shop == shop);
        took.filter(|row| row.summary.taken.iter().any(|(stock, _)| *stock == id))
            .map(|row| row.job)
            .collect::<Vec<_>>()
    });
    view! {
        <Section title="Where it went">
            {move || {
                let jobs = jobs.get();
                if jobs.is_empty() {
                    return view! { <p class="muted">"No job has used it."</p> }.into_any();
                }
                jobs.into_iter().map(|job| view! { <OfJob shop job id/> }).collect_view().into_any()
            }}
        </Section>
    }
}

#[component]
fn OfJob(shop: ShopId, job: JobId, id: StockId) -> impl IntoView {
    let state = use_store().job(shop, job);
    let name = job_line(state);
    let uses = of_job(state, move |state| uses(state, id));
    view! {
        <h3>{name}</h3>
        {move || matches!(*state.read(), Loaded::Loading).then(|| view! { <Skeleton lines=1/> })}
        <ul class="lines">
            {move || uses.get().into_iter().map(|it| {
                let place = it.step.map_or(Route::Job(shop, job), |step| Route::Step(shop, job, step));
                view! {
                    <li>
                        <a class="line-link" href=place.to_string()>
                            <span class="grow found">
                                <strong>{it.title}</strong>
                                <span><span class="figures">{it.quantity}</span><span class="muted">", "{it.at}</span></span>
                            </span>
                        </a>
                    </li>
                }
            }).collect_view()}
        </ul>
    }
}

fn uses(state: &JobState, id: StockId) -> Vec<Use> {
    let found = |step: Option<StepId>, it: &dyn Fn() -> Option<String>, at: Option<_>| {
        let steps = step.and_then(|step| state.steps.get(&step));
        let title = steps.map(|step| step.title.or_empty().0).unwrap_or_default();
        let title = if title.is_empty() { "the discrepancy".to_owned() } else { title };
        let quantity =
            it().filter(|it| !it.trim().is_empty()).unwrap_or_else(|| "not said how much".to_owned());
        steps.is_none_or(|step| !step.is_retired()).then_some(Use {
            step,
            title,
            quantity,
            at: at.unwrap_or_default(),
        })
    };
    let hardware =
        state.hardware.values().filter(|line| in_use(line) && line.it.stock.or_empty() == Some(id));
    let hardware = hardware
        .filter_map(|line| found(line.step, &|| line.it.quantity.or_empty().map(written), made(&line.it)));
    let materials =
        state.materials.values().filter(|line| in_use(line) && line.it.stock.or_empty() == Some(id));
    let materials = materials
        .filter_map(|line| found(line.step, &|| Some(line.it.quantity.or_empty().0), made(&line.it)));
    hardware.chain(materials).collect()
}

fn in_use<T: Entity>(line: &OnStep<T>) -> bool {
    !line.it.is_retired()
}

/// When a line was made.
fn made(it: &impl Entity) -> Option<String> {
    it.created().map(|mark| clock::moment(mark.stamp.0))
}
