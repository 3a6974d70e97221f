//! Opening a job.

use leptos::prelude::*;

/// Opening a job.
#[component]
pub fn NewJobPage() -> impl IntoView {
    view! { <h1>"New job"</h1> }
}
