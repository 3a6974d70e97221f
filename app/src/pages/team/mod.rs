//! People, roles, devices, and the own account.

use leptos::prelude::*;

/// People, roles, devices, and the own account.
#[component]
pub fn TeamPage() -> impl IntoView {
    view! { <h1>"Team"</h1> }
}
