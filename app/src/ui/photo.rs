//! Photos: the camera button, a tile, and before against after.

use leptos::ev::Event;
use leptos::prelude::*;

use super::icon::{Glyph, Icon};

/// The one big button of a step. Several shots in a row; a fresh input per shot,
/// because browsers keep a shot's memory for as long as its input lives.
#[component]
pub fn CameraButton(
    #[prop(into)] label: Signal<String>,
    /// Gets the input's change event, with the chosen files.
    #[prop(into)]
    on_files: Callback<Event>,
) -> impl IntoView {
    let shots = RwSignal::new(0_u32);
    view! {
        <label class="camera">
            <Glyph icon=Icon::Camera/>
            <span>{label}</span>
            {move || {
                shots.track();
                view! {
                    <input
                        type="file"
                        accept="image/*"
                        capture="environment"
                        multiple
                        on:change=move |event| {
                            on_files.run(event);
                            shots.update(|shots| *shots += 1);
                        }
                    />
                }
            }}
        </label>
    }
}

/// A photo as a tile. Pressing it opens the photo.
#[component]
pub fn PhotoTile(
    /// Where the picture is: an object URL, or the server's. Empty while it is not to be had.
    #[prop(into)]
    src: Signal<String>,
    /// What it shows.
    #[prop(into)]
    caption: Signal<String>,
    /// Is it only on this phone?
    #[prop(optional, into)]
    unsent: Signal<bool>,
    #[prop(into)] on_open: Callback<()>,
) -> impl IntoView {
    let name = move || {
        let caption = caption.get();
        if caption.is_empty() { "Photo without a caption".to_owned() } else { caption }
    };
    view! {
        <figure class="photo">
            <button type="button" on:click=move |_| on_open.run(())>
                {move || {
                    let src = src.get();
                    if src.is_empty() {
                        view! { <span class="visually-hidden">{name()}</span><Glyph icon=Icon::Image/> }.into_any()
                    } else {
                        view! { <img src=src alt=name() loading="lazy" decoding="async"/> }.into_any()
                    }
                }}
                {move || unsent.get().then(|| view! { <span class="where"><Glyph icon=Icon::Phone/>"only on this phone"</span> })}
            </button>
            {move || {
                let caption = caption.get();
                (!caption.is_empty()).then(|| view! { <figcaption>{caption}</figcaption> })
            }}
        </figure>
    }
}

/// Before against after of the same place, under one slider: pointer and arrow keys alike.
#[component]
pub fn PhotoCompare(
    #[prop(into)] before: Signal<String>,
    #[prop(into)] after: Signal<String>,
    #[prop(into)] caption: Signal<String>,
) -> impl IntoView {
    let share = RwSignal::new(50_u32);
    // The content policy allows no inline style, so the cut is an SVG clip, sized by attributes.
    view! {
        <div class="stack stack--tight">
            <div class="compare">
                <img src=before alt=move || format!("Before: {}", caption.get())/>
                <svg class="over" viewBox="0 0 400 300" preserveAspectRatio="none" role="img" aria-label=move || format!("After: {}", caption.get())>
                    <svg x=move || f64::from(share.get()) * 4.0 y="0" width=move || 400.0 - f64::from(share.get()) * 4.0 height="300" viewBox=move || format!("{} 0 {} 300", share.get() * 4, 400 - share.get().min(99) * 4) preserveAspectRatio="none">
                        <image href=after x="0" y="0" width="400" height="300" preserveAspectRatio="xMidYMid meet"/>
                    </svg>
                    <line x1=move || f64::from(share.get()) * 4.0 x2=move || f64::from(share.get()) * 4.0 y1="0" y2="300" stroke="#ffffff" stroke-width="2"/>
                </svg>
                <span class="tag tag--before">"before"</span>
                <span class="tag tag--after">"after"</span>
            </div>
            <input
                class="compare-slide"
                type="range"
                min="0"
                max="100"
                aria-label="Move the border between before and after"
                prop:value=move || share.get().to_string()
                on:input=move |event| {
                    if let Ok(value) = event_target_value(&event).parse() {
                        share.set(value);
                    }
                }
            />
        </div>
    }
}
