//! The moment now, ticking each second only while something on the screen counts down.

use std::time::Duration;

use leptos::leptos_dom::helpers::IntervalHandle;
use leptos::prelude::*;
use shared_types::time::UtcMillis;

use super::use_store;
use crate::clock;

#[derive(Clone, Copy)]
pub(super) struct Ticker {
    now: RwSignal<UtcMillis>,
    watchers: StoredValue<usize>,
    interval: StoredValue<Option<IntervalHandle>>,
}

impl Default for Ticker {
    fn default() -> Self {
        Self {
            now: RwSignal::new(clock::now()),
            watchers: StoredValue::new(0),
            interval: StoredValue::new(None),
        }
    }
}

impl Ticker {
    fn watch(self) {
        self.now.set(clock::now());
        self.watchers.update_value(|watchers| *watchers += 1);
        if self.interval.with_value(Option::is_none) {
            // Without a timer the moment stands still; what it is compared with stays right.
            let tick = set_interval_with_handle(move || self.now.set(clock::now()), Duration::from_secs(1));
            self.interval.set_value(tick.ok());
        }
    }

    fn unwatch(self) {
        self.watchers.update_value(|watchers| *watchers = watchers.saturating_sub(1));
        if self.watchers.get_value() == 0
            && let Some(interval) = self.interval.try_update_value(Option::take).flatten()
        {
            interval.clear();
        }
    }
}

/// The moment now, ticking each second for as long as the calling view is shown.
#[must_use]
pub fn use_ticking_now() -> Signal<UtcMillis> {
    let ticker = use_store().ticker;
    ticker.watch();
    on_cleanup(move || ticker.unwatch());
    ticker.now.into()
}
