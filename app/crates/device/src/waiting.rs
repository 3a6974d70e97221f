//! What waits to be sent, as screens list it, and single items as files.

use serde_json::json;
use shared_types::change::{Change, SignedChange};
use shared_types::digest::Digest;
use shared_types::ids::LogId;
use shared_types::time::UtcMillis;

use crate::device::{Device, LocalError};
use crate::photo::{PhotoSize, PictureType};
use crate::rows::{PhotoRow, UploadRow, log_key, log_of_key, size_prefix, upload_key, user_prefix};
use crate::store::{Key, LocalStore, StoreError, Table};
use crate::surroundings::Surroundings;
use crate::transport::Transport;
use crate::tray::TrayId;

/// An item that waits.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum WaitingId {
    /// A change, by its place in the outbox.
    Change(Key),
    /// A photo's bytes.
    Photo(LogId, Digest),
}

/// A change or a photo that waits to be sent.
#[derive(Clone, Debug, PartialEq)]
pub struct Waiting {
    /// Which item.
    pub id: WaitingId,
    /// Of which log.
    pub log: LogId,
    /// The change, when it is one that this version can read.
    pub change: Option<Change>,
    /// A photo's bytes in all, and how many of them the server has.
    pub bytes: Option<(u64, u64)>,
    /// When it was made.
    pub at: Option<UtcMillis>,
    /// Why it waits, when that is its own; else it waits for contact.
    pub why: Option<String>,
}

/// An item as a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Saved {
    /// The file's name.
    pub name: String,
    /// What is in it.
    pub bytes: Vec<u8>,
}

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// The changes that wait to be sent, log by log in the order they were made, at most `limit`.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn waiting(&self, limit: usize) -> Result<Vec<Waiting>, StoreError> {
        let Some(user) = self.user() else {
            return Ok(Vec::new());
        };
        let mut waiting = Vec::new();
        for (key, signed) in self.outbox(user, &user_prefix(user), None, limit).await? {
            let Some(log) = log_of_key(&key) else { continue };
            let change = signed.read().ok();
            let at = change.as_ref().map(|change| change.stamp.0);
            let why = self.why(log, &log_key(log));
            waiting.push(Waiting { id: WaitingId::Change(key), log, change, bytes: None, at, why });
        }
        Ok(waiting)
    }

    /// The photos that wait to be sent, at most `limit`.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn waiting_photos(&self, limit: usize) -> Result<Vec<Waiting>, StoreError> {
        let Some(user) = self.user() else {
            return Ok(Vec::new());
        };
        let mut waiting = Vec::new();
        let uploads: Vec<(Key, UploadRow)> = self.all(Table::Uploads, &user_prefix(user)).await?;
        for (key, UploadRow { log, digest, bytes, .. }) in uploads.into_iter().take(limit) {
            let photo = self.row::<PhotoRow>(Table::Photos, &digest.to_string()).await;
            let at = photo.ok().flatten().map(|photo| photo.at);
            let sent = self.inner.now.borrow().progress.of(digest);
            let (id, why) = (WaitingId::Photo(log, digest), self.why(log, &key));
            waiting.push(Waiting { id, log, change: None, bytes: Some((bytes, sent)), at, why });
        }
        Ok(waiting)
    }

    fn why(&self, log: LogId, key: &str) -> Option<String> {
        let now = self.inner.now.borrow();
        now.held.get(&log).or_else(|| now.trouble.get(key).map(|trouble| &trouble.why)).cloned()
    }

    /// One item that waits, as a file.
    ///
    /// # Errors
    /// When it does not wait any more, or the store fails.
    pub async fn save_waiting(&self, id: &WaitingId) -> Result<Saved, LocalError> {
        let user = self.signed_in()?.me.user;
        match id {
            WaitingId::Change(key) => {
                if !key.starts_with(&user_prefix(user)) {
                    return Err(LocalError::Gone);
                }
                let signed: Option<SignedChange> = self.row(Table::Outbox, key).await?;
                let change = json!({ "change": signed.ok_or(LocalError::Gone)? });
                Ok(Saved { name: "faying-change.json".to_owned(), bytes: change.to_string().into_bytes() })
            }
            WaitingId::Photo(log, digest) => {
                let key = upload_key(user, *log, *digest);
                self.inner.store.get(Table::Uploads, &key).await?.ok_or(LocalError::Gone)?;
                Ok(self.saved_photo(*digest).await?)
            }
        }
    }

    /// One item of the refused tray, as a file: a photo as its bytes, anything else as JSON.
    ///
    /// # Errors
    /// When it is not in the tray, or the store fails.
    pub async fn save_refused(&self, id: TrayId) -> Result<Saved, LocalError> {
        let item = self.export_refused(id).await?;
        match id {
            TrayId::Photo(_, digest) => Ok(self.saved_photo(digest).await?),
            TrayId::Change(_) | TrayId::Row(_) => {
                Ok(Saved { name: "faying-refused.json".to_owned(), bytes: item.to_string().into_bytes() })
            }
        }
    }

    /// An original's bytes, as many of them as are here: what is damaged may still show something.
    async fn saved_photo(&self, digest: Digest) -> Result<Saved, StoreError> {
        let prefix = size_prefix(digest, PhotoSize::Original);
        let parts = self.inner.store.rows(Table::Parts, &prefix, None, usize::MAX).await?;
        let bytes: Vec<u8> = parts.into_iter().flat_map(|(_, part)| part).collect();
        let ending = PictureType::of(&bytes).map_or("bin", PictureType::ending);
        Ok(Saved { name: format!("photo-{}.{ending}", digest.short()), bytes })
    }
}
