//! The list of jobs.

use leptos::prelude::*;

/// The list of jobs.
#[component]
pub fn JobsPage() -> impl IntoView {
    view! { <h1>"Jobs"</h1> }
}
