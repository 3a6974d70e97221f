//! Photos on their way in: announced, taken part by part, checked, kept.
//!
//! All bytes being there is not the end: an upload is complete once its photo is kept and
//! its particulars are noted. That last step may be asked for as often as need be.

use std::error::Error;

use bytes::Bytes;
use futures::Stream;
use photo_store::{Announced, Checksum, Part, PhotoError, Rejection};
use shared_types::check::{MAX_PHOTO_BYTES, Problem};
use shared_types::digest::Digest;
use shared_types::ids::{LogId, UploadId, UserId};
use shared_types::shop::{Role, Roles};
use storage::{NewUpload, Photo, Upload, UploadState};

use super::access;
use crate::auth::secret;
use crate::deps::{Deps, Shared};
use crate::fault::{Fault, Result, chain};
use crate::metrics::UploadFate;

/// How long an upload may take.
const HOURS: i64 = 48;
/// How many uploads a person may have open, and of how many bytes in all.
const MOST_OPEN: (u32, u64) = (100, 4 * 1024 * 1024 * 1024);
/// What a photo may be announced as. What counts in the end is what its bytes say.
const TYPES: [&str; 6] = ["image/jpeg", "image/png", "image/webp", "image/heic", "image/heif", "image/avif"];

/// A photo as it is announced.
#[derive(Clone, Debug)]
pub struct Announcement {
    /// For which job's log.
    pub log: LogId,
    /// Its digest.
    pub digest: Digest,
    /// Its media type.
    pub media_type: String,
    /// Its length in bytes.
    pub length: u64,
}

/// How far an upload has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// How many bytes have arrived.
    pub offset: u64,
    /// Is the photo kept?
    pub complete: bool,
}

/// Begins an upload. One whose photo the shop has already is complete at once.
///
/// # Errors
/// When the person is no member with work in the shop, the announcement is out of limits, or
/// too many uploads are open.
pub async fn begin(deps: &Deps, user: UserId, photo: Announcement) -> Result<Upload> {
    worker(&roles(deps, photo.log, user).await?)?;
    check(&photo)?;
    let shop = photo.log.shop();
    let upload = NewUpload {
        id: UploadId(
            uuid::Builder::from_random_bytes(secret::random().map_err(Fault::internal)?).into_uuid(),
        ),
        user,
        log: photo.log,
        digest: photo.digest,
        media_type: photo.media_type,
        length: photo.length,
        expires: deps.clock.now().plus_minutes(HOURS * 60),
    };
    if let Some(begun) = begun_before(deps, &upload).await? {
        return Ok(begun);
    }
    let (open, bytes) = deps.storage.open_uploads(user).await?;
    if open >= MOST_OPEN.0 || bytes.saturating_add(upload.length) > MOST_OPEN.1 {
        return Err(Fault::TooMany(std::time::Duration::from_secs(60)));
    }
    let known = deps.storage.photo(shop, upload.digest).await?;
    deps.storage.add_upload(upload.clone()).await?;
    deps.metrics.upload(UploadFate::Begun);
    match known.filter(|known| known.bytes == upload.length) {
        Some(known) => {
            deps.storage.complete_upload(upload.id, known).await?;
            Ok(Upload { announced: upload, state: UploadState::Complete })
        }
        None => Ok(Upload { announced: upload, state: UploadState::Open }),
    }
}

/// The same upload once more, as long as nothing of it has arrived: over a bad line the answer to its
/// beginning gets lost, and a phone that tries again must not use up the number it may have open.
async fn begun_before(deps: &Deps, upload: &NewUpload) -> Result<Option<Upload>> {
    let begun = deps.storage.begun_upload(upload).await?;
    match begun.filter(|begun| begun.announced.expires > deps.clock.now()) {
        Some(begun) if deps.photos.staged(begun.announced.id).await? == 0 => Ok(Some(begun)),
        _ => Ok(None),
    }
}

fn check(photo: &Announcement) -> Result<()> {
    if photo.log.job().is_none() {
        return Err(Problem::new("log", "is not a job's", "the log of a job").into());
    }
    if photo.length == 0 {
        return Err(Problem::new("length", "is 0", format!("1 to {MAX_PHOTO_BYTES} bytes")).into());
    }
    if photo.length > MAX_PHOTO_BYTES {
        let length = photo.length;
        return Err(Fault::TooLarge(format!(
            "the photo has {length} bytes; at most {MAX_PHOTO_BYTES} are taken"
        )));
    }
    if !TYPES.contains(&photo.media_type.as_str()) {
        return Err(Fault::UnsupportedType(format!("photos are taken as {}", TYPES.join(", "))));
    }
    Ok(())
}

/// The person's own upload, as long as the person has work in its shop and it has not lapsed.
///
/// # Errors
/// When there is no such upload, or it is somebody else's: both look alike.
pub async fn own(deps: &Deps, user: UserId, upload: UploadId) -> Result<Upload> {
    let upload = deps.storage.upload(upload).await?.ok_or(Fault::NotFound)?;
    let announced = &upload.announced;
    let may = worker(&roles(deps, announced.log, user).await?).is_ok();
    if announced.user != user || !may {
        return Err(Fault::NotFound);
    }
    if announced.expires <= deps.clock.now() {
        return Err(Fault::UploadOver("the upload has lapsed; begin anew".to_owned()));
    }
    Ok(upload)
}

async fn roles(deps: &Deps, log: LogId, user: UserId) -> Result<Roles> {
    Ok(access::held(deps, log, user).await?.roles)
}

fn worker(roles: &Roles) -> Result<()> {
    if roles.is_empty() {
        return Err(Fault::NotFound);
    }
    let works = [Role::Lead, Role::Mechanic, Role::Inspector].iter().any(|role| roles.contains(role));
    if works { Ok(()) } else { Err(Fault::NotPermitted("a lead, a mechanic or an inspector")) }
}

/// How far an upload has come.
///
/// # Errors
/// When it was refused, or the photo store can't be read.
pub async fn progress(deps: &Deps, upload: &Upload) -> Result<Progress> {
    match &upload.state {
        UploadState::Complete => Ok(Progress { offset: upload.announced.length, complete: true }),
        UploadState::Refused(reason) => Err(Fault::UploadOver(reason.clone())),
        UploadState::Open => {
            Ok(Progress { offset: deps.photos.staged(upload.announced.id).await?, complete: false })
        }
    }
}

/// Takes a part of an upload; with the last one, or with an empty one after it, finishes.
///
/// # Errors
/// When the part does not fit, or all bytes are there and can't be taken as this photo.
pub async fn append<E: Into<Box<dyn Error + Send + Sync>>>(
    deps: &Shared,
    upload: &Upload,
    offset: u64,
    checksum: Option<Checksum>,
    body: impl Stream<Item = Result<Bytes, E>> + Send,
) -> Result<Progress> {
    let announced = &upload.announced;
    let length = announced.length;
    match &upload.state {
        UploadState::Refused(reason) => return Err(Fault::UploadOver(reason.clone())),
        UploadState::Complete if offset == length => return Ok(Progress { offset, complete: true }),
        UploadState::Complete => return Err(Fault::WrongOffset(length)),
        UploadState::Open => {}
    }
    let part = Part { upload: announced.id, offset, length, checksum };
    let offset = deps.photos.append(&part, body).await?;
    if offset < length {
        return Ok(Progress { offset, complete: false });
    }
    finish(deps, announced).await?;
    Ok(Progress { offset, complete: true })
}

/// Checks the bytes and keeps the photo. Repeatable: whatever crashes in between, asking again completes it.
async fn finish(deps: &Shared, upload: &NewUpload) -> Result<()> {
    let shop = upload.log.shop();
    let announced = Announced { upload: upload.id, shop, digest: upload.digest, length: upload.length };
    let checked = match deps.photos.finish(announced).await {
        Ok(checked) => checked,
        Err(PhotoError::Rejected(rejection)) => return Err(reject(deps, upload, rejection).await?),
        Err(error) => return Err(error.into()),
    };
    let photo = Photo {
        digest: upload.digest,
        bytes: upload.length,
        media_type: checked.media_type.mime().to_owned(),
        size: checked.size,
        stored: deps.clock.now(),
    };
    deps.storage.complete_upload(upload.id, photo).await?;
    deps.metrics.upload(UploadFate::Complete);
    deps.photos.discard(upload.id).await?;
    make_displays(deps, shop, upload.digest);
    Ok(())
}

/// Display sizes are made beside the request; who asks for one earlier makes it himself.
fn make_displays(deps: &Shared, shop: shared_types::ids::ShopId, digest: Digest) {
    let photos = deps.photos.clone();
    tokio::spawn(async move {
        match photos.make_displays_later(shop, digest).await {
            Ok(()) | Err(PhotoError::CannotDecode(_)) => {}
            Err(error) => tracing::warn!(cause = chain(&error), "photos.no_display_sizes"),
        }
    });
}

/// Gives an upload up for good; a new one may be begun.
async fn reject(deps: &Deps, upload: &NewUpload, rejection: Rejection) -> Result<Fault> {
    deps.storage.refuse_upload(upload.id, &rejection.to_string()).await?;
    deps.metrics.upload(UploadFate::Refused);
    deps.photos.discard(upload.id).await?;
    Ok(match rejection {
        Rejection::WrongDigest { .. } => Fault::ChecksumMismatch,
        rejection @ Rejection::NotAPhoto => Fault::UnsupportedType(rejection.to_string()),
        rejection @ Rejection::TooManyPixels { .. } => Fault::TooLarge(rejection.to_string()),
    })
}

/// Gives an upload up at its sender's wish. A photo that is kept already stays.
///
/// # Errors
/// When the stores can't be written.
pub async fn terminate(deps: &Deps, upload: &Upload) -> Result<()> {
    deps.storage.remove_upload(upload.announced.id).await?;
    Ok(deps.photos.discard(upload.announced.id).await?)
}

/// Forgets uploads that were given up.
///
/// # Errors
/// When the stores can't be read or written.
pub async fn lapse(deps: &Deps) -> Result<()> {
    for upload in deps.storage.lapse_uploads(deps.clock.now()).await? {
        deps.photos.discard(upload.announced.id).await?;
        if upload.state == UploadState::Open {
            deps.metrics.upload(UploadFate::Lapsed);
            tracing::info!(upload = %upload.announced.id, user = %upload.announced.user, "upload.lapsed");
        }
    }
    Ok(())
}

/// After the start: completes what a crash left between the last byte and the end, and
/// deletes staged bytes of uploads that nobody knows.
///
/// # Errors
/// When the stores can't be read or written.
pub async fn sweep(deps: &Shared) -> Result<()> {
    for upload in deps.storage.all_open_uploads().await? {
        if deps.photos.staged(upload.announced.id).await? == upload.announced.length {
            match finish(deps, &upload.announced).await {
                Ok(()) => tracing::info!(upload = %upload.announced.id, "upload.completed_after_restart"),
                Err(fault) => tracing::warn!(cause = chain(&fault), "upload.not_completed_after_restart"),
            }
        }
    }
    for staged in deps.photos.uploads().await? {
        if deps.storage.upload(staged).await?.is_none() {
            deps.photos.discard(staged).await?;
            tracing::info!(upload = %staged, "upload.orphan_deleted");
        }
    }
    Ok(())
}
