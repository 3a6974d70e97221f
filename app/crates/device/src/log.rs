//! A log on this device: loaded, folded, kept at hand, and written.

use std::collections::BTreeMap;

use shared_types::api::Logged;
use shared_types::change::{Change, Entry, SignedChange};
use shared_types::fold;
use shared_types::ids::LogId;

use crate::device::Device;
use crate::event::Event;
use crate::rows::{LogRow, generation_prefix, log_key, logged_key, user_log_prefix};
use crate::state::State;
use crate::store::{Batch, LocalStore, StoreError, Table, from_row, to_row};
use crate::surroundings::Surroundings;
use crate::transport::Transport;

/// How many logs are kept at hand.
const AT_HAND: usize = 6;
/// Rows read at a time.
const ROWS: usize = 1_000;

/// A log as this tab knows it.
#[derive(Clone, Debug)]
pub(crate) struct Loaded {
    /// The row's bytes as read: a commit requires that they are still the same.
    pub stored: Option<Vec<u8>>,
    pub row: LogRow,
    /// What the server has.
    pub confirmed: State,
    /// That, and what waits in the outbox.
    pub shown: State,
    /// How many changes wait in the outbox.
    pub unsent: usize,
}

impl Loaded {
    /// Folds in what the server has; `shown` follows.
    pub(crate) fn confirm(&mut self, log: LogId, entries: &[Entry]) {
        if self.unsent == 0 {
            // One state for both: not shared while it changes, so that it is not copied.
            self.shown = State::empty(log);
            entries.iter().for_each(|entry| self.confirmed.apply(entry));
            self.shown = self.confirmed.clone();
        } else {
            for entry in entries {
                self.confirmed.apply(entry);
                self.shown.apply(entry);
            }
        }
    }
}

/// The logs at hand.
#[derive(Default)]
pub(crate) struct Cache {
    logs: BTreeMap<LogId, (u64, Loaded)>,
    uses: u64,
}

impl Cache {
    fn get(&mut self, log: LogId) -> Option<Loaded> {
        self.uses += 1;
        let (used, loaded) = self.logs.get_mut(&log)?;
        *used = self.uses;
        Some(loaded.clone())
    }

    pub(crate) fn forget(&mut self, log: LogId) -> Option<Loaded> {
        self.logs.remove(&log).map(|(_, loaded)| loaded)
    }

    fn put(&mut self, log: LogId, loaded: Loaded) {
        // A slow reader must not put an older state over a newer one.
        if self.logs.get(&log).is_some_and(|(_, newer)| newer.row.version > loaded.row.version) {
            return;
        }
        self.uses += 1;
        self.logs.insert(log, (self.uses, loaded));
        if self.logs.len() > AT_HAND
            && let Some(oldest) = self.logs.iter().min_by_key(|(_, (used, _))| *used).map(|(log, _)| *log)
        {
            self.logs.remove(&oldest);
        }
    }
}

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// The log, from memory or from the store.
    pub(crate) async fn load(&self, log: LogId) -> Result<Loaded, StoreError> {
        if let Some(loaded) = self.inner.now.borrow_mut().cache.get(log) {
            return Ok(loaded);
        }
        loop {
            let user = self.user();
            let loaded = self.read(log).await?;
            // Another writer may have come between the reads: what was read must belong together.
            let now = self.inner.store.get(Table::Logs, &log_key(log)).await?;
            if now == loaded.stored && user == self.user() {
                self.inner.now.borrow_mut().cache.put(log, loaded.clone());
                return Ok(loaded);
            }
        }
    }

    /// The log, to be changed and written: not kept at hand meanwhile, so that its states are
    /// not shared and need not be copied. Only while holding `writing`.
    pub(crate) async fn take(&self, log: LogId) -> Result<Loaded, StoreError> {
        self.load(log).await?;
        let taken = self.inner.now.borrow_mut().cache.forget(log);
        match taken {
            Some(loaded) => Ok(loaded),
            None => self.read(log).await,
        }
    }

    async fn read(&self, log: LogId) -> Result<Loaded, StoreError> {
        let key = log_key(log);
        let stored = self.inner.store.get(Table::Logs, &key).await?;
        let mut row = stored.as_deref().map(LogRow::read).unwrap_or_default();
        let confirmed = self.read_confirmed(log, &mut row).await?;
        let (shown, unsent) = self.with_outbox(log, confirmed.clone(), &[]).await?;
        Ok(Loaded { stored, row, confirmed, shown, unsent })
    }

    async fn read_confirmed(&self, log: LogId, row: &mut LogRow) -> Result<State, StoreError> {
        let snapshot = self.inner.store.get(Table::Snapshots, &log_key(log)).await?;
        // Another version's state can't be folded anew from here, but shown until that is fetched.
        let fold = if row.base > 0 { row.fold.clone() } else { fold::name() };
        let opened = snapshot.and_then(|bytes| State::from_snapshot(log, row.generation, &fold, &bytes));
        if opened.is_none() {
            row.fold.clear();
        }
        let (state, seq) = opened.unwrap_or_else(|| (State::empty(log), 0));
        self.fold_on(log, row.generation, Some(logged_key(log, row.generation, seq)), state).await
    }

    /// Folds the stored changes of one generation after a key into a state.
    pub(crate) async fn fold_on(
        &self,
        log: LogId,
        generation: u32,
        after: Option<String>,
        mut state: State,
    ) -> Result<State, StoreError> {
        self.each_logged(log, generation, after, |_, entry| {
            if let Some(entry) = entry {
                state.apply(&entry);
            }
        })
        .await?;
        Ok(state)
    }

    /// Every stored change of one generation after a key, in order. A change that this version
    /// can't read comes as `None`: kept, not folded.
    pub(crate) async fn each_logged(
        &self,
        log: LogId,
        generation: u32,
        mut after: Option<String>,
        mut each: impl FnMut(Logged, Option<Entry>),
    ) -> Result<(), StoreError> {
        let prefix = generation_prefix(log, generation);
        loop {
            let rows = self.inner.store.rows(Table::Logged, &prefix, after.as_deref(), ROWS).await?;
            for (key, row) in &rows {
                let logged: Logged = from_row(Table::Logged, key, row)?;
                let entry = entry_of(&logged);
                each(logged, entry);
            }
            match rows.into_iter().next_back() {
                Some((last, _)) => after = Some(last),
                None => return Ok(()),
            }
        }
    }

    /// A confirmed state with the outbox folded in, but for some of its rows; and how many rows that were.
    pub(crate) async fn with_outbox(
        &self,
        log: LogId,
        mut state: State,
        without: &[String],
    ) -> Result<(State, usize), StoreError> {
        let Some(user) = self.user() else {
            return Ok((state, 0));
        };
        let prefix = user_log_prefix(user, log);
        let rows = self.inner.store.rows(Table::Outbox, &prefix, None, usize::MAX).await?;
        let mut unsent = 0;
        for (key, row) in rows.iter().filter(|(key, _)| !without.contains(key)) {
            // What can't be read is put aside when it is to be sent.
            let Ok(signed) = from_row::<SignedChange>(Table::Outbox, key, row) else {
                continue;
            };
            unsent += 1;
            if let Ok(change) = signed.read() {
                state.apply(&Entry::from(change));
            }
        }
        Ok((state, unsent))
    }

    /// Writes rows of the outbox that were not made just now, and folds them in.
    pub(crate) async fn requeue(&self, log: LogId, batch: Batch) -> Result<(), StoreError> {
        loop {
            let _turn = self.inner.writing.lock().await;
            let mut loaded = self.load(log).await?;
            for (_, key, row) in batch.rows.iter().filter(|(table, ..)| *table == Table::Outbox) {
                let Some(row) = row else { continue };
                let signed: SignedChange = from_row(Table::Outbox, key, row)?;
                if let Ok(change) = signed.read() {
                    loaded.shown.apply(&Entry::from(change));
                }
                loaded.unsent += 1;
            }
            match self.write(log, loaded, batch.clone()).await {
                Err(StoreError::Stale) => drop(self.inner.now.borrow_mut().cache.forget(log)),
                done => return done,
            }
        }
    }

    /// Commits a batch together with the log's row, and keeps the log at hand as it is then.
    ///
    /// # Errors
    /// [`StoreError::Stale`] when another tab wrote to the log since it was loaded.
    pub(crate) async fn write(
        &self,
        log: LogId,
        mut loaded: Loaded,
        mut batch: Batch,
    ) -> Result<(), StoreError> {
        let key = log_key(log);
        batch.require(Table::Logs, key.clone(), loaded.stored.take());
        loaded.row.version += 1;
        loaded.row.summary = loaded.shown.summary();
        let bytes = to_row(&loaded.row)?;
        batch.put_bytes(Table::Logs, key, bytes.clone());
        loaded.stored = Some(bytes);
        self.inner.store.commit(batch).await?;
        self.inner.now.borrow_mut().cache.put(log, loaded);
        self.emit(Event::Log(log));
        if log.job().is_some() {
            self.emit(Event::Jobs);
        }
        Ok(())
    }
}

/// A logged change as the fold takes it; `None` when this version can't read it.
pub(crate) fn entry_of(logged: &Logged) -> Option<Entry> {
    let change: Change = logged.change.read().ok()?;
    Some(Entry { change, received: Some(logged.received) })
}
