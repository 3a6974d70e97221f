//! Uploads in progress and photos stored. Their bytes are the photo store's.

use async_trait::async_trait;
use shared_types::digest::Digest;
use shared_types::ids::{LogId, ShopId, UploadId, UserId};
use shared_types::time::UtcMillis;

use crate::error::Result;

/// An upload to be made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewUpload {
    /// Its id: random, not to be guessed.
    pub id: UploadId,
    /// Whose.
    pub user: UserId,
    /// For which job's log.
    pub log: LogId,
    /// The photo's digest as announced.
    pub digest: Digest,
    /// The photo's media type as announced.
    pub media_type: String,
    /// The photo's length in bytes as announced.
    pub length: u64,
    /// When it lapses.
    pub expires: UtcMillis,
}

/// What became of an upload.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum UploadState {
    /// Takes bytes; with all of them there, still to be finished (again, if need be).
    Open,
    /// Checked and stored.
    Complete,
    /// Not taken, and why. The client may start a new one.
    Refused(String),
}

/// An upload. How many bytes have arrived is the photo store's to say.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Upload {
    /// What was announced.
    pub announced: NewUpload,
    /// What became of it.
    pub state: UploadState,
}

/// A stored photo's particulars.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Photo {
    /// Its digest.
    pub digest: Digest,
    /// Its length in bytes.
    pub bytes: u64,
    /// Its media type by its first bytes.
    pub media_type: String,
    /// Width and height as displayed, when its header could be read.
    pub size: Option<(u32, u32)>,
    /// Since when.
    pub stored: UtcMillis,
}

/// A photo that a log's changes name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PhotoRef {
    /// Its digest.
    pub digest: Digest,
    /// The photo, once it has arrived.
    pub photo: Option<Photo>,
}

/// Uploads and photos.
#[async_trait]
pub trait UploadStore {
    /// Keeps a new upload.
    async fn add_upload(&self, upload: NewUpload) -> Result<()>;

    /// The upload with this id.
    async fn upload(&self, upload: UploadId) -> Result<Option<Upload>>;

    /// The person's open upload of this very photo for this very log: who asks to begin it once
    /// more did not get the answer.
    async fn begun_upload(&self, again: &NewUpload) -> Result<Option<Upload>>;

    /// How many uploads a person has open, and of how many bytes in all.
    async fn open_uploads(&self, user: UserId) -> Result<(u32, u64)>;

    /// All open uploads (for the sweeper at start).
    async fn all_open_uploads(&self) -> Result<Vec<Upload>>;

    /// Marks an upload complete and keeps the photo's particulars, in one transaction. Repeatable.
    ///
    /// # Errors
    /// [`crate::StoreError::NotFound`]; [`crate::Conflict::UploadOver`] when it was refused.
    async fn complete_upload(&self, upload: UploadId, photo: Photo) -> Result<()>;

    /// Marks an upload refused. Repeatable.
    ///
    /// # Errors
    /// [`crate::StoreError::NotFound`]; [`crate::Conflict::UploadOver`] when it is complete.
    async fn refuse_upload(&self, upload: UploadId, reason: &str) -> Result<()>;

    /// Forgets an upload; its staged bytes are the caller's to delete.
    async fn remove_upload(&self, upload: UploadId) -> Result<()>;

    /// Forgets the uploads that lapsed before `now` and gives them, complete and refused ones included.
    async fn lapse_uploads(&self, now: UtcMillis) -> Result<Vec<Upload>>;

    /// Keeps the particulars of a photo that came another way than by an upload (a demo, a restored backup).
    async fn add_photo(&self, shop: ShopId, photo: Photo) -> Result<()>;

    /// A shop's photo.
    async fn photo(&self, shop: ShopId, digest: Digest) -> Result<Option<Photo>>;

    /// Does a change of this log name the photo?
    async fn names_photo(&self, log: LogId, digest: Digest) -> Result<bool>;

    /// The photos that a log's changes name.
    async fn photos(&self, log: LogId) -> Result<Vec<PhotoRef>>;

    /// All photos of all shops, for backup and for making display sizes anew.
    async fn all_photos(&self) -> Result<Vec<(ShopId, Photo)>>;
}
