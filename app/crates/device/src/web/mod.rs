//! The device in a browser: IndexedDB, fetch, WebCrypto, Web Locks.
//!
//! It compiles for servers too, so that pages rendered there can name its
//! types; only a browser can run it.

mod browser;
mod fetch;
mod helper;
mod indexeddb;
mod js;
mod picture;

pub use browser::{Browser, Held};
pub use fetch::{Fetch, FetchStream};
pub use helper::Helper;
pub use indexeddb::IndexedDb;
pub use picture::{Shrinker, Thumb};

use wasm_bindgen::JsValue;
use wasm_bindgen::closure::Closure;

use crate::device::Device;
use crate::store::StoreError;

/// The device of this browser.
pub type WebDevice = Device<IndexedDb, Fetch, Browser>;

/// Opens this browser's device.
///
/// # Errors
/// When IndexedDB can't be opened.
pub async fn open() -> Result<WebDevice, StoreError> {
    let store = IndexedDb::open().await?;
    let browser = Browser::new(store.clone());
    Device::open(store, Fetch::new(), browser).await
}

/// Kicks the device whenever a try to sync is worthwhile: back online, page shown again. For the page's life.
pub fn kick_on_wake(device: &WebDevice) {
    let device = device.clone();
    let kick = Closure::<dyn Fn()>::new(move || {
        let hidden = js::global(&["document", "hidden"]).and_then(|hidden| hidden.as_bool());
        if hidden != Some(true) {
            device.kick();
        }
    })
    .into_js_value();
    let window: JsValue = js_sys::global().into();
    let document = js::global(&["document"]).unwrap_or_default();
    for (target, event) in [(&window, "online"), (&window, "pageshow"), (&document, "visibilitychange")] {
        // A page without one of them still has the timer and the button.
        let _ = js::call(target, "addEventListener", &[&event.into(), &kick]);
    }
}
