//! Everything unsent as a file, and such a file taken in: for a device that can't reach the server any more.

use std::cell::RefCell;
use std::rc::Rc;

use leptos::ev::Event;
use leptos::prelude::*;
use leptos::task::spawn_local;
use wasm_bindgen::JsCast as _;
use wasm_bindgen_futures::JsFuture;
use web_sys::HtmlInputElement;

use crate::page::save_as;
use crate::store::use_store;
use crate::ui::{Button, Icon, Section};

/// Export and import.
#[component]
pub fn UnsentFile() -> impl IntoView {
    let store = use_store();
    let export = move |()| {
        let device = store.device();
        spawn_local(async move {
            let pieces = Rc::new(RefCell::new(Vec::new()));
            let sink = Rc::clone(&pieces);
            match device.export_unsent(move |piece| sink.borrow_mut().push(piece)).await {
                Ok(()) => save_as("faying-unsent.jsonl", pieces.take()),
                Err(error) => store.warn(format!("Not saved: {error}")),
            }
        });
    };
    let import = move |event: Event| {
        let input = event.target().and_then(|target| target.dyn_into::<HtmlInputElement>().ok());
        let file = input.and_then(|input| input.files()).and_then(|files| files.get(0));
        let Some(file) = file else { return };
        let device = store.device();
        spawn_local(async move {
            let Ok(buffer) = JsFuture::from(file.array_buffer()).await else {
                store.warn("The file can't be read.");
                return;
            };
            let bytes = js_sys::Uint8Array::new(&buffer).to_vec();
            let mut import = device.import_unsent();
            let fed = import.feed(&bytes).await;
            let outcome = match fed {
                Ok(()) => import.finish().await,
                Err(error) => Err(error),
            };
            match outcome {
                Ok(_) => store.say("The file was taken in; it is sent with what is here."),
                Err(error) => store.warn(format!("Not taken in: {error}")),
            }
        });
    };
    view! {
        <Section title="If this device can’t reach the server any more">
            <p class="muted">"Save what is unsent as a file, bring the file to another device on which you are signed in, and
            take it in there. Taking it in twice does no harm."</p>
            <div class="cluster">
                <Button label="Save what is unsent" icon=Icon::Download on_press=export/>
                <label class="btn file-button">
                    <span>"Take a file in"</span>
                    <input type="file" class="visually-hidden" accept=".jsonl,application/jsonl" on:change=import/>
                </label>
            </div>
        </Section>
    }
}
