//! Findings while they are written: they outlive whatever else happens to the step, and a killed tab.

use std::time::Duration;

use leptos::leptos_dom::helpers::debounce;
use leptos::prelude::*;
use leptos::task::spawn_local;
use serde::{Deserialize, Serialize};
use shared_types::ids::{HoleId, LogId, StepId};
use shared_types::review::{PinPatch, Spot};

use super::pin::Pin;
use crate::store::{Store, use_store};

/// How long after the last key a draft is kept.
const DRAFT_AFTER: Duration = Duration::from_millis(200);

/// A finding while it is written.
#[derive(Clone, Copy, Default, PartialEq)]
pub struct Draft {
    /// What is to be put right.
    pub text: RwSignal<String>,
    /// What it points to.
    pub pin: Pin,
}

/// All that is written for one return.
#[derive(Clone, Copy)]
pub struct Drafts {
    store: Store,
    /// The findings, in the order they were begun; at least one.
    pub findings: RwSignal<Vec<Draft>>,
    /// What is said besides.
    pub remark: RwSignal<String>,
    name: StoredValue<String>,
    // A draft that is not written yet.
    pending: StoredValue<Option<String>>,
}

/// What is kept of it.
#[derive(Default, Serialize, Deserialize)]
struct Kept {
    remark: String,
    findings: Vec<KeptFinding>,
}

#[derive(Default, PartialEq, Serialize, Deserialize)]
struct KeptFinding {
    text: String,
    target: String,
    spot: Option<(String, Spot)>,
}

impl Kept {
    fn is_empty(&self) -> bool {
        self.remark.trim().is_empty() && self.findings.iter().all(|it| it.text.trim().is_empty())
    }
}

impl Drafts {
    /// What is being written about a step, with what was written before the tab was closed.
    #[must_use]
    pub fn new(log: LogId, step: StepId) -> Self {
        let drafts = Self {
            store: use_store(),
            findings: RwSignal::new(vec![Draft::default()]),
            remark: RwSignal::default(),
            name: StoredValue::new(format!("{log}/{step}/return")),
            pending: StoredValue::new(None),
        };
        drafts.restore();
        drafts.keep();
        drafts.store.hold_update_while(Signal::derive(move || !drafts.now().is_empty()));
        drafts
    }

    /// Begins another finding.
    pub fn another(self) {
        self.findings.update(|all| all.push(Draft::default()));
    }

    /// How many findings say something.
    #[must_use]
    pub fn written(self) -> usize {
        self.now().findings.iter().filter(|it| !it.text.trim().is_empty()).count()
    }

    /// The findings that say something, with what they point to.
    #[must_use]
    pub fn to_send(self) -> Vec<(String, Option<PinPatch>)> {
        let all = self.findings.get_untracked();
        let all = all.into_iter().map(|it| (it.text.get_untracked().trim().to_owned(), it.pin.patch()));
        all.filter(|(text, _)| !text.is_empty()).collect()
    }

    /// The holes that are pointed to.
    #[must_use]
    pub fn holes(self) -> Vec<HoleId> {
        self.findings.read().iter().filter_map(|it| it.pin.hole()).collect()
    }

    /// Forgets it all: it was sent.
    pub fn forget(self) {
        // The page may be gone when the changes are saved.
        if let Some(name) = self.name.try_get_value() {
            self.findings.set(vec![Draft::default()]);
            self.remark.set(String::new());
            self.pending.set_value(None);
            put(self.store, name, String::new());
        }
    }

    fn now(self) -> Kept {
        let finding = |it: &Draft| {
            let (target, spot) = it.pin.kept();
            KeptFinding { text: it.text.get(), target, spot }
        };
        Kept { remark: self.remark.get(), findings: self.findings.read().iter().map(finding).collect() }
    }

    fn restore(self) {
        let device = self.store.device();
        let name = self.name.get_value();
        spawn_local(async move {
            let kept = device.draft(&name).await.ok().flatten();
            let kept =
                kept.and_then(|kept| serde_json::from_str::<Kept>(&kept).ok()).filter(|it| !it.is_empty());
            // The page may be gone, and what was typed meanwhile is newer than the draft.
            if self.findings.is_disposed() || untrack(|| !self.now().is_empty()) {
                return;
            }
            let Some(kept) = kept else { return };
            self.remark.set(kept.remark);
            let all = kept
                .findings
                .into_iter()
                .map(|it| Draft { text: RwSignal::new(it.text), pin: Pin::of(it.target, it.spot) });
            self.findings.set(all.collect());
        });
    }

    fn keep(self) {
        let name = self.name.get_value();
        let write = move || {
            if let Some(Some(text)) = self.pending.try_update_value(Option::take) {
                put(self.store, name.clone(), text);
            }
        };
        let at_last = write.clone();
        let mut soon = debounce(DRAFT_AFTER, move |()| write());
        Effect::new(move |was_kept: Option<bool>| {
            let now = self.now();
            let worth = !now.is_empty();
            if worth || was_kept == Some(true) {
                let text =
                    if worth { serde_json::to_string(&now).unwrap_or_default() } else { String::new() };
                self.pending.set_value(Some(text));
                soon(());
            }
            worth
        });
        on_cleanup(at_last);
    }
}

fn put(store: Store, name: String, text: String) {
    let device = store.device();
    spawn_local(async move {
        if let Err(error) = device.keep_draft(&name, &text).await {
            store.warn(format!("The findings are not kept as a draft: {error}"));
        }
    });
}
