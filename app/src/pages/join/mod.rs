//! Joining a shop by invitation.

use leptos::prelude::*;

/// Joining a shop by invitation.
#[component]
pub fn JoinPage() -> impl IntoView {
    view! { <h1>"Join a shop"</h1> }
}
