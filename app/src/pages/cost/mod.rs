//! A job's time and cost: hours planned and worked, hardware and materials with the shelf's prices, and all of
//! it as CSV. Works offline: prices are in the shop's own log.

mod costs;
mod hours;
mod lines;
mod sheets;

use leptos::prelude::*;
use shared_types::ids::{JobId, LogId, ShopId};

use crate::pages::parts::waiting::WhenHere;
use crate::pages::parts::{JobSignal, job_line, of_job};
use crate::store::use_store;
use crate::ui::{Plate, Section};

use costs::{Cost, Used, hardware, materials, money, sums};
use hours::Hours;
use lines::Lines;

/// A job's time and cost.
#[component]
pub fn CostPage(shop: ShopId, job: JobId) -> impl IntoView {
    let state = use_store().job(shop, job);
    view! { <WhenHere state children=move || view! { <TimeAndCost shop job state/> }.into_any()/> }
}

#[component]
fn TimeAndCost(shop: ShopId, job: JobId, state: JobSignal) -> impl IntoView {
    let prices = use_store().shop(shop);
    let hardware = of_job(state, move |state| hardware(state, &prices.read()));
    let materials = of_job(state, move |state| materials(state, &prices.read()));
    view! {
        <div class="stack">
            <Plate over=job_line(state) title="Time and cost"/>
            <Hours log=LogId::Job(shop, job) state/>
            <Lines title="Hardware" none="No hardware was entered." file="hardware.csv" all=hardware/>
            <Lines title="Materials" none="No material was entered." file="materials.csv" all=materials/>
            <Sums hardware materials/>
        </div>
    }
}

/// What all of it cost, in each currency by itself.
#[component]
fn Sums(hardware: Memo<Vec<Used>>, materials: Memo<Vec<Used>>) -> impl IntoView {
    let total = Memo::new(move |_| sums(hardware.read().iter().chain(materials.read().iter())));
    let unknown = Memo::new(move |_| {
        let no_figure =
            |lines: &[Used]| lines.iter().filter(|line| !matches!(line.cost, Cost::Known(..))).count();
        no_figure(&hardware.read()) + no_figure(&materials.read())
    });
    view! {
        <Section title="Together">
            {move || {
                let total = total.get();
                if total.is_empty() {
                    return view! { <p class="muted">"Nothing here has a price yet. Prices are kept with the items on the shelf."</p> }.into_any();
                }
                view! {
                    <dl class="facts">
                        {total.into_iter().map(|(currency, sum)| view! {
                            <dt>"Hardware and materials"</dt><dd class="figures">{money(sum, &currency)}</dd>
                        }).collect_view()}
                    </dl>
                }.into_any()
            }}
            {move || (unknown.get() > 0).then(|| view! {
                <p class="small muted">{crate::words::count(unknown.get(), "line has", "lines have")} " no figure and no part in the sum."</p>
            })}
            <p class="small muted">"By the prices on the shelf as they are now. Currencies are not added to each other."</p>
        </Section>
    }
}
