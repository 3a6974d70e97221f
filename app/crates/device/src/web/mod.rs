//! The device in a browser: IndexedDB, fetch, WebCrypto, Web Locks.
//!
//! It compiles for servers too, so that pages rendered there can name its
//! types; only a browser can run it.

mod browser;
mod fetch;
mod indexeddb;
mod picture;

pub use browser::Browser;
pub use fetch::Fetch;
pub use indexeddb::IndexedDb;
pub use picture::{Thumb, make_thumb};

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
    let _ = device;
    todo!()
}
