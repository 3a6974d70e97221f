//! Others' photos: fetched, kept within bounds, and let go of, oldest first.

use shared_types::digest::Digest;
use shared_types::ids::LogId;
use shared_types::sorted;
use shared_types::time::UtcMillis;

use crate::call::{LARGE, refusal, request};
use crate::device::{Device, LocalError};
use crate::event::Event;
use crate::photo::{PhotoSize, PictureType, put_parts};
use crate::rows::{PhotoRow, WantedRow, size_prefix};
use crate::session::CallError;
use crate::store::{Batch, LocalStore, StoreError, Table, from_row, row_or_default};
use crate::surroundings::Surroundings;
use crate::transport::{Body, Method, Transport};
use crate::trouble::may_be_its_own;

/// Bytes of screen sizes and originals kept of photos that the server has.
const MOST_LARGE: u64 = 400 * 1024 * 1024;
/// Bytes of thumbnails kept of photos that the server has.
const MOST_THUMBS: u64 = 100 * 1024 * 1024;
/// The wait before a thumbnail that was not there is asked for again; it doubles each time.
const FIRST_RETRY: i64 = 5_000;
/// The longest such wait.
const LONGEST_RETRY: i64 = 600_000;
/// So often a thumbnail is asked for of a photo that the server has and can't show.
const MOST_TRIES: u32 = 4;

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// Fetches the thumbnails of others' photos. Gives the milliseconds until the next is due.
    pub(crate) async fn fetch_thumbs(&self) -> Result<Option<u32>, CallError> {
        let wanted: Vec<(String, WantedRow)> = self.all(Table::Wanted, "").await.map_err(LocalError::from)?;
        let mut due: Option<i64> = None;
        for (key, row) in wanted {
            // A clock that was put back must not keep a thumbnail waiting.
            let wait = row.next.since(self.now()).min(LONGEST_RETRY);
            let next = if wait > 0 {
                Some(wait)
            } else {
                // A photo that was taken meanwhile does not wait for those of others.
                if self.attend().await? {
                    self.upload_all().await?;
                }
                self.fetch_thumb(&key, row).await?
            };
            due = due.into_iter().chain(next).min();
        }
        Ok(due.map(|due| u32::try_from(due).unwrap_or(u32::MAX)))
    }

    async fn fetch_thumb(&self, key: &str, row: WantedRow) -> Result<Option<i64>, CallError> {
        let mut batch = Batch::default();
        let Some((log, digest)) = log_and_digest(key) else {
            batch.delete(Table::Wanted, key);
            self.inner.store.commit(batch).await.map_err(LocalError::from)?;
            return Ok(None);
        };
        let photo: Option<PhotoRow> =
            self.row(Table::Photos, &digest.to_string()).await.map_err(LocalError::from)?;
        let held = photo.is_some_and(|photo| photo.thumb > 0);
        let mut given_up = held;
        let bytes = if held {
            None
        } else {
            match self.fetch_photo(log, digest, PhotoSize::Thumb).await {
                // Nobody could make one; the phone that took it may still send its copy.
                Err(CallError::Refused(problem)) if problem.status == 415 => {
                    given_up = row.tries >= MOST_TRIES;
                    None
                }
                // One that the server stumbles over does not keep the others.
                Err(error) if may_be_its_own(&error) => None,
                bytes => bytes?,
            }
        };
        if !given_up && bytes.is_none() {
            // Its bytes are still on the phone that took it.
            let wait = (FIRST_RETRY << row.tries.min(10)).min(LONGEST_RETRY);
            let next = UtcMillis(self.now().0.saturating_add(wait));
            let row = WantedRow { tries: row.tries + 1, next };
            batch.put(Table::Wanted, key, &row).map_err(LocalError::from)?;
            self.inner.store.commit(batch).await.map_err(LocalError::from)?;
            return Ok(Some(wait));
        }
        if let Some(bytes) = bytes {
            self.keep_fetched(digest, PhotoSize::Thumb, &bytes).await?;
            self.emit(Event::Photos(log));
        }
        batch.delete(Table::Wanted, key);
        self.inner.store.commit(batch).await.map_err(LocalError::from)?;
        Ok(None)
    }

    /// A photo from the server; `None` when it has not got it. One that it has and can't show in this
    /// size is refused with status 415.
    pub(crate) async fn fetch_photo(
        &self,
        log: LogId,
        digest: Digest,
        size: PhotoSize,
    ) -> Result<Option<Vec<u8>>, CallError> {
        let LogId::Job(shop, job) = log else {
            return Ok(None);
        };
        let path = format!("shops/{shop}/jobs/{job}/photos/{digest}?size={}", size.word());
        let reply = self.authorised(request(Method::Get, &path, Body::Empty, LARGE)).await?;
        match reply.status {
            200 => {}
            404 => return Ok(None),
            _ => return Err(refusal(&reply)),
        }
        if size == PhotoSize::Original && self.inner.surroundings.digest(&reply.body).await != digest {
            return Err(CallError::Unreadable("the photo was damaged on its way".to_owned()));
        }
        Ok(Some(reply.body).filter(|bytes| !bytes.is_empty()))
    }

    /// Keeps what was fetched. A full store is no fault here: it is fetched again when it is looked at.
    pub(crate) async fn keep_fetched(
        &self,
        digest: Digest,
        size: PhotoSize,
        bytes: &[u8],
    ) -> Result<(), LocalError> {
        let key = digest.to_string();
        let _turn = self.inner.writing.lock().await;
        let stored = self.inner.store.get(Table::Photos, &key).await?;
        let mut row: PhotoRow = row_or_default(Table::Photos, &key, stored.as_deref())?;
        let mut batch = Batch::default();
        batch.require(Table::Photos, key.clone(), stored);
        put_parts(&mut batch, &mut row, digest, size, bytes);
        if size == PhotoSize::Original {
            row.on_server = true;
            row.media_type = PictureType::of(bytes).map(|it| it.media_type().to_owned());
        }
        row.at = self.now();
        batch.put(Table::Photos, key, &row)?;
        match self.inner.store.commit(batch).await {
            Ok(()) | Err(StoreError::NoSpace | StoreError::Stale) => Ok(()),
            Err(error) => Err(error.into()),
        }
    }

    /// Lets go of the oldest photos that the server has, down to the bounds. What only this
    /// device has is never touched.
    ///
    /// The same bytes may be taken once more meanwhile: in this tab not before this is done, and in
    /// another one that writes the photo's row, and nothing is let go of.
    pub(crate) async fn tidy(&self) -> Result<(), StoreError> {
        let _turn = self.inner.writing.lock().await;
        let rows = self.inner.store.rows(Table::Photos, "", None, usize::MAX).await?;
        let read = |(key, row): (String, Vec<u8>)| {
            let photo: PhotoRow = from_row(Table::Photos, &key, &row).ok()?;
            Some((key, row, photo))
        };
        let mut photos: Vec<(String, Vec<u8>, PhotoRow)> = rows.into_iter().filter_map(read).collect();
        let large: u64 = photos.iter().map(|(_, _, row)| row.screen + row.original).sum();
        let thumbs: u64 = photos.iter().map(|(_, _, row)| row.thumb).sum();
        if large <= MOST_LARGE && thumbs <= MOST_THUMBS {
            return Ok(());
        }
        let only_here = self.digests_only_here().await?;
        photos.retain(|(key, ..)| key.parse().is_ok_and(|digest| !only_here.contains(&digest)));
        sorted::by_key(&mut photos, |(_, _, row)| row.at);
        let mut batch = Batch::default();
        let (mut large, mut thumbs) = (large, thumbs);
        for (key, stored, mut row) in photos {
            let Ok(digest) = key.parse() else {
                continue;
            };
            let before = row.clone();
            if large > MOST_LARGE {
                large -= row.screen + row.original;
                Self::let_go(&mut batch, &mut row, digest, &[PhotoSize::Screen, PhotoSize::Original]);
            }
            if thumbs > MOST_THUMBS {
                thumbs -= row.thumb;
                Self::let_go(&mut batch, &mut row, digest, &[PhotoSize::Thumb]);
            }
            if row != before {
                batch.require(Table::Photos, key.clone(), Some(stored));
                batch.put(Table::Photos, key, &row)?;
            }
        }
        match self.inner.store.commit(batch).await {
            Err(StoreError::Stale) => Ok(()),
            done => done,
        }
    }

    fn let_go(batch: &mut Batch, row: &mut PhotoRow, digest: Digest, sizes: &[PhotoSize]) {
        for size in sizes {
            *row.held(*size) = 0;
            batch.clear(Table::Parts, size_prefix(digest, *size));
        }
    }
}

fn log_and_digest(key: &str) -> Option<(LogId, Digest)> {
    let (log, digest) = key.split_once('|')?;
    Some((log.parse().ok()?, digest.parse().ok()?))
}
