//! The job's record.

use leptos::prelude::*;
use shared_types::ids::{JobId, ShopId};

/// The job's record.
#[component]
pub fn RecordPage(shop: ShopId, job: JobId) -> impl IntoView {
    let _ = (shop, job);
    view! { <h1>"Record"</h1> }
}
