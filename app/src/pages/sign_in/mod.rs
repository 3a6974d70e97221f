//! Signing in.

use leptos::prelude::*;

/// Signing in.
#[component]
pub fn SignInPage() -> impl IntoView {
    view! { <h1>"Sign in"</h1> }
}
