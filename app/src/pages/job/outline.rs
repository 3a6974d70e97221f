//! The job's steps beside one of them, on wider screens.

use leptos::prelude::*;
use shared_types::ids::{JobId, ShopId, StepId};

use super::steps::{Row, rows};
use crate::pages::parts::of_job;
use crate::pages::parts::waiting::WhenHere;
use crate::routes::Route;
use crate::store::use_store;

/// The job's steps beside one of them.
#[component]
pub fn JobOutline(
    shop: ShopId,
    job: JobId,
    /// The step that is shown.
    #[prop(into)]
    current: Signal<Option<StepId>>,
) -> impl IntoView {
    let state = use_store().job(shop, job);
    let head = of_job(state, |state| (state.job.registration.or_empty().0, state.job.title.or_empty().0));
    let steps = of_job(state, rows);
    view! {
        <WhenHere state children=move || view! {
            <div class="stack stack--tight">
                <a class="outline-head" href=Route::Job(shop, job).to_string()>
                    <span class="registration">{move || head.get().0}</span>
                    <strong>{move || head.get().1}</strong>
                </a>
                <ol class="work-line">
                    {move || steps.get().into_iter().enumerate().map(|(at, row)| view! {
                        <Row shop job number={at + 1} row current/>
                    }).collect_view()}
                </ol>
            </div>
        }.into_any()/>
    }
}
