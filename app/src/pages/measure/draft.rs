//! Marks that are not saved yet are kept as a draft.

use leptos::prelude::*;
use serde::{Deserialize, Serialize};

use super::desk::{Desk, Stage};
use super::marks::{Marks, Step};
use super::words::Kept;

/// What is kept.
#[derive(Default, Serialize, Deserialize)]
struct Measured {
    step: Step,
    marks: Marks,
    words: Kept,
}

impl Desk {
    /// Reads the draft, if there is one.
    pub async fn restore(self) {
        let kept = self.draft.kept::<Measured>().await;
        // The page may be gone by now.
        if self.marks.is_disposed() {
            return;
        }
        if let Some(kept) = kept {
            self.words.set(kept.words);
            self.marks.set(kept.marks);
            self.step.set(kept.step);
        }
    }

    /// Keeps a draft from now on.
    pub fn keep_draft(self) {
        self.draft.keep(move || {
            let now = Measured { step: self.step.get(), marks: self.marks.get(), words: self.words.all() };
            // Until the photo is here, what was kept is being read.
            (matches!(self.stage.get(), Stage::Here(_)) && !now.marks.is_empty()).then_some(now)
        });
    }
}
