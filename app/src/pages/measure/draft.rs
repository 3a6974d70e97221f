//! Marks that are not saved yet are kept as a draft.

use std::time::Duration;

use leptos::leptos_dom::helpers::debounce;
use leptos::prelude::*;
use leptos::task::spawn_local;
use serde::{Deserialize, Serialize};

use super::desk::{Desk, Stage};
use super::marks::{Marks, Step};
use super::words::Kept;

/// How long after the last mark a draft is kept.
const DRAFT_AFTER: Duration = Duration::from_millis(200);

/// What is kept.
#[derive(Default, Serialize, Deserialize)]
struct Draft {
    step: Step,
    marks: Marks,
    words: Kept,
}

impl Desk {
    /// Forgets the draft: what was measured counts now.
    pub fn forget(self) {
        if let Some(name) = self.draft.try_get_value() {
            self.pending.set_value(None);
            self.put_draft(name, String::new());
        }
    }

    /// Reads the draft, if there is one.
    pub async fn restore(self) {
        let name = self.draft.get_value();
        let kept = self.store.device().draft(&name).await.ok().flatten();
        // The page may be gone by now.
        if self.marks.is_disposed() {
            return;
        }
        if let Some(draft) = kept.and_then(|kept| serde_json::from_str::<Draft>(&kept).ok()) {
            self.words.set(draft.words);
            self.marks.set(draft.marks);
            self.step.set(draft.step);
        }
    }

    /// Keeps a draft from now on.
    pub fn keep_draft(self) {
        let write = move || {
            if let Some(Some(text)) = self.pending.try_update_value(Option::take)
                && let Some(name) = self.draft.try_get_value()
            {
                self.put_draft(name, text);
            }
        };
        let mut soon = debounce(DRAFT_AFTER, move |()| write());
        Effect::new(move |was_kept: Option<bool>| {
            let draft = Draft { step: self.step.get(), marks: self.marks.get(), words: self.words.all() };
            // Until the photo is here, what was kept is being read.
            if !matches!(self.stage.get(), Stage::Here(_)) {
                return false;
            }
            let worth = !draft.marks.is_empty();
            if worth || was_kept == Some(true) {
                let text =
                    if worth { serde_json::to_string(&draft).unwrap_or_default() } else { String::new() };
                self.pending.set_value(Some(text));
                soon(());
            }
            worth
        });
        on_cleanup(write);
    }

    fn put_draft(self, name: String, text: String) {
        let (store, device) = (self.store, self.store.device());
        spawn_local(async move {
            if let Err(error) = device.keep_draft(&name, &text).await {
                store.warn(format!("The marks are not kept as a draft: {error}"));
            }
        });
    }
}
