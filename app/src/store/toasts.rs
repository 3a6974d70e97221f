//! What is said in passing: what was done, with the way to take it back, and what went wrong.

use std::time::Duration;

use leptos::prelude::*;
use shared_types::body::Known;
use shared_types::ids::LogId;

/// How long a remark stays. What it offers stays reachable on the sync page.
const STAYS: Duration = Duration::from_secs(10);
/// How many remarks are shown at a time.
const SHOWN_MOST: usize = 2;
/// How many deeds can be taken back on the sync page.
const RECENT_MOST: usize = 50;

/// Something done on this device, and how to take it back.
#[derive(Clone, Debug, PartialEq)]
pub struct Done {
    /// Counts up.
    pub id: u64,
    /// What was done, in a few words.
    pub text: String,
    /// In which log.
    pub log: LogId,
    /// The changes that take it back.
    pub undo: Vec<Known>,
}

/// A remark.
#[derive(Clone, Debug, PartialEq)]
pub struct Toast {
    /// Counts up.
    pub id: u64,
    /// What is said.
    pub text: String,
    /// Did something go wrong? Such a remark stays until it is dismissed.
    pub warning: bool,
    /// What it offers to take back.
    pub done: Option<Done>,
}

#[derive(Clone, Copy, Default)]
pub(super) struct Toasts {
    shown: RwSignal<Vec<Toast>>,
    recent: RwSignal<Vec<Done>>,
    counter: StoredValue<u64>,
}

impl Toasts {
    pub(super) fn shown(self) -> Signal<Vec<Toast>> {
        self.shown.into()
    }

    pub(super) fn recent(self) -> Signal<Vec<Done>> {
        self.recent.into()
    }

    /// Something was done. What can't be taken back is only said.
    pub(super) fn done(self, text: String, log: LogId, undo: Vec<Known>) {
        let id = self.next();
        let done = (!undo.is_empty()).then(|| Done { id, text: text.clone(), log, undo });
        if let Some(done) = done.clone() {
            self.recent.update(|recent| {
                recent.insert(0, done);
                recent.truncate(RECENT_MOST);
            });
        }
        self.show(Toast { id, text, warning: false, done });
    }

    pub(super) fn say(self, text: String) {
        self.show(Toast { id: self.next(), text, warning: false, done: None });
    }

    pub(super) fn warn(self, text: String) {
        self.show(Toast { id: self.next(), text, warning: true, done: None });
    }

    pub(super) fn dismiss(self, id: u64) {
        self.shown.update(|shown| shown.retain(|toast| toast.id != id));
    }

    /// A deed was taken back: it can't be taken back twice.
    pub(super) fn forget(self, id: u64) {
        self.dismiss(id);
        self.recent.update(|recent| recent.retain(|done| done.id != id));
    }

    fn show(self, toast: Toast) {
        let (id, warning) = (toast.id, toast.warning);
        self.shown.update(|shown| {
            shown.push(toast);
            trim(shown);
        });
        if !warning {
            set_timeout(move || self.dismiss(id), STAYS);
        }
    }

    fn next(self) -> u64 {
        self.counter.update_value(|counter| *counter += 1);
        self.counter.get_value()
    }
}

/// Drops the oldest remark over the limit; warnings go last.
fn trim(shown: &mut Vec<Toast>) {
    while shown.len() > SHOWN_MOST {
        let oldest = shown.iter().position(|toast| !toast.warning).unwrap_or(0);
        shown.remove(oldest);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_warning_outlives_the_remarks_that_come_after_it() {
        let toast = |id, warning| Toast { id, text: String::new(), warning, done: None };
        let mut shown = vec![toast(1, true), toast(2, false), toast(3, false)];
        trim(&mut shown);
        assert_eq!(shown.iter().map(|toast| toast.id).collect::<Vec<_>>(), [1, 3]);
        let mut shown = vec![toast(1, true), toast(2, true), toast(3, true)];
        trim(&mut shown);
        assert_eq!(shown.len(), SHOWN_MOST);
    }
}
