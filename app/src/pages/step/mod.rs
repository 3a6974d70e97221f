//! One step.

use leptos::prelude::*;
use shared_types::ids::{JobId, ShopId, StepId};

/// One step.
#[component]
pub fn StepPage(shop: ShopId, job: JobId, step: StepId) -> impl IntoView {
    let _ = (shop, job, step);
    view! { <h1>"Step"</h1> }
}
