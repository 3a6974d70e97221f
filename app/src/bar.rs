//! The bar at the top of every screen, the first paint included.

use leptos::prelude::*;

use crate::routes::Route;
use crate::ui::{Glyph, Icon};

/// The bar at the top. `line` is its right half: where sync stands.
#[component]
pub fn AppBar(
    /// What stands at its end.
    #[prop(into)]
    line: ViewFn,
    /// The way up from here, if there is one.
    #[prop(optional, into)]
    up: Signal<Option<Route>>,
) -> impl IntoView {
    let way = move || match up.get() {
        Some(route) => {
            let name = route.title();
            view! { <a class="name" href=route.to_string()><Glyph icon=Icon::Back/>{name}</a> }.into_any()
        }
        None => view! { <a class="name" href="/jobs"><Mark/>"Faying"</a> }.into_any(),
    };
    view! {
        <header class="app-bar">
            {way}
            <span class="sync-place">{line.run()}</span>
        </header>
    }
}

/// The mark: a fastener through metal and laminate.
#[component]
fn Mark() -> impl IntoView {
    view! {
        <svg class="mark" viewBox="0 0 32 32" aria-hidden="true">
            <path class="mark-metal" d="M2 13h28v4H2z"/>
            <path class="mark-laminate" d="M2 18h28v5H2z"/>
            <path fill="currentColor" d="M9.5 13c0-4 3-6.5 6.5-6.5s6.5 2.5 6.5 6.5h-4.200v10h1.700v3.500h-8V23h1.700V13z"/>
        </svg>
    }
}
