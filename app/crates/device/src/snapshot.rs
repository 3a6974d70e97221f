//! Opening a log by its state rather than by its history, and fetching the history when it is wanted.
//!
//! Only a log that this device never wrote into is opened so: whatever it made itself it holds as
//! single changes, because a server that was restored from a backup asks for them again. What others
//! made before the snapshot is here as the server folded it: as far as anything pulled, that is the
//! server's word. Once the history is here, the state is what its changes say.

use serde_json::Value;
use shared_types::api::{Page, Snapshot};
use shared_types::fold;
use shared_types::ids::LogId;

use crate::call::{LARGE, changes_path, read, request, success};
use crate::device::{Device, LocalError};
use crate::log::Loaded;
use crate::rows::{Base, LogRow, SignedIn, chain_key, log_key, logged_key};
use crate::session::CallError;
use crate::settle::snapshot_if_due;
use crate::state::State;
use crate::store::{Batch, LocalStore, StoreError, Table};
use crate::surroundings::Surroundings;
use crate::transport::{Body, Method, Transport};

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
    /// Opens a log by the server's snapshot, if nothing of it is here and the server has one.
    pub(crate) async fn open_by_snapshot(&self, log: LogId) -> Result<(), CallError> {
        let signed_in = self.signed_in()?;
        let loaded = self.load(log).await.map_err(LocalError::from)?;
        if !self.is_new_here(&signed_in, log, &loaded).await.map_err(LocalError::from)? {
            return Ok(());
        }
        let Some(snapshot) = self.ask_snapshot(log).await? else {
            return Ok(());
        };
        loop {
            let _turn = self.inner.writing.lock().await;
            if self.user() != Some(signed_in.me.user) {
                return Err(LocalError::NotSignedIn.into());
            }
            match self.try_open(&signed_in, log, &snapshot).await {
                Err(StoreError::Stale) => {}
                done => return Ok(done.map_err(LocalError::from)?),
            }
        }
    }

    /// Has this device nothing of the log, and did it never write into it?
    async fn is_new_here(
        &self,
        signed_in: &SignedIn,
        log: LogId,
        loaded: &Loaded,
    ) -> Result<bool, StoreError> {
        let LogRow { pulled, rebuild, has_strays, .. } = &loaded.row;
        if *pulled > 0 || rebuild.is_some() || *has_strays || loaded.unsent > 0 {
            return Ok(false);
        }
        let chain = self.inner.store.get(Table::Meta, &chain_key(signed_in.device, log)).await?;
        Ok(chain.is_none())
    }

    async fn try_open(
        &self,
        signed_in: &SignedIn,
        log: LogId,
        snapshot: &Snapshot<State>,
    ) -> Result<(), StoreError> {
        let mut loaded = self.take(log).await?;
        if !self.is_new_here(signed_in, log, &loaded).await? {
            return Ok(());
        }
        let seq = snapshot.last.seq;
        let mut batch = Batch::default();
        loaded.row = LogRow {
            epoch: Some(snapshot.epoch.clone()),
            pulled: seq,
            snapshot: seq,
            base: Some(Base { seq, fold: snapshot.fold.clone(), fetched: 0 }),
            summary: snapshot.state.summary(),
            ..loaded.row
        };
        batch.put(Table::Logged, logged_key(log, loaded.row.generation, seq), &snapshot.last)?;
        let bytes = snapshot.state.to_snapshot(loaded.row.generation, seq)?;
        batch.put_bytes(Table::Snapshots, log_key(log), bytes);
        self.want_thumbs(log, &loaded.row, snapshot.state.latest_photos(), &mut batch).await?;
        self.move_clock(snapshot.latest, 0, &mut batch).await?;
        loaded.confirmed = snapshot.state.clone();
        loaded.shown = snapshot.state.clone();
        self.write(log, loaded, batch).await
    }

    /// The server's snapshot; `None` when it has none that this version could go on from.
    async fn ask_snapshot(&self, log: LogId) -> Result<Option<Snapshot<State>>, CallError> {
        let path = changes_path(log).replace("/changes", "/snapshot");
        let path = format!("{path}?fold={}", fold::name());
        let reply = self.authorised(request(Method::Get, &path, Body::Empty, LARGE)).await?;
        if reply.status == 404 {
            return Ok(None);
        }
        let Snapshot { epoch, fold, latest, last, state }: Snapshot<Value> = read(&success(reply)?)?;
        let state = State::from_value(log, state).filter(|_| fold == fold::name() && last.seq > 0);
        Ok(state.map(|state| Snapshot { epoch, fold, latest, last, state }))
    }

    /// Goes over to this version's fold, if another version's made the snapshot that a log was
    /// opened by. Until then the other one's state is shown.
    pub(crate) async fn renew(&self, log: LogId) -> Result<(), CallError> {
        if !self.load(log).await.map_err(LocalError::from)?.row.is_outdated() {
            return Ok(());
        }
        if let Some(snapshot) = self.ask_snapshot(log).await?
            && self.take_renewed(log, &snapshot).await.map_err(LocalError::from)?
        {
            return Ok(());
        }
        self.fetch_history(log).await
    }

    /// False when the snapshot does not reach to the changes that are here.
    async fn take_renewed(&self, log: LogId, snapshot: &Snapshot<State>) -> Result<bool, StoreError> {
        let seq = snapshot.last.seq;
        loop {
            let _turn = self.inner.writing.lock().await;
            let mut loaded = self.take(log).await?;
            let row = &mut loaded.row;
            let Some(base) = row.base.as_mut().filter(|base| (base.seq..=row.pulled).contains(&seq)) else {
                return Ok(false);
            };
            if row.epoch.as_ref() != Some(&snapshot.epoch) || row.rebuild.is_some() {
                return Ok(false);
            }
            base.fold.clone_from(&snapshot.fold);
            row.snapshot = seq;
            let mut batch = Batch::default();
            let bytes = snapshot.state.to_snapshot(row.generation, seq)?;
            batch.put_bytes(Table::Snapshots, log_key(log), bytes);
            let after = logged_key(log, row.generation, seq);
            let confirmed = self.fold_on(log, row.generation, Some(after), snapshot.state.clone()).await?;
            loaded.confirmed = confirmed.clone();
            (loaded.shown, loaded.unsent) = self.with_outbox(log, confirmed, &[]).await?;
            match self.write(log, loaded, batch).await {
                Err(StoreError::Stale) => {}
                done => return done.map(|()| true),
            }
        }
    }

    /// Is every single change of a log here, and not only the state that they led to?
    ///
    /// # Errors
    /// When the store can't be read.
    pub async fn has_history(&self, log: LogId) -> Result<bool, StoreError> {
        Ok(self.load(log).await?.row.base.is_none())
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
            let Some(Base { seq, fetched, .. }) = row.base else {
                return Ok(());
            };
            let page = if fetched < seq {
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
            let Some(base) = row.base.as_mut().filter(|base| base.fetched == since) else {
                return Ok(Then::More);
            };
            if row.epoch.as_ref() != Some(&page.epoch) || page.head < base.seq || row.rebuild.is_some() {
                return Ok(Then::WentBack);
            }
            let mut batch = Batch::default();
            let whole = base.fetched >= base.seq;
            for logged in page.changes.iter().filter(|logged| logged.seq <= base.seq) {
                batch.put(Table::Logged, logged_key(log, row.generation, logged.seq), logged)?;
                base.fetched = logged.seq;
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
        row.base = None;
        row.snapshot = 0;
        loaded.confirmed = self.fold_on(log, row.generation, None, State::empty(log)).await?;
        (loaded.shown, loaded.unsent) = self.with_outbox(log, loaded.confirmed.clone(), &[]).await?;
        batch.delete(Table::Snapshots, log_key(log));
        snapshot_if_due(log, loaded, batch)
    }
}
