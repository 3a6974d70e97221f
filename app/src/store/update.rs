//! A new version of the app: noticed, offered, and changed over to when the person agrees.

use std::time::Duration;

use leptos::prelude::*;
use leptos::task::spawn_local;
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::{ServiceWorker, ServiceWorkerContainer, ServiceWorkerRegistration};

use super::Store;
use crate::page;

/// How soon a worker that was asked to take over, and hasn't, is asked again.
const ASK_AGAIN: Duration = Duration::from_millis(500);
/// How often it is asked before the person is told.
const ASKED_MOST: u32 = 20;
const NOT_YET: &str =
    "The new version could not take over yet. Close the other tabs of Faying, then try again.";

/// Where a new version of the app stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NewVersion {
    /// There is none.
    None,
    /// It is stored, and waits for the person's word.
    Waiting,
    /// It is taking over; the page reloads once it has.
    TakingOver,
    /// Another tab changed over; this one still runs the old version.
    TookOver,
}

impl Store {
    /// Is there a new version to offer? Held back while a form holds unsaved text, or a photo is being saved.
    #[must_use]
    pub fn update_on_offer(self) -> Signal<bool> {
        Signal::derive(move || {
            let typing = self.forms.with(|forms| forms.iter().any(|dirty| dirty.try_get() == Some(true)));
            let saving = !self.captures.read().is_empty();
            !typing && !saving && matches!(self.new_version.get(), NewVersion::Waiting | NewVersion::TookOver)
        })
    }

    /// While the calling view is shown, and `dirty` says that it holds unsaved text, no new version is offered.
    pub fn hold_update_while(self, dirty: Signal<bool>) {
        self.forms.update(|forms| forms.push(dirty));
        on_cleanup(move || self.forms.update(|forms| forms.retain(|form| *form != dirty)));
    }

    /// Changes over to the new version.
    pub fn take_update(self) {
        if self.new_version.get_untracked() == NewVersion::TookOver {
            page::reload();
            return;
        }
        self.new_version.set(NewVersion::TakingOver);
        self.ask_to_take_over(ASKED_MOST);
    }

    /// Is a new version about to reload the page?
    #[must_use]
    pub fn changing_over(self) -> Signal<bool> {
        Signal::derive(move || self.new_version.get() == NewVersion::TakingOver)
    }

    /// Asks until the page is reloaded by the change of worker. Once is not enough: a request
    /// that comes to the old worker just then makes Chromium leave the new one waiting.
    fn ask_to_take_over(self, left: u32) {
        if left == 0 {
            self.new_version.set(NewVersion::Waiting);
            self.toasts.warn(NOT_YET.to_owned());
            return;
        }
        spawn_local(async move {
            let waiting = registration().await.and_then(|registration| registration.waiting());
            let asked = waiting.map(|worker| worker.post_message(&activate()));
            if matches!(asked, Some(Ok(()))) {
                set_timeout(move || self.ask_to_take_over(left - 1), ASK_AGAIN);
            } else {
                // It is not waiting any more: whichever is in control answers the reload.
                page::reload();
            }
        });
    }
}

/// Watches for a new version, for the page's life.
pub(super) fn watch(store: Store) {
    let Some(container) = container() else { return };
    // The first worker of all takes control without any change of version.
    let had_worker = container.controller().is_some();
    listen(&container, "controllerchange", move || match store.new_version.get_untracked() {
        NewVersion::TakingOver => page::reload(),
        NewVersion::None | NewVersion::Waiting if had_worker => store.new_version.set(NewVersion::TookOver),
        _ => {}
    });
    spawn_local(async move {
        let Ok(ready) = container.ready() else { return };
        let Ok(registration) = JsFuture::from(ready).await else { return };
        let registration: ServiceWorkerRegistration = registration.unchecked_into();
        if registration.waiting().is_some() && container.controller().is_some() {
            store.new_version.set(NewVersion::Waiting);
        }
        let found = registration.clone();
        listen(&registration, "updatefound", move || {
            if let Some(worker) = found.installing() {
                offer_once_installed(store, worker);
            }
        });
    });
}

fn offer_once_installed(store: Store, worker: ServiceWorker) {
    let watched = worker.clone();
    listen(&watched, "statechange", move || {
        let in_control = container().and_then(|container| container.controller()).is_some();
        if worker.state() == web_sys::ServiceWorkerState::Installed && in_control {
            store.new_version.set(NewVersion::Waiting);
        }
    });
}

/// Browsers offer workers on secure pages only.
fn container() -> Option<ServiceWorkerContainer> {
    let navigator = window().navigator();
    let offered = js_sys::Reflect::has(&navigator, &JsValue::from_str("serviceWorker")).unwrap_or(false);
    offered.then(|| navigator.service_worker())
}

async fn registration() -> Option<ServiceWorkerRegistration> {
    let found = JsFuture::from(container()?.get_registration()).await.ok()?;
    found.dyn_into().ok()
}

fn activate() -> JsValue {
    let message = js_sys::Object::new();
    // Setting a property of a fresh object can't fail.
    let set = js_sys::Reflect::set(&message, &"type".into(), &"activate".into());
    debug_assert!(set.is_ok());
    message.into()
}

fn listen(target: &web_sys::EventTarget, event: &str, heard: impl Fn() + 'static) {
    let closure = Closure::<dyn Fn()>::new(heard);
    let added = target.add_event_listener_with_callback(event, closure.as_ref().unchecked_ref());
    debug_assert!(added.is_ok(), "only a null callback is refused");
    // For the page's life.
    closure.forget();
}
