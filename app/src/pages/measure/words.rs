//! What is said about the marks: typed, chosen, ticked.

use std::collections::BTreeMap;

use leptos::prelude::*;
use serde::{Deserialize, Serialize};

use super::question::Said;

/// Texts and choices by name, with what they are at first. The card is ISO/IEC 7810 ID-1: the size
/// as published, from memory that an unused one is at most 0.13 mm off.
const TEXTS: [(&str, &str); 12] = [
    ("reference", "rectangle"),
    ("width", "85.60 mm"),
    ("height", "53.98 mm"),
    ("length", ""),
    ("doubt", "0.13 mm"),
    ("lens", "phone"),
    ("origin", "beside-first"),
    ("along", "edge"),
    ("x0", "0"),
    ("y0", "0"),
    ("first", ""),
    ("units", ""),
];
const TICKS: [(&str, bool); 5] =
    [("turned", false), ("mirrored", false), ("again", false), ("loose", false), ("edges", false)];

/// What is typed, chosen and ticked. A handle: copies are the same words.
#[derive(Clone, Copy)]
pub struct Words {
    texts: StoredValue<Vec<RwSignal<String>>>,
    ticks: StoredValue<Vec<RwSignal<bool>>>,
}

impl Words {
    /// As they are at first.
    #[must_use]
    pub fn new() -> Self {
        Self {
            texts: StoredValue::new(TEXTS.map(|(_, text)| RwSignal::new(text.to_owned())).to_vec()),
            ticks: StoredValue::new(TICKS.map(|(_, tick)| RwSignal::new(tick)).to_vec()),
        }
    }

    /// A text or choice, by its name. A name that there isn't gives a text that goes nowhere.
    #[must_use]
    pub fn of_text(self, name: &str) -> RwSignal<String> {
        let at = TEXTS.iter().position(|(it, _)| *it == name);
        debug_assert!(at.is_some(), "no text {name}");
        at.and_then(|at| self.texts.with_value(|texts| texts.get(at).copied())).unwrap_or_default()
    }

    /// A tick, by its name.
    #[must_use]
    pub fn of_tick(self, name: &str) -> RwSignal<bool> {
        let at = TICKS.iter().position(|(it, _)| *it == name);
        debug_assert!(at.is_some(), "no tick {name}");
        at.and_then(|at| self.ticks.with_value(|ticks| ticks.get(at).copied())).unwrap_or_default()
    }
}

impl Words {
    /// All of them, to be kept.
    #[must_use]
    pub fn all(self) -> Kept {
        Kept {
            texts: TEXTS.map(|(name, _)| (name.to_owned(), self.of_text(name).get())).into(),
            ticks: TICKS.map(|(name, _)| (name.to_owned(), self.of_tick(name).get())).into(),
        }
    }

    /// Sets what was kept; what a version of this app doesn't know is left out.
    pub fn set(self, kept: Kept) {
        for (name, _) in TEXTS {
            if let Some(text) = kept.texts.get(name) {
                self.of_text(name).set(text.clone());
            }
        }
        for (name, _) in TICKS {
            if let Some(tick) = kept.ticks.get(name) {
                self.of_tick(name).set(*tick);
            }
        }
    }
}

/// Texts and ticks by name, as they are kept.
#[derive(Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Kept {
    texts: BTreeMap<String, String>,
    ticks: BTreeMap<String, bool>,
}

impl Said for Words {
    fn text(&self, name: &'static str) -> String {
        self.of_text(name).get()
    }

    fn tick(&self, name: &'static str) -> bool {
        self.of_tick(name).get()
    }
}
