//! What this device has not yet sent.

use leptos::prelude::*;

/// What this device has not yet sent.
#[component]
pub fn SyncPage() -> impl IntoView {
    view! { <h1>"Sync"</h1> }
}
