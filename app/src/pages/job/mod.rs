//! One job.

use leptos::prelude::*;
use shared_types::ids::{JobId, ShopId};

/// One job.
#[component]
pub fn JobPage(shop: ShopId, job: JobId) -> impl IntoView {
    let _ = (shop, job);
    view! { <h1>"Job"</h1> }
}
