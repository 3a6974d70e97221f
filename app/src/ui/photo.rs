//! Photos: the camera button, and a tile.

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
