//! Listening to what the device tells, and reading what changed.

use std::sync::Arc;

use device::Event;
use device::web::{WebDevice, kick_on_wake};
use leptos::prelude::*;
use leptos::task::spawn_local;
use shared_types::ids::LogId;

use super::{Loaded, Store, is_known, update};
use crate::chunks;

impl Store {
    pub(super) fn start(self) {
        let device = self.device();
        // For the page's life: the store lives as long as the page.
        std::mem::forget(device.listen(move |event| self.hear(event)));
        self.reload_rows();
        update::watch(self);
        kick_on_wake(&device);
        if self.me.with_untracked(Option::is_some) {
            self.ask_to_persist();
        }
        chunks::sync(device);
    }

    /// Once somebody signed in, on the page that says why. Nothing waits for it: some browsers ask the person.
    fn ask_to_persist(self) {
        let device = self.device();
        spawn_local(async move {
            device.ask_to_persist().await;
        });
    }

    /// Events come from inside other calls to the device, so everything that calls it again waits its turn.
    fn hear(self, event: &Event) {
        match event {
            Event::Sync(state) => self.sync.set(state.clone()),
            Event::Log(log) => {
                self.reload(*log);
                self.reload_unsent_photos(*log);
            }
            Event::Photos(log) => self.reload_unsent_photos(*log),
            Event::Jobs => self.reload_rows(),
            Event::Session(me) => {
                let begins = me.is_some() && self.me.with_untracked(Option::is_none);
                self.me.set(me.clone());
                self.reload_all();
                if begins {
                    self.ask_to_persist();
                }
            }
        }
    }

    /// Reads a log's state again, if some screen has asked for it.
    pub(super) fn reload(self, log: LogId) {
        match log {
            LogId::Job(shop, job) => {
                if let Some(signal) = self.jobs.with_value(|jobs| jobs.get(&(shop, job)).copied()) {
                    self.read(async move |device| {
                        signal.set(match device.job(shop, job).await {
                            Ok(state) if is_known(&state) => Loaded::Here(Arc::new((*state).clone())),
                            Ok(_) => Loaded::Absent,
                            Err(error) => Loaded::Failed(error.to_string()),
                        });
                    });
                }
            }
            LogId::Shop(shop) => {
                if let Some(signal) = self.shops.with_value(|shops| shops.get(&shop).copied()) {
                    self.read(async move |device| match device.shop(shop).await {
                        Ok(state) => signal.set(Arc::new((*state).clone())),
                        Err(error) => self.warn(error.to_string()),
                    });
                }
            }
        }
    }

    /// Reads which photos of a log are only here, if some screen has asked for it.
    pub(super) fn reload_unsent_photos(self, log: LogId) {
        let Some(signal) = self.unsent_photos.with_value(|all| all.get(&log).copied()) else { return };
        self.read(async move |device| match device.unsent_photos(log).await {
            Ok(unsent) => signal.set(Arc::new(unsent)),
            Err(error) => self.warn(error.to_string()),
        });
    }

    /// Reads the list again; once for many events in a row.
    fn reload_rows(self) {
        if self.rows_asked_for.get_value() {
            return;
        }
        self.rows_asked_for.set_value(true);
        self.read(async move |device| {
            self.rows_asked_for.set_value(false);
            self.rows.set(match device.jobs().await {
                Ok(rows) => Loaded::Here(Arc::new(rows)),
                Err(error) => Loaded::Failed(error.to_string()),
            });
        });
    }

    fn reload_all(self) {
        self.reload_rows();
        for (shop, job) in self.jobs.with_value(|jobs| jobs.keys().copied().collect::<Vec<_>>()) {
            self.reload(LogId::Job(shop, job));
        }
        for log in self.unsent_photos.with_value(|all| all.keys().copied().collect::<Vec<_>>()) {
            self.reload_unsent_photos(log);
        }
        for shop in self.shops.with_value(|shops| shops.keys().copied().collect::<Vec<_>>()) {
            self.reload(LogId::Shop(shop));
        }
    }

    fn read(self, read: impl AsyncFnOnce(WebDevice) + 'static) {
        let device = self.device();
        spawn_local(async move { read(device).await });
    }
}
