//! The one store: what the screens read, and the only way to write.
//!
//! Signals are written here and nowhere else. Views read them and call
//! [`Store::dispatch`]; the device signs, keeps and folds the changes, and what
//! comes of it returns through the signals.

use std::sync::Arc;

use leptos::prelude::*;
use shared_types::api::Me;
use shared_types::ids::{JobId, ShopId};
use shared_types::status::JobSummary;
use shared_types::time::UtcMillis;

use crate::clock;

/// How far the app has come.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Phase {
    /// The first paint: what the server rendered.
    Starting,
    /// The device's store is open.
    Ready,
    /// It can't be opened; why, for people.
    Failed(String),
}

/// Something that is read from the device's own store.
#[derive(Clone, Debug, PartialEq)]
pub enum Loaded<T> {
    /// Being read.
    Loading,
    /// Not on this device.
    Absent,
    /// Here it is.
    Here(Arc<T>),
}

impl<T> Loaded<T> {
    /// What was read, if it is here.
    #[must_use]
    pub fn here(&self) -> Option<&Arc<T>> {
        match self {
            Self::Here(it) => Some(it),
            Self::Loading | Self::Absent => None,
        }
    }
}

/// A job in the list.
#[derive(Clone, Debug, PartialEq)]
pub struct JobRow {
    /// Its shop.
    pub shop: ShopId,
    /// The job.
    pub job: JobId,
    /// What the list shows.
    pub summary: JobSummary,
    /// Changes and photos of it that are only on this device.
    pub unsent: usize,
}

/// The one store.
#[derive(Clone, Copy)]
pub struct Store {
    phase: RwSignal<Phase>,
    me: RwSignal<Option<Me>>,
    jobs: RwSignal<Arc<Vec<JobRow>>>,
    now: RwSignal<UtcMillis>,
}

impl Store {
    /// A store that has not been opened.
    #[must_use]
    pub fn new() -> Self {
        Self {
            phase: RwSignal::new(Phase::Starting),
            me: RwSignal::new(None),
            jobs: RwSignal::default(),
            now: RwSignal::new(clock::now()),
        }
    }

    /// How far the app has come.
    #[must_use]
    pub fn phase(self) -> Signal<Phase> {
        self.phase.into()
    }

    /// Who is signed in on this device.
    #[must_use]
    pub fn me(self) -> Signal<Option<Me>> {
        self.me.into()
    }

    /// The jobs that this device knows.
    #[must_use]
    pub fn jobs(self) -> Signal<Arc<Vec<JobRow>>> {
        self.jobs.into()
    }

    /// The moment now; it ticks each second while something on the screen counts down.
    #[must_use]
    pub fn now(self) -> Signal<UtcMillis> {
        self.now.into()
    }
}

impl Default for Store {
    fn default() -> Self {
        Self::new()
    }
}

/// The store, from any view.
///
/// # Panics
/// Outside of [`crate::app::App`], which provides it.
#[must_use]
pub fn use_store() -> Store {
    expect_context()
}
