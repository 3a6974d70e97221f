//! Inspection: the queue, and one step of it.

use leptos::prelude::*;
use shared_types::ids::{JobId, ShopId, StepId};

/// Steps that wait for an inspector.
#[component]
pub fn InspectPage() -> impl IntoView {
    view! { <h1>"Inspection"</h1> }
}

/// One step that waits.
#[component]
pub fn InspectStepPage(shop: ShopId, job: JobId, step: StepId) -> impl IntoView {
    let _ = (shop, job, step);
    view! { <h1>"Inspection"</h1> }
}
