//! The screen stays on while the page is shown, where the device lets it.

use js_sys::{Function, Promise, Reflect};
use leptos::leptos_dom::helpers::window_event_listener_untyped;
use leptos::prelude::*;
use leptos::task::spawn_local;
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::JsFuture;

/// Keeps the screen on for as long as the calling view is shown; tells whether it does.
#[must_use]
pub fn use_screen_on() -> Signal<bool> {
    let on = RwSignal::new(false);
    let lock = StoredValue::new_local(None::<JsValue>);
    let ask = move || {
        spawn_local(async move {
            // A device without it, or one that saves its battery, refuses: then the page says so.
            let asked = request().await.ok();
            let is_on = asked.is_some();
            let put = lock.try_set_value(asked.clone());
            if put.is_some() {
                // The page was left meanwhile.
                release(asked.as_ref());
            }
            on.try_set(is_on);
        });
    };
    ask();
    // The device takes it back whenever something else is shown.
    let back = window_event_listener_untyped("visibilitychange", move |_| {
        if document().visibility_state() == web_sys::VisibilityState::Visible {
            ask();
        }
    });
    on_cleanup(move || {
        back.remove();
        lock.try_with_value(|lock| release(lock.as_ref()));
    });
    on.into()
}

async fn request() -> Result<JsValue, JsValue> {
    let lock = Reflect::get(&window().navigator(), &"wakeLock".into())?;
    let request: Function = Reflect::get(&lock, &"request".into())?.dyn_into()?;
    let asked: Promise = request.call1(&lock, &"screen".into())?.dyn_into()?;
    JsFuture::from(asked).await
}

fn release(lock: Option<&JsValue>) {
    let Some(lock) = lock else { return };
    let released = Reflect::get(lock, &"release".into())
        .and_then(|release| release.dyn_into::<Function>())
        .and_then(|release| release.call0(lock));
    if let Err(error) = released {
        leptos::logging::warn!("the screen is kept on for longer: {error:?}");
    }
}
