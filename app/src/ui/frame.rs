//! The frame of a page: plates, sections, banners, and the states in which there is nothing to show yet.

use leptos::prelude::*;

use super::badge::Tone;
use super::icon::{Glyph, Icon};

/// What a page is about, like the plate riveted to a part.
#[component]
pub fn Plate(
    /// A line above the title: the aircraft, the job.
    #[prop(optional, into)]
    over: Signal<String>,
    #[prop(into)] title: Signal<String>,
    #[prop(optional)] children: Option<Children>,
) -> impl IntoView {
    view! {
        <header class="plate">
            {move || {
                let over = over.get();
                (!over.is_empty()).then(|| view! { <p class="over">{over}</p> })
            }}
            <h1 tabindex="-1">{title}</h1>
            {children.map(|children| children())}
        </header>
    }
}

/// A part of a page under its heading.
#[component]
pub fn Section(
    #[prop(into)] title: Signal<String>,
    /// A small button or count at the heading's end.
    #[prop(optional, into)]
    end: ViewFn,
    children: Children,
) -> impl IntoView {
    view! {
        <section class="section">
            <div class="section-head">
                <h2>{title}</h2>
                <div class="end">{end.run()}</div>
            </div>
            {children()}
        </section>
    }
}

/// Something to know before going on.
#[component]
pub fn Banner(
    #[prop(optional)] tone: Tone,
    #[prop(optional, into)] icon: Option<Icon>,
    children: Children,
) -> impl IntoView {
    let plain = match tone {
        Tone::Good => Icon::Check,
        Tone::Close | Tone::Bad => Icon::Warning,
        Tone::Plain | Tone::Blue => Icon::Info,
    };
    view! {
        <div class="banner" data-tone=tone.name()>
            <Glyph icon=icon.unwrap_or(plain)/>
            <div class="body">{children()}</div>
        </div>
    }
}

/// Nothing here yet, and what to do about it.
#[component]
pub fn EmptyState(icon: Icon, #[prop(into)] title: String, children: Children) -> impl IntoView {
    view! {
        <div class="empty">
            <Glyph icon/>
            <h3>{title}</h3>
            {children()}
        </div>
    }
}

/// Something is being fetched: from this device's own store, or a page for the first time.
#[component]
pub fn Skeleton(#[prop(default = 3)] lines: usize) -> impl IntoView {
    view! {
        <div class="skeleton" role="status">
            <span class="visually-hidden">"Loading"</span>
            {(0..lines).map(|_| view! { <span aria-hidden="true"></span> }).collect_view()}
        </div>
    }
}
