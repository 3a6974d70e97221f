//! Opening a log by its state rather than by its history.
//!
//! Only a log that this device never wrote into is opened so: whatever it made itself it holds as
//! single changes, because a server that was restored from a backup asks for them again. What others
//! made before the snapshot is here as the server folded it: as far as anything pulled, that is the
//! server's word until the history is fetched (`history.rs`).

use serde_json::Value;
use shared_types::api::Snapshot;
use shared_types::fold;
use shared_types::ids::LogId;

use crate::call::{LARGE, changes_path, read, request, success};
use crate::device::{Device, LocalError};
use crate::log::Loaded;
use crate::rows::{Base, LogRow, SignedIn, chain_key, log_key, logged_key};
use crate::session::CallError;
use crate::state::State;
use crate::store::{Batch, LocalStore, StoreError, Table};
use crate::surroundings::Surroundings;
use crate::transport::{Body, Method, Transport};

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
}
