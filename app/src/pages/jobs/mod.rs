//! The list of jobs.

use leptos::prelude::*;
use shared_types::ids::JobId;

/// The list of jobs.
#[component]
pub fn JobsPage() -> impl IntoView {
    view! { <h1>"Jobs"</h1> }
}

/// The list beside a job.
#[component]
pub fn JobsBeside(
    /// The job that is shown.
    #[prop(into)]
    current: Signal<Option<JobId>>,
) -> impl IntoView {
    move || current.get().map(|job| job.to_string())
}
