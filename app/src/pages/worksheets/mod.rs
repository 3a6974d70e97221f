//! Worksheets: asking for one, and one with its working.

use leptos::prelude::*;
use shared_types::ids::{JobId, ShopId, StepId, WorksheetId};

/// A new worksheet on a step.
#[component]
pub fn NewWorksheetPage(shop: ShopId, job: JobId, step: StepId) -> impl IntoView {
    let _ = (shop, job, step);
    view! { <h1>"Worksheet"</h1> }
}

/// A worksheet.
#[component]
pub fn WorksheetPage(shop: ShopId, job: JobId, worksheet: WorksheetId) -> impl IntoView {
    let _ = (shop, job, worksheet);
    view! { <h1>"Worksheet"</h1> }
}
