//! Findings while they are written: they outlive whatever else happens to the step, and a killed tab.

use leptos::prelude::*;
use leptos::task::spawn_local;
use serde::{Deserialize, Serialize};
use shared_types::ids::{HoleId, LogId, StepId};
use shared_types::review::{PinPatch, Spot};

use super::pin::Pin;
use crate::draft::Draft;
use crate::store::use_store;

/// A finding while it is written.
#[derive(Clone, Copy, Default, PartialEq)]
pub struct Finding {
    /// What is to be put right.
    pub text: RwSignal<String>,
    /// What it points to.
    pub pin: Pin,
}

/// All that is written for one return.
#[derive(Clone, Copy)]
pub struct Drafts {
    /// The findings, in the order they were begun; at least one.
    pub findings: RwSignal<Vec<Finding>>,
    /// What is said besides.
    pub remark: RwSignal<String>,
    draft: Draft,
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
            findings: RwSignal::new(vec![Finding::default()]),
            remark: RwSignal::default(),
            draft: Draft::new(format!("{log}/{step}/return")),
        };
        drafts.restore();
        drafts.draft.keep(move || Some(drafts.now()).filter(|it| !it.is_empty()));
        use_store().hold_update_while(Signal::derive(move || !drafts.now().is_empty()));
        drafts
    }

    /// Begins another finding.
    pub fn another(self) {
        self.findings.update(|all| all.push(Finding::default()));
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
        if self.draft.forget() {
            self.findings.set(vec![Finding::default()]);
            self.remark.set(String::new());
        }
    }

    fn now(self) -> Kept {
        let finding = |it: &Finding| {
            let (target, spot) = it.pin.kept();
            KeptFinding { text: it.text.get(), target, spot }
        };
        Kept { remark: self.remark.get(), findings: self.findings.read().iter().map(finding).collect() }
    }

    fn restore(self) {
        spawn_local(async move {
            let kept = self.draft.kept::<Kept>().await.filter(|it| !it.is_empty());
            // The page may be gone, and what was typed meanwhile is newer than the draft.
            if self.findings.is_disposed() || untrack(|| !self.now().is_empty()) {
                return;
            }
            let Some(kept) = kept else { return };
            self.remark.set(kept.remark);
            let all = kept
                .findings
                .into_iter()
                .map(|it| Finding { text: RwSignal::new(it.text), pin: Pin::of(it.target, it.spot) });
            self.findings.set(all.collect());
        });
    }
}
