//! Photos: taken in, kept in parts, and shown.

use std::collections::BTreeMap;

use shared_types::body::Known;
use shared_types::digest::Digest;
use shared_types::ids::{FindingId, LogId, PhotoId, StepId};
use shared_types::job::Moment;

use crate::device::{Device, LocalError};
use crate::session::CallError;
use crate::store::{LocalStore, StoreError};
use crate::surroundings::Surroundings;
use crate::transport::Transport;

/// What a picture is, by its own first bytes; names and claims don't count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PictureType {
    /// JPEG.
    Jpeg,
    /// PNG.
    Png,
    /// WebP.
    WebP,
    /// HEIC or HEIF, as some phones take; most browsers can't show it.
    Heic,
}

/// Why bytes are not taken as a photo.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotAPhoto {
    /// No bytes.
    #[error("this file is empty")]
    Empty,
    /// Too many bytes.
    #[error("this photo has {bytes} bytes; at most {limit} are taken")]
    TooLarge {
        /// Its length.
        bytes: u64,
        /// The most that is taken.
        limit: u64,
    },
    /// Not a picture of a kind that is taken.
    #[error("this is not a photo; JPEG, PNG, WebP and HEIC are taken")]
    UnknownType,
}

/// A photo as it was taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewPhoto {
    /// The step, or `None` for the discrepancy itself.
    pub step: Option<StepId>,
    /// Before, during or after.
    pub moment: Moment,
    /// What it shows; may be empty.
    pub caption: String,
    /// The finding it answers.
    pub answers: Option<FindingId>,
    /// The bytes as captured.
    pub bytes: Vec<u8>,
    /// Width and height in pixels, upright, when the picture could be decoded.
    pub pixels: Option<(u32, u32)>,
    /// A small JPEG of it, when the picture could be decoded.
    pub thumb: Option<Vec<u8>>,
}

/// Which size of a photo.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum PhotoSize {
    /// For lists: at most 320 pixels.
    Thumb,
    /// For a screen.
    Screen,
    /// As captured.
    Original,
}

/// A photo on its way.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Upload {
    /// Bytes in all.
    pub total: u64,
    /// Bytes that the server has.
    pub sent: u64,
    /// Why it waits, when the server would not take it: it is in the refused tray then.
    pub refused: Option<String>,
}

impl<S: LocalStore, T: Transport, E: Surroundings> Device<S, T, E> {
    /// Takes a photo in: its bytes, its change and its place in the queue in one transaction.
    /// The same bytes taken twice are kept once.
    ///
    /// Gives its id, its digest and the body that takes it back.
    ///
    /// # Errors
    /// When it is not a photo, is too large, or there is no room for it. Nothing is saved then.
    pub async fn add_photo(
        &self,
        log: LogId,
        photo: NewPhoto,
    ) -> Result<(PhotoId, Digest, Vec<Known>), LocalError> {
        let _ = (log, photo);
        todo!()
    }

    /// A photo's bytes in a size, with their media type: from this device when it has them, else
    /// from the server, and kept. `Thumb` and `Screen` fall back to a bigger size held here.
    ///
    /// `None` when neither has them (yet).
    ///
    /// # Errors
    /// When it isn't here and the server can't be reached.
    pub async fn photo_bytes(
        &self,
        log: LogId,
        digest: Digest,
        size: PhotoSize,
    ) -> Result<Option<(Vec<u8>, String)>, CallError> {
        let _ = (log, digest, size);
        todo!()
    }

    /// Has the server said that it has this photo whole? False also for others' photos not fetched yet.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn is_on_server(&self, digest: Digest) -> Result<bool, StoreError> {
        let _ = digest;
        todo!()
    }

    /// The photos of a log that are only on this device: one call for a whole screen.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn unsent_photos(&self, log: LogId) -> Result<BTreeMap<Digest, Upload>, StoreError> {
        let _ = log;
        todo!()
    }
}
