//! A log's single changes: read when somebody wants to see them, and fetched then if the log was
//! opened by its state alone. Once they are all here, the state is what they say.

use shared_types::api::{Logged, Page};
use shared_types::change::Change;
use shared_types::ids::LogId;
use shared_types::time::UtcMillis;

use crate::device::{Device, LocalError};
use crate::log::Loaded;
use crate::rows::{generation_prefix, log_key, logged_key};
use crate::session::CallError;
use crate::settle::snapshot_if_due;
use crate::state::State;
use crate::store::{Batch, LocalStore, StoreError, Table, from_row};
use crate::surroundings::Surroundings;
use crate::transport::Transport;

/// How much of a log's history is on this device.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct History {
    /// The changes that are here one by one.
    pub here: u64,
    /// All that the server was known to have.
    pub all: u64,
}

impl History {
    /// Is every change here?
    #[must_use]
    pub const fn is_whole(self) -> bool {
        self.here >= self.all
    }
}

/// A change as it stands in its log.
#[derive(Clone, Debug, PartialEq)]
pub struct Recorded {
    /// Its place in the log.
    pub seq: u64,
    /// When the server received it.
    pub received: UtcMillis,
    /// The change; `None` when a newer version of the app is needed to read it.
    pub change: Option<Change>,
}

/// What follows a page of history.
enum Then {
    /// More of it.
    More,
    /// It is all here.
    Whole,
    /// The server went back in time.
    WentBack,
}

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// How much of a log's history is here.
    ///
    /// # Errors
    /// When the store can't be read.
    pub async fn history(&self, log: LogId) -> Result<History, StoreError> {
        let row = self.load(log).await?.row;
        // Fetched to the end, they are still to be folded.
        let missing = if row.base > 0 { (row.base - row.fetched).max(1) } else { 0 };
        Ok(History { here: row.pulled - missing, all: row.pulled })
    }

    /// A log's latest changes that are on this device, at most so many; the latest first.
    ///
    /// # Errors
    /// When the store can't be read.
    pub async fn recorded(&self, log: LogId, most: u64) -> Result<Vec<Recorded>, StoreError> {
        let row = self.load(log).await?.row;
        let after = logged_key(log, row.generation, row.pulled.saturating_sub(most));
        let prefix = generation_prefix(log, row.generation);
        let rows = self.inner.store.rows(Table::Logged, &prefix, Some(&after), usize::MAX).await?;
        let read = |(key, row): &(String, Vec<u8>)| {
            let Logged { seq, received, change } = from_row(Table::Logged, key, row)?;
            Ok(Recorded { seq, received, change: change.read().ok() })
        };
        rows.iter().rev().map(read).collect()
    }

    /// Fetches the single changes of a log that was opened by its state, and folds them: from then
    /// on the state is what they say. Goes on where it was broken off. Nothing to do for a log
    /// whose changes are all here.
    ///
    /// # Errors
    /// When the server can't be reached or refuses, or the store fails.
    pub async fn fetch_history(&self, log: LogId) -> Result<(), CallError> {
        loop {
            let row = self.load(log).await.map_err(LocalError::from)?.row;
            let fetched = row.fetched;
            if row.base == 0 {
                return Ok(());
            }
            let page = if fetched < row.base {
                self.page(log, fetched).await?
            } else {
                let epoch = row.epoch.unwrap_or_default();
                Page { epoch, head: row.pulled, changes: Vec::new() }
            };
            match self.take_history(log, fetched, &page).await.map_err(LocalError::from)? {
                Then::More => {}
                Then::Whole => return Ok(()),
                Then::WentBack => {
                    self.begin_rebuild(log, &page.epoch).await.map_err(LocalError::from)?;
                    return self.rebuild(log, false).await;
                }
            }
        }
    }

    async fn take_history(&self, log: LogId, since: u64, page: &Page) -> Result<Then, StoreError> {
        loop {
            let _turn = self.inner.writing.lock().await;
            let mut loaded = self.take(log).await?;
            let row = &mut loaded.row;
            // Another tab may be fetching it too.
            if row.base == 0 || row.fetched != since {
                return Ok(Then::More);
            }
            if row.epoch.as_ref() != Some(&page.epoch) || page.head < row.base || row.rebuild.is_some() {
                return Ok(Then::WentBack);
            }
            let mut batch = Batch::default();
            let whole = row.fetched >= row.base;
            for logged in page.changes.iter().filter(|logged| logged.seq <= row.base) {
                batch.put(Table::Logged, logged_key(log, row.generation, logged.seq), logged)?;
                row.fetched = logged.seq;
            }
            if whole {
                self.refold(log, &mut loaded, &mut batch).await?;
            }
            match self.write(log, loaded, batch).await {
                Err(StoreError::Stale) => {}
                done => return done.map(|()| if whole { Then::Whole } else { Then::More }),
            }
        }
    }

    /// Folds a log's changes from the first one on.
    async fn refold(&self, log: LogId, loaded: &mut Loaded, batch: &mut Batch) -> Result<(), StoreError> {
        let row = &mut loaded.row;
        (row.base, row.snapshot) = (0, 0);
        loaded.confirmed = self.fold_on(log, row.generation, None, State::empty(log)).await?;
        (loaded.shown, loaded.unsent) = self.with_outbox(log, loaded.confirmed.clone(), &[]).await?;
        batch.delete(Table::Snapshots, log_key(log));
        snapshot_if_due(log, loaded, batch)
    }
}
