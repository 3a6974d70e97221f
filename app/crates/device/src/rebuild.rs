//! The server went back in time: it was restored from a backup, and has less than
//! it once acknowledged.
//!
//! The log is fetched anew beside the old copy, which stays in use until that is
//! complete. What this device made and the server no longer has goes back into the
//! outbox, and is pushed again; what others made is kept until their devices have
//! pushed it again.

use std::collections::BTreeSet;

use shared_types::api::Page;
use shared_types::digest::Digest;
use shared_types::ids::{Author, ChangeId, LogId};
use shared_types::sorted;

use crate::device::{Device, LocalError};
use crate::log::Loaded;
use crate::rows::{
    LogRow, PhotoRow, Rebuild, SignedIn, UploadRow, generation_prefix, log_key, logged_key, outbox_key,
    stray_key, strays_prefix, upload_key,
};
use crate::session::CallError;
use crate::state::State;
use crate::store::{Batch, LocalStore, StoreError, Table};
use crate::strays::log_and_id;
use crate::surroundings::Surroundings;
use crate::transport::Transport;

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// Fetches a log anew. `gone` says that the server has none of it.
    pub(crate) async fn rebuild(&self, log: LogId, gone: bool) -> Result<(), CallError> {
        loop {
            let row = self.load(log).await.map_err(LocalError::from)?.row;
            let under_way = row.rebuild.unwrap_or_default();
            let page = if gone {
                Page { epoch: under_way.epoch.clone(), head: 0, changes: Vec::new() }
            } else {
                self.page(log, under_way.pulled).await?
            };
            if self.take_rebuilt(log, &page, under_way).await? {
                // What went back into the outbox is to be sent.
                self.inner.wake.made();
                return Ok(());
            }
        }
    }

    /// Notes that a log is to be fetched anew, so that this is not forgotten if the tab dies.
    pub(crate) async fn begin_rebuild(&self, log: LogId, epoch: &str) -> Result<(), StoreError> {
        loop {
            let _turn = self.inner.writing.lock().await;
            let mut loaded = self.take(log).await?;
            if loaded.row.rebuild.as_ref().is_some_and(|rebuild| rebuild.epoch == epoch) {
                return Ok(());
            }
            loaded.row.rebuild = Some(Rebuild { epoch: epoch.to_owned(), pulled: 0 });
            match self.write(log, loaded, Batch::default()).await {
                Err(StoreError::Stale) => {}
                done => return done,
            }
        }
    }

    /// Takes a page of the next generation in. True when that was the last one.
    async fn take_rebuilt(&self, log: LogId, page: &Page, under_way: Rebuild) -> Result<bool, LocalError> {
        let signed_in = self.signed_in()?;
        let done = loop {
            let _turn = self.inner.writing.lock().await;
            if self.user() != Some(signed_in.me.user) {
                return Err(LocalError::NotSignedIn);
            }
            match self.try_rebuilt(&signed_in, log, page, &under_way).await {
                Err(StoreError::Stale) => {}
                done => break done?,
            }
        };
        self.recount().await?;
        Ok(done)
    }

    async fn try_rebuilt(
        &self,
        signed_in: &SignedIn,
        log: LogId,
        page: &Page,
        under_way: &Rebuild,
    ) -> Result<bool, StoreError> {
        let mut loaded = self.take(log).await?;
        let next = loaded.row.generation + 1;
        let mut batch = Batch::default();
        if page.epoch != under_way.epoch || page.head < under_way.pulled {
            // It went back once more: begin again.
            batch.clear(Table::Logged, generation_prefix(log, next));
            loaded.row.rebuild = Some(Rebuild { epoch: page.epoch.clone(), pulled: 0 });
            self.write(log, loaded, batch).await?;
            return Ok(false);
        }
        if under_way.pulled == 0 {
            batch.clear(Table::Logged, generation_prefix(log, next));
        }
        for logged in &page.changes {
            batch.put(Table::Logged, logged_key(log, next, logged.seq), logged)?;
        }
        let pulled = page.changes.last().map_or(under_way.pulled, |logged| logged.seq);
        loaded.row.rebuild = Some(Rebuild { epoch: page.epoch.clone(), pulled });
        self.write(log, loaded, batch).await?;
        if !page.changes.is_empty() && pulled < page.head {
            return Ok(false);
        }
        let loaded = self.take(log).await?;
        self.change_over(signed_in, log, loaded).await?;
        Ok(true)
    }

    /// Puts the next generation in the place of the old one.
    async fn change_over(
        &self,
        signed_in: &SignedIn,
        log: LogId,
        mut loaded: Loaded,
    ) -> Result<(), StoreError> {
        let Some(Rebuild { epoch, pulled }) = loaded.row.rebuild.take() else {
            return Ok(());
        };
        let old = loaded.row.generation;
        let (there, confirmed, link) = self.fold_generation(log, old + 1).await?;
        let mut batch = Batch::default();
        let mut requeued = Vec::new();
        let mut strays = Vec::new();
        self.each_logged(log, old, None, |logged, entry| {
            let Some(entry) = entry.filter(|entry| !there.contains(&entry.change.id)) else {
                return;
            };
            match entry.change.author {
                Author::Person(user)
                    if user == signed_in.me.user && entry.change.device == signed_in.device =>
                {
                    requeued.push((outbox_key(user, &entry.change), logged.change));
                }
                Author::Person(_) => {
                    strays.push((stray_key(log, entry.change.id), logged.change));
                }
                // The server makes its own again when it needs them.
                Author::Server => {}
            }
        })
        .await?;
        for (key, signed) in &requeued {
            batch.put(Table::Outbox, key.clone(), signed)?;
        }
        for (key, signed) in &strays {
            batch.put(Table::Strays, key.clone(), signed)?;
        }
        batch.clear(Table::Logged, generation_prefix(log, old));
        batch.delete(Table::Snapshots, log_key(log));
        self.forget_strays(log, &there, &mut batch).await?;
        loaded.row = LogRow {
            generation: old + 1,
            epoch: Some(epoch),
            pulled,
            link,
            ahead: 0,
            snapshot: 0,
            base: 0,
            ..loaded.row
        };
        let arrived = self.arrived(signed_in, log, &there).await?;
        loaded.confirmed = confirmed.clone();
        (loaded.shown, loaded.unsent) = self.with_outbox(log, confirmed, &arrived).await?;
        for key in arrived {
            batch.delete(Table::Outbox, key);
        }
        for (_, signed) in &requeued {
            loaded.unsent += 1;
            if let Ok(change) = signed.read() {
                loaded.shown.apply(&change.into());
            }
        }
        self.send_photos_again(signed_in, log, &loaded.shown, &mut batch).await?;
        self.write(log, loaded, batch).await
    }

    /// Others' changes that were kept and that the server has again.
    async fn forget_strays(
        &self,
        log: LogId,
        there: &BTreeSet<ChangeId>,
        batch: &mut Batch,
    ) -> Result<(), StoreError> {
        for key in self.inner.store.keys(Table::Strays, &strays_prefix(log)).await? {
            if log_and_id(&key).is_some_and(|(_, id)| there.contains(&id)) {
                batch.delete(Table::Strays, key);
            }
        }
        Ok(())
    }

    async fn fold_generation(
        &self,
        log: LogId,
        generation: u32,
    ) -> Result<(BTreeSet<ChangeId>, State, Option<Digest>), StoreError> {
        let mut ids = BTreeSet::new();
        let mut state = State::empty(log);
        let mut row = LogRow::default();
        self.each_logged(log, generation, None, |logged, entry| {
            row.go_on(log, &logged);
            if let Some(entry) = entry {
                ids.insert(entry.change.id);
                state.apply(&entry);
            }
        })
        .await?;
        Ok((ids, state, row.link))
    }

    /// Rows of the outbox that the server turned out to have.
    async fn arrived(
        &self,
        signed_in: &SignedIn,
        log: LogId,
        there: &BTreeSet<ChangeId>,
    ) -> Result<Vec<String>, StoreError> {
        let prefix = crate::rows::user_log_prefix(signed_in.me.user, log);
        let keys = self.inner.store.keys(Table::Outbox, &prefix).await?;
        let arrived = |key: &String| {
            key.rsplit('|').next().and_then(|id| id.parse().ok()).is_some_and(|id| there.contains(&id))
        };
        Ok(keys.into_iter().filter(arrived).collect())
    }

    /// The server may have lost photos too: whatever original is here is offered to it again.
    /// Offering one that it has costs a single request.
    async fn send_photos_again(
        &self,
        signed_in: &SignedIn,
        log: LogId,
        state: &State,
        batch: &mut Batch,
    ) -> Result<(), StoreError> {
        let State::Job(job) = state else {
            return Ok(());
        };
        let digests = sorted::set(job.photos.values().filter_map(|photo| photo.it.digest.get().copied()));
        for digest in digests {
            let Some(mut photo): Option<PhotoRow> = self.row(Table::Photos, &digest.to_string()).await?
            else {
                continue;
            };
            let Some(media_type) = photo.media_type.clone().filter(|_| photo.original > 0) else {
                continue;
            };
            photo.on_server = false;
            batch.put(Table::Photos, digest.to_string(), &photo)?;
            let upload = UploadRow { log, digest, bytes: photo.original, media_type, place: None };
            batch.put(Table::Uploads, upload_key(signed_in.me.user, log, digest), &upload)?;
        }
        Ok(())
    }
}
