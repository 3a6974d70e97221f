//! What is typed and not saved yet: kept under a name, so that it outlives a killed tab.

use std::time::Duration;

use leptos::leptos_dom::helpers::debounce;
use leptos::prelude::*;
use leptos::task::spawn_local;
use serde::Serialize;
use serde::de::DeserializeOwned;

use crate::store::{Store, use_store};

/// How long after the last key it is kept: soon enough for the camera that kills the tab.
const KEPT_AFTER: Duration = Duration::from_millis(200);

/// A draft. A handle: copies are the same draft.
#[derive(Clone, Copy)]
pub struct Draft {
    store: Store,
    name: StoredValue<String>,
    // What is not written yet.
    pending: StoredValue<Option<String>>,
}

impl Draft {
    /// The draft of this name.
    #[must_use]
    pub fn new(name: String) -> Self {
        Self { store: use_store(), name: StoredValue::new(name), pending: StoredValue::new(None) }
    }

    /// What was kept, if anything was that can be read. The page may be gone when this comes back.
    pub async fn kept<T: DeserializeOwned>(self) -> Option<T> {
        let name = self.name.try_get_value()?;
        match self.store.device().draft(&name).await {
            // A draft that another version wrote otherwise is none.
            Ok(kept) => serde_json::from_str(&kept?).ok(),
            Err(error) => {
                self.store.warn(format!("What was typed here before can't be read: {error}"));
                None
            }
        }
    }

    /// Keeps what `now` says from now on; nothing when it says that nothing is worth it.
    pub fn keep<T: Serialize>(self, now: impl Fn() -> Option<T> + 'static) {
        let name = self.name.get_value();
        let write = move || {
            if let Some(Some(text)) = self.pending.try_update_value(Option::take) {
                self.put(name.clone(), text);
            }
        };
        let at_last = write.clone();
        let mut soon = debounce(KEPT_AFTER, move |()| write());
        Effect::new(move |was_kept: Option<bool>| {
            let now = now();
            let worth = now.is_some();
            if worth || was_kept == Some(true) {
                let text = now.and_then(|now| serde_json::to_string(&now).ok()).unwrap_or_default();
                self.pending.set_value(Some(text));
                soon(());
            }
            worth
        });
        // A sheet that is closed at once keeps what was typed all the same.
        on_cleanup(at_last);
    }

    /// Forgets it: what was typed counts now, or is not wanted. False when its page is gone: then the last of
    /// it was written already.
    pub fn forget(self) -> bool {
        let Some(name) = self.name.try_get_value() else { return false };
        self.pending.set_value(None);
        self.put(name, String::new());
        true
    }

    fn put(self, name: String, text: String) {
        let (store, device) = (self.store, self.store.device());
        spawn_local(async move {
            if let Err(error) = device.keep_draft(&name, &text).await {
                store.warn(format!("What you enter is not kept as a draft: {error}"));
            }
        });
    }
}
