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
use crate::pull::THUMBS_AHEAD;
use crate::rows::{SignedIn, chain_key, log_key, logged_key, strays_prefix};
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
    /// Takes the server's snapshot of a log, where nothing of the log is here, or another fold's state.
    /// False when there is none to be taken: then the log's changes are to be fetched.
    pub(crate) async fn open_by_snapshot(&self, log: LogId) -> Result<bool, CallError> {
        let signed_in = self.signed_in()?;
        let loaded = self.load(log).await.map_err(LocalError::from)?;
        if !self.wants_snapshot(&signed_in, log, &loaded).await.map_err(LocalError::from)? {
            return Ok(false);
        }
        let Some(snapshot) = self.ask_snapshot(log).await? else {
            return Ok(false);
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

    /// Is another fold's state here, or nothing at all of a log that this device never wrote into?
    async fn wants_snapshot(
        &self,
        signed_in: &SignedIn,
        log: LogId,
        loaded: &Loaded,
    ) -> Result<bool, StoreError> {
        let row = &loaded.row;
        if row.rebuild.is_some() || row.is_outdated() {
            return Ok(row.rebuild.is_none());
        }
        if row.pulled > 0 || loaded.unsent > 0 {
            return Ok(false);
        }
        let chain = self.inner.store.get(Table::Meta, &chain_key(signed_in.device, log)).await?;
        Ok(chain.is_none() && self.inner.store.count(Table::Strays, &strays_prefix(log)).await? == 0)
    }

    async fn try_open(
        &self,
        signed_in: &SignedIn,
        log: LogId,
        snapshot: &Snapshot<State>,
    ) -> Result<bool, StoreError> {
        let mut loaded = self.take(log).await?;
        let wanted = self.wants_snapshot(signed_in, log, &loaded).await?;
        let (row, seq) = (&mut loaded.row, snapshot.last.seq);
        let is_new = row.base == 0;
        // The changes between it and the present must be here.
        let reaches = (row.base..=row.pulled).contains(&seq) && row.epoch.as_ref() == Some(&snapshot.epoch);
        if !wanted || !(is_new || reaches) {
            return Ok(false);
        }
        let mut batch = Batch::default();
        if is_new {
            (row.base, row.pulled, row.link) = (seq, seq, None);
            row.epoch = Some(snapshot.epoch.clone());
            row.summary = snapshot.state.summary();
            batch.put(Table::Logged, logged_key(log, row.generation, seq), &snapshot.last)?;
            let photos = snapshot.state.latest_photos().take(THUMBS_AHEAD).collect();
            self.want_thumbs(log, row, photos, &mut batch).await?;
            self.move_clock(snapshot.latest, 0, &mut batch).await?;
        }
        row.fold.clone_from(&snapshot.fold);
        row.snapshot = seq;
        batch.put_bytes(Table::Snapshots, log_key(log), snapshot.state.to_snapshot(row.generation, seq)?);
        let after = logged_key(log, row.generation, seq);
        loaded.confirmed = self.fold_on(log, row.generation, Some(after), snapshot.state.clone()).await?;
        (loaded.shown, loaded.unsent) = self.with_outbox(log, loaded.confirmed.clone(), &[]).await?;
        self.write(log, loaded, batch).await?;
        Ok(true)
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
        let row = self.load(log).await.map_err(LocalError::from)?.row;
        if !row.is_outdated() || self.open_by_snapshot(log).await? {
            return Ok(());
        }
        self.begin_rebuild(log, &row.epoch.unwrap_or_default()).await.map_err(LocalError::from)?;
        self.rebuild(log, false).await
    }
}
