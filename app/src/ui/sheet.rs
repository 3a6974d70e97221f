//! A sheet: a native dialog, so that focus, Escape and the back layer are the browser's.

use leptos::html::Dialog;
use leptos::prelude::*;

use super::icon::{Glyph, Icon};

/// A sheet that opens over the page. Closing it keeps what was typed: the signals live outside.
#[component]
pub fn Sheet(
    #[prop(into)] title: Signal<String>,
    /// Open or closed.
    open: RwSignal<bool>,
    children: ChildrenFn,
) -> impl IntoView {
    let dialog = NodeRef::<Dialog>::new();
    Effect::new(move |_| {
        let Some(dialog) = dialog.get() else { return };
        match (open.get(), dialog.open()) {
            // `show_modal` fails only on a dialog that is open or not in the page.
            (true, false) => {
                if let Err(problem) = dialog.show_modal() {
                    leptos::logging::error!("the sheet could not open: {problem:?}");
                }
            }
            (false, true) => dialog.close(),
            _ => {}
        }
    });
    view! {
        <dialog class="sheet" node_ref=dialog aria-label=title on:close=move |_| open.set(false)>
            <Show when=move || open.get()>
                <div class="sheet-body">
                    <div class="sheet-head">
                        <h2>{title}</h2>
                        <button type="button" class="btn btn--quiet btn--icon" on:click=move |_| open.set(false)>
                            <Glyph icon=Icon::Close/>
                            <span class="visually-hidden">"Close"</span>
                        </button>
                    </div>
                    {children()}
                </div>
            </Show>
        </dialog>
    }
}
