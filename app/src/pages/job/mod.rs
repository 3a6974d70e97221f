//! One job.

use leptos::prelude::*;
use shared_types::ids::{JobId, ShopId};

/// One job.
#[component]
pub fn JobPage(shop: ShopId, job: JobId) -> impl IntoView {
    let _ = (shop, job);
    view! { <h1>"Job"</h1> }
}

/// The job's steps beside one of them.
#[component]
pub fn JobOutline(
    shop: ShopId,
    job: JobId,
    /// The step that is shown.
    #[prop(into)]
    current: Signal<Option<shared_types::ids::StepId>>,
) -> impl IntoView {
    let _ = (shop, job);
    move || current.get().map(|step| step.to_string())
}
