//! Photos: taken in, kept in parts, and shown.
//!
//! The bytes as captured are hashed once and never altered. They are kept as plain
//! parts in a table of their own: large values and blobs are what browsers' stores
//! break on.

use std::collections::BTreeMap;

use shared_types::body::{Known, On, OnStep};
use shared_types::check::MAX_PHOTO_BYTES;
use shared_types::digest::Digest;
use shared_types::ids::{FindingId, HoleId, HolePhotoId, LogId, PhotoId, PlyId, PlyPhotoId, StepId};
use shared_types::job::{Moment, PhotoPatch};
use shared_types::joint::HolePhotoPatch;
use shared_types::layup::PlyPhotoPatch;
use uuid::Uuid;

use crate::device::{Device, LocalError};
use crate::event::Event;
use crate::rows::{
    PhotoRow, RefusedRow, RefusedWhat, UploadRow, part_key, parts_prefix, size_prefix, upload_key,
    user_log_prefix, user_prefix,
};
use crate::session::CallError;
use crate::store::{Batch, LocalStore, StoreError, Table};
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

/// Can a photo be of so many bytes? To be asked before they are read: a phone may not hold them.
///
/// # Errors
/// When it is empty or too large.
pub const fn check_length(bytes: u64) -> Result<(), NotAPhoto> {
    match bytes {
        0 => Err(NotAPhoto::Empty),
        1..=MAX_PHOTO_BYTES => Ok(()),
        _ => Err(NotAPhoto::TooLarge { bytes, limit: MAX_PHOTO_BYTES }),
    }
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
    /// What it is attached to besides its step.
    pub attached_to: Option<Attached>,
    /// The bytes as captured.
    pub bytes: Vec<u8>,
    /// Width and height in pixels, upright, when the picture could be decoded.
    pub pixels: Option<(u32, u32)>,
    /// A small JPEG of it, when the picture could be decoded.
    pub thumb: Option<Vec<u8>>,
}

/// What a photo can be attached to besides its step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Attached {
    /// A hole of a joint.
    Hole(HoleId),
    /// A ply of a layup.
    Ply(PlyId),
}

impl Attached {
    /// The link between the two, as a change.
    fn link(self, id: Uuid, photo: PhotoId) -> Known {
        match self {
            Self::Hole(hole) => {
                let set = HolePhotoPatch { hole: Some(hole), photo: Some(photo), retired: None };
                Known::HolePhoto(On { id: HolePhotoId(id), set })
            }
            Self::Ply(ply) => {
                let set = PlyPhotoPatch { ply: Some(ply), photo: Some(photo), retired: None };
                Known::PlyPhoto(On { id: PlyPhotoId(id), set })
            }
        }
    }
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

/// Photos' bytes are stored in parts of this many.
pub(crate) const PART: usize = 256 * 1024;
/// Room that a photo must leave for text, in bytes.
const RESERVE: u64 = 20 * 1024 * 1024;
/// Parts read at a time.
const PARTS: usize = 8;

impl PictureType {
    /// What the first bytes say. `None` for anything that is not taken.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Option<Self> {
        // JPEG: ISO/IEC 10918-1 B.1.1.3 (SOI, then a marker). PNG: ISO/IEC 15948 5.2. WebP: RFC 9649 2.3.
        // HEIC: ISO/IEC 23008-12 with the file type box of ISO/IEC 14496-12 4.3.
        const HEIC: [&[u8]; 8] = [b"heic", b"heix", b"hevc", b"hevx", b"heim", b"heis", b"mif1", b"msf1"];
        if bytes.starts_with(&[0xff, 0xd8, 0xff]) {
            return Some(Self::Jpeg);
        }
        if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
            return Some(Self::Png);
        }
        if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
            return Some(Self::WebP);
        }
        let is_heic =
            bytes.get(4..8) == Some(b"ftyp") && bytes.get(8..12).is_some_and(|brand| HEIC.contains(&brand));
        is_heic.then_some(Self::Heic)
    }

    /// Its media type.
    #[must_use]
    pub const fn media_type(self) -> &'static str {
        match self {
            Self::Jpeg => "image/jpeg",
            Self::Png => "image/png",
            Self::WebP => "image/webp",
            Self::Heic => "image/heic",
        }
    }

    /// What a file's name ends with.
    #[must_use]
    pub const fn ending(self) -> &'static str {
        match self {
            Self::Jpeg => "jpg",
            Self::Png => "png",
            Self::WebP => "webp",
            Self::Heic => "heic",
        }
    }
}

impl PhotoSize {
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Self::Thumb => "thumb",
            Self::Screen => "screen",
            Self::Original => "original",
        }
    }

    /// This size, then those that can stand in for it.
    const fn or_larger(self) -> &'static [Self] {
        match self {
            Self::Thumb => &[Self::Thumb, Self::Screen, Self::Original],
            Self::Screen => &[Self::Screen, Self::Original],
            Self::Original => &[Self::Original],
        }
    }
}

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
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
        let user = self.signed_in()?.me.user;
        let media_type = self.check_photo(&photo).await?;
        let digest = self.inner.surroundings.digest(&photo.bytes).await;
        let bytes = length(&photo.bytes);
        let mut batch = Batch::default();
        // All that it says is here is written with it: what was here before may just be let go of.
        let known: PhotoRow = self.row(Table::Photos, &digest.to_string()).await?.unwrap_or_default();
        let mut row = PhotoRow {
            media_type: Some(media_type.to_owned()),
            on_server: known.on_server,
            at: self.now(),
            ..PhotoRow::default()
        };
        batch.clear(Table::Parts, parts_prefix(digest));
        put_parts(&mut batch, &mut row, digest, PhotoSize::Original, &photo.bytes);
        if let Some(thumb) = &photo.thumb {
            put_parts(&mut batch, &mut row, digest, PhotoSize::Thumb, thumb);
        }
        batch.put(Table::Photos, digest.to_string(), &row)?;
        let upload = UploadRow { log, digest, bytes, media_type: media_type.to_owned(), place: None };
        batch.put(Table::Uploads, upload_key(user, log, digest), &upload)?;
        let id = PhotoId(self.uuid());
        let patch = PhotoPatch {
            digest: Some(digest),
            bytes: Some(bytes),
            media_type: Some(media_type.into()),
            width: photo.pixels.map(|(width, _)| width),
            height: photo.pixels.map(|(_, height)| height),
            moment: Some(photo.moment),
            caption: (!photo.caption.is_empty()).then(|| photo.caption.into()),
            taken_at: Some(Some(self.now())),
            answers: photo.answers.map(Some),
            retired: None,
        };
        let mut bodies = vec![Known::Photo(OnStep { id, step: photo.step, set: patch })];
        bodies.extend(photo.attached_to.map(|attached| attached.link(self.uuid(), id)));
        let undo = self.change_with(log, bodies, batch).await?;
        self.emit(Event::Photos(log));
        Ok((id, digest, undo))
    }

    async fn check_photo(&self, photo: &NewPhoto) -> Result<&'static str, LocalError> {
        let bytes = length(&photo.bytes);
        check_length(bytes)?;
        let picture = PictureType::of(&photo.bytes).ok_or(NotAPhoto::UnknownType)?;
        let needed = bytes + photo.thumb.as_deref().map_or(0, length) + RESERVE;
        match self.inner.surroundings.storage().await.free {
            Some(free) if free < needed => Err(LocalError::NoSpace { needed, free }),
            _ => Ok(picture.media_type()),
        }
    }

    /// A photo's bytes in a size, with their media type: from this device when it has them, else
    /// from the server, and kept. A larger size held here stands in where the right one can't be had.
    ///
    /// `None` when neither has them (yet).
    ///
    /// # Errors
    /// When it isn't here and the server can't be reached; a refusal with status 415 when the server has
    /// it, but nobody can show it: neither the server nor the phone that took it could decode it.
    pub async fn photo_bytes(
        &self,
        log: LogId,
        digest: Digest,
        size: PhotoSize,
    ) -> Result<Option<(Vec<u8>, String)>, CallError> {
        let row = self.row(Table::Photos, &digest.to_string()).await.map_err(LocalError::from)?;
        let mut row: PhotoRow = row.unwrap_or_default();
        let mut here = size.or_larger().iter().copied().find(|held| *row.held(*held) > 0);
        if size == PhotoSize::Screen && here != Some(size) && !row.is_showable() && row.thumb > 0 {
            // The copy that this phone made shows more than an original that can't be shown.
            here = Some(PhotoSize::Thumb);
        }
        let will_do =
            here.is_some_and(|here| here == size || (size == PhotoSize::Screen && row.is_showable()));
        // An original in a list is slow, and most browsers can't show HEIC: better the server's picture.
        if !will_do && (here.is_none() || row.on_server) {
            match self.fetch_photo(log, digest, size).await {
                Ok(Some(bytes)) => {
                    self.keep_fetched(digest, size, &bytes).await?;
                    return Ok(Some(with_media_type(bytes)));
                }
                Ok(None) => {}
                Err(error) if here.is_none() => return Err(error),
                // What is here stands in.
                Err(_) => {}
            }
        }
        let Some(here) = here else {
            return Ok(None);
        };
        Ok(self.held_bytes(digest, here).await.map_err(LocalError::from)?.map(with_media_type))
    }

    /// Has the server said that it has this photo whole? False also for others' photos not fetched yet.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn is_on_server(&self, digest: Digest) -> Result<bool, StoreError> {
        let row: Option<PhotoRow> = self.row(Table::Photos, &digest.to_string()).await?;
        Ok(row.is_some_and(|row| row.on_server))
    }

    /// The photos of a log that are only on this device: one call for a whole screen.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn unsent_photos(&self, log: LogId) -> Result<BTreeMap<Digest, Upload>, StoreError> {
        let Some(user) = self.user() else {
            return Ok(BTreeMap::new());
        };
        let waiting: Vec<(_, UploadRow)> = self.all(Table::Uploads, &user_log_prefix(user, log)).await?;
        let refused: Vec<(_, RefusedRow)> = self.all(Table::Refused, &user_prefix(user)).await?;
        let now = self.inner.now.borrow();
        let mut unsent = BTreeMap::new();
        for (_, row) in refused {
            if let RefusedWhat::Photo(upload) = row.what
                && upload.log == log
            {
                let refused = Some(row.detail);
                unsent.insert(upload.digest, Upload { total: upload.bytes, sent: 0, refused });
            }
        }
        for (_, upload) in waiting {
            let sent = now.progress.of(upload.digest);
            unsent.insert(upload.digest, Upload { total: upload.bytes, sent, refused: None });
        }
        Ok(unsent)
    }

    /// A size of a photo as it is held here; `None` when a part is missing.
    pub(crate) async fn held_bytes(
        &self,
        digest: Digest,
        size: PhotoSize,
    ) -> Result<Option<Vec<u8>>, StoreError> {
        let prefix = size_prefix(digest, size);
        let mut bytes = Vec::new();
        let mut after = None;
        loop {
            let parts = self.inner.store.rows(Table::Parts, &prefix, after.as_deref(), PARTS).await?;
            let Some((last, _)) = parts.last() else {
                break;
            };
            after = Some(last.clone());
            parts.iter().for_each(|(_, part)| bytes.extend_from_slice(part));
        }
        let expected = match self.row::<PhotoRow>(Table::Photos, &digest.to_string()).await? {
            Some(mut row) => *row.held(size),
            None => 0,
        };
        Ok((expected > 0 && length(&bytes) == expected).then_some(bytes))
    }

    /// Some bytes of an original; fewer than asked for at its end.
    pub(crate) async fn original_part(
        &self,
        row: &UploadRow,
        offset: u64,
        most: u64,
    ) -> Result<Vec<u8>, StoreError> {
        let (offset, most) = (place(offset), place(most.min(row.bytes.saturating_sub(offset))));
        let (first, last) = (offset / PART, (offset + most).div_ceil(PART));
        let prefix = size_prefix(row.digest, PhotoSize::Original);
        let after = first.checked_sub(1).map(|index| part_key(row.digest, PhotoSize::Original, index));
        let parts = self.inner.store.rows(Table::Parts, &prefix, after.as_deref(), last - first).await?;
        let bytes: Vec<u8> =
            parts.into_iter().flat_map(|(_, part)| part).skip(offset % PART).take(most).collect();
        if bytes.len() < most {
            return Err(StoreError::Damaged(format!("parts/{}: bytes are missing", row.digest)));
        }
        Ok(bytes)
    }
}

/// Adds a size of a photo to a batch, in parts.
pub(crate) fn put_parts(
    batch: &mut Batch,
    row: &mut PhotoRow,
    digest: Digest,
    size: PhotoSize,
    bytes: &[u8],
) {
    *row.held(size) = length(bytes);
    for (index, part) in bytes.chunks(PART).enumerate() {
        batch.put_bytes(Table::Parts, part_key(digest, size, index), part.to_vec());
    }
}

pub(crate) fn length(bytes: &[u8]) -> u64 {
    u64::try_from(bytes.len()).unwrap_or(u64::MAX)
}

fn place(bytes: u64) -> usize {
    usize::try_from(bytes).unwrap_or(usize::MAX)
}

fn with_media_type(bytes: Vec<u8>) -> (Vec<u8>, String) {
    let media_type = PictureType::of(&bytes).map_or("application/octet-stream", PictureType::media_type);
    (bytes, media_type.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_is_what_its_first_bytes_say() {
        let cases: [(&[u8], Option<PictureType>); 8] = [
            (b"\xff\xd8\xff\xe0\0\x10JFIF", Some(PictureType::Jpeg)),
            (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", Some(PictureType::Png)),
            (b"RIFF\x10\0\0\0WEBPVP8 ", Some(PictureType::WebP)),
            (b"\0\0\0\x18ftypheic\0\0\0\0", Some(PictureType::Heic)),
            (b"RIFF\x10\0\0\0WAVEfmt ", None),
            (b"\0\0\0\x18ftypisom\0\0\0\0", None),
            (b"<svg xmlns=\"http://www.w3.org/2000/svg\">", None),
            (b"\xff\xd8", None),
        ];
        for (bytes, expected) in cases {
            assert_eq!(PictureType::of(bytes), expected, "{bytes:?}");
        }
    }
}
