//! What waits, counted; and the line that says so.

use std::collections::BTreeSet;

use futures::future::try_join4;
use serde::de::DeserializeOwned;
use shared_types::digest::Digest;
use shared_types::ids::UserId;
use shared_types::sorted;

use crate::device::{Device, UnsentWork};
use crate::event::{Event, News, SyncLine};
use crate::rows::{RefusedRow, RefusedWhat, UploadRow, user_prefix};
use crate::store::{LocalStore, StoreError, Table, from_row};
use crate::strays::{log_and_id, may_read};
use crate::surroundings::Surroundings;
use crate::transport::Transport;

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// A row, if it is there.
    pub(crate) async fn row<R: DeserializeOwned>(
        &self,
        table: Table,
        key: &str,
    ) -> Result<Option<R>, StoreError> {
        let row = self.inner.store.get(table, key).await?;
        row.map(|row| from_row(table, key, &row)).transpose()
    }

    /// All rows whose keys start with `prefix` and that can be read.
    pub(crate) async fn all<R: DeserializeOwned>(
        &self,
        table: Table,
        prefix: &str,
    ) -> Result<Vec<(String, R)>, StoreError> {
        let rows = self.inner.store.rows(table, prefix, None, usize::MAX).await?;
        let read = |(key, row): (String, Vec<u8>)| {
            let value = from_row(table, &key, &row).ok()?;
            Some((key, value))
        };
        Ok(rows.into_iter().filter_map(read).collect())
    }

    /// Something was made here: wakes the tab that sends.
    pub(crate) fn made(&self) {
        self.inner.wake.made();
        if !self.inner.now.borrow().sender {
            self.tell(&News::Made);
        }
    }

    /// One person's unsent work.
    pub(crate) async fn work_of(&self, user: UserId, login: String) -> Result<UnsentWork, StoreError> {
        let mine = user_prefix(user);
        let (changes, uploads, refused, strays) = try_join4(
            self.inner.store.count(Table::Outbox, &mine),
            self.all::<UploadRow>(Table::Uploads, &mine),
            self.all::<RefusedRow>(Table::Refused, &mine),
            self.inner.store.keys(Table::Strays, ""),
        )
        .await?;
        // Nobody's own: whoever is signed in and may read them is told of them.
        let me = self.me().filter(|me| me.user == user);
        let shown =
            |key: &&String| me.as_ref().zip(log_and_id(key)).is_some_and(|(me, (log, _))| may_read(me, log));
        Ok(UnsentWork {
            login,
            changes,
            photos: uploads.len(),
            bytes: uploads.iter().map(|(_, upload)| upload.bytes).sum(),
            refused: refused.iter().filter(|(_, row)| !row.dropped).count(),
            strays: strays.iter().filter(shown).count(),
        })
    }

    /// Digests of photos that wait or were refused, whoever's they are: their bytes must stay.
    pub(crate) async fn digests_only_here(&self) -> Result<BTreeSet<Digest>, StoreError> {
        let uploads = self.inner.store.keys(Table::Uploads, "").await?;
        let mut digests: BTreeSet<Digest> =
            sorted::set(uploads.iter().filter_map(|key| key.rsplit('|').next()?.parse().ok()));
        for (_, row) in self.all::<RefusedRow>(Table::Refused, "").await? {
            if let RefusedWhat::Photo(upload) = row.what {
                digests.insert(upload.digest);
            }
        }
        Ok(digests)
    }

    /// Counts what waits anew, and tells when that changed.
    pub(crate) async fn recount(&self) -> Result<(), StoreError> {
        let work = self.unsent_work().await?;
        let before = self.sync_state();
        {
            let mut now = self.inner.now.borrow_mut();
            let sent = now.progress.sent();
            let sync = &mut now.sync;
            sync.changes_to_send = work.changes;
            sync.photos_to_send = work.photos;
            sync.bytes_to_send = work.bytes;
            sync.bytes_sent = sent;
            sync.refused = work.refused;
            sync.strays = work.strays;
            if sync.line == SyncLine::AllSent && work.changes + work.photos > 0 {
                sync.line = SyncLine::Sending;
            }
        }
        self.tell_if_changed(&before);
        if before.changes_to_send != work.changes || before.photos_to_send != work.photos {
            self.inner.surroundings.keep(&(work.changes + work.photos).to_string());
        }
        Ok(())
    }

    /// Says where sync stands.
    pub(crate) fn say(&self, line: SyncLine) {
        let before = self.sync_state();
        self.inner.now.borrow_mut().sync.line = line;
        self.tell_if_changed(&before);
    }

    /// Says how many bytes of photos have arrived.
    pub(crate) fn say_progress(&self) {
        let before = self.sync_state();
        {
            let mut now = self.inner.now.borrow_mut();
            now.sync.bytes_sent = now.progress.sent();
        }
        self.tell_if_changed(&before);
    }

    fn tell_if_changed(&self, before: &crate::event::SyncState) {
        let after = self.sync_state();
        if after != *before {
            self.emit(Event::Sync(after));
        }
    }
}
