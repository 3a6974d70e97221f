//! Photos' bytes on their way: the open resumable-upload protocol tus 1.0, in parts,
//! each with its checksum, resumed where the server says.
//!
//! All bytes being there is not the end: the upload is complete when the server
//! says so (`Upload-Complete: ?1`, or a success for the part that reached the end).
//! Until then an empty part asks it to finish, as often as need be.

use std::collections::{BTreeMap, BTreeSet};

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use shared_types::api::{PREFIX, ProblemCode, ProblemDetails, RefusalReason};
use shared_types::digest::Digest;
use shared_types::ids::UserId;

use crate::call::{LARGE, SMALL, refusal, request};
use crate::device::{Device, LocalError};
use crate::event::Event;
use crate::photo::PhotoSize;
use crate::push::concerns_this_alone;
use crate::rows::{PhotoRow, RefusedRow, RefusedWhat, UploadRow, refused_photo_key, upload_key, user_prefix};
use crate::session::CallError;
use crate::store::{Batch, LocalStore, StoreError, Table, from_row};
use crate::surroundings::Surroundings;
use crate::transport::{Body, Method, Reply, Request, Transport};
use crate::trouble::Going;

const KIB: u64 = 1024;
/// The smallest part sent.
const LEAST_PART: u64 = 256 * KIB;
/// The largest part sent.
const MOST_PART: u64 = 1024 * KIB;
/// A part that took less than this long, in milliseconds, is followed by a larger one.
const QUICK: i64 = 2_000;
/// So many disagreements over one upload, and it is left for the next round.
const MOST_FAULTS: u32 = 5;

/// How far the photos on their way have come.
#[derive(Debug)]
pub(crate) struct Progress {
    sent: BTreeMap<Digest, u64>,
    /// The size of the next part: what the line bears.
    part: u64,
}

impl Default for Progress {
    fn default() -> Self {
        Self { sent: BTreeMap::new(), part: LEAST_PART }
    }
}

impl Progress {
    pub(crate) fn sent(&self) -> u64 {
        self.sent.values().sum()
    }

    pub(crate) fn of(&self, digest: Digest) -> u64 {
        self.sent.get(&digest).copied().unwrap_or_default()
    }
}

/// Where an upload stands at the server.
struct At {
    place: String,
    offset: u64,
    complete: bool,
}

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// Uploads what waits. What the server refuses goes to the refused tray; the rest goes on.
    pub(crate) async fn upload_all(&self) -> Result<(), CallError> {
        let user = self.signed_in()?.me.user;
        let (mut tried, mut going) = (BTreeSet::new(), Going::default());
        loop {
            let keys = self.inner.store.keys(Table::Uploads, &user_prefix(user)).await;
            let keys = keys.map_err(LocalError::from)?;
            let new: Vec<String> = keys.into_iter().filter(|key| !tried.contains(key)).collect();
            if new.is_empty() {
                return Ok(());
            }
            for key in new {
                tried.insert(key.clone());
                let row = self.inner.store.get(Table::Uploads, &key).await.map_err(LocalError::from)?;
                let Some(row) = row.filter(|_| !self.must_wait(&key)) else {
                    continue;
                };
                let Ok(upload) = from_row::<UploadRow>(Table::Uploads, &key, &row) else {
                    self.park(user, Table::Uploads, key, &row).await.map_err(LocalError::from)?;
                    continue;
                };
                // A photo follows its change: where no changes are taken, photos wait too.
                if !self.inner.now.borrow().held.contains_key(&upload.log) {
                    self.upload_one(user, &key, upload, &mut going).await?;
                }
            }
        }
    }

    async fn upload_one(
        &self,
        user: UserId,
        key: &str,
        mut row: UploadRow,
        going: &mut Going,
    ) -> Result<(), CallError> {
        let done = match self.upload(user, key, &mut row).await {
            Ok(true) => self.uploaded(key, &row).await.map_err(CallError::from),
            Ok(false) => {
                // Less and less often: what both sides say of it does not fit.
                self.went_wrong(key, "the server does not take its bytes; it is tried again".to_owned());
                return Ok(());
            }
            Err(CallError::Refused(problem)) if is_final(&problem) => {
                Ok(self.refuse_photo(user, key, row, &problem).await?)
            }
            Err(CallError::Refused(problem)) if concerns_this_alone(&problem) => {
                let why = CallError::Refused(problem).to_string();
                self.inner.now.borrow_mut().held.insert(row.log, why);
                Ok(())
            }
            done => done.map(drop),
        };
        self.judge(key, going, done)
    }

    /// Sends a photo's bytes. False when it is better left for the next round.
    async fn upload(&self, user: UserId, key: &str, row: &mut UploadRow) -> Result<bool, CallError> {
        let mut at = self.begin(user, key, row).await?;
        let mut faults = 0;
        while !at.complete {
            self.progress(row.digest, at.offset);
            self.attend().await?;
            let part = self.inner.now.borrow().progress.part;
            let bytes = match self.original_part(row, at.offset, part).await {
                Err(StoreError::Damaged(_)) => return Err(damaged()),
                bytes => bytes.map_err(LocalError::from)?,
            };
            let sent = u64::try_from(bytes.len()).unwrap_or(u64::MAX);
            let begun = self.inner.surroundings.now();
            let reply = self.patch(user, &at, bytes).await?;
            match reply.status {
                200..=299 => {
                    at.offset = offset_of(&reply).unwrap_or(at.offset + sent);
                    at.complete = at.offset == row.bytes && says_complete(&reply) != Some(false);
                    self.adapt(self.inner.surroundings.now().since(begun));
                }
                // Another offset than the server's, a part that was damaged on its way, or an
                // upload that another request still holds: ask where it stands.
                409 | 423 | 460 => {
                    faults += 1;
                    self.shrink();
                    at = self.look(user, key, row, at.place).await?;
                }
                404 | 410 => {
                    faults += 1;
                    at = self.create(user, key, row).await?;
                }
                _ => return Err(refusal(&reply)),
            }
            if faults > MOST_FAULTS {
                self.check_own_bytes(row).await?;
                return Ok(false);
            }
        }
        Ok(true)
    }

    async fn begin(&self, user: UserId, key: &str, row: &mut UploadRow) -> Result<At, CallError> {
        match row.place.clone() {
            Some(place) => self.look(user, key, row, place).await,
            None => self.create(user, key, row).await,
        }
    }

    /// Announces the photo. The server may answer that it has it whole already.
    async fn create(&self, user: UserId, key: &str, row: &mut UploadRow) -> Result<At, CallError> {
        let metadata = [
            ("log", row.log.to_string()),
            ("digest", row.digest.to_string()),
            ("type", row.media_type.clone()),
        ];
        let metadata: Vec<String> =
            metadata.iter().map(|(name, value)| format!("{name} {}", STANDARD.encode(value))).collect();
        let mut request = tus(Method::Post, format!("{PREFIX}/photos"), Body::Empty);
        request.headers.push(("upload-length", row.bytes.to_string()));
        request.headers.push(("upload-metadata", metadata.join(",")));
        let reply = self.authorised_as(user, request).await?;
        let offset = offset_of(&reply).unwrap_or_default();
        let complete = says_complete(&reply).unwrap_or(offset == row.bytes);
        match (reply.status, reply.header("location").and_then(path_of)) {
            (200..=299, Some(place)) => {
                row.place = Some(place.clone());
                self.keep_upload(key, row).await?;
                Ok(At { place, offset, complete })
            }
            (200..=299, None) if complete => Ok(At { place: String::new(), offset, complete }),
            (200..=299, None) => Err(CallError::Unreadable("an upload without a place".to_owned())),
            _ => Err(refusal(&reply)),
        }
    }

    /// Asks how far an upload has come; one that the server has forgotten is begun again.
    async fn look(
        &self,
        user: UserId,
        key: &str,
        row: &mut UploadRow,
        place: String,
    ) -> Result<At, CallError> {
        let reply = self.authorised_as(user, tus(Method::Head, place.clone(), Body::Empty)).await?;
        match (reply.status, offset_of(&reply)) {
            // Bytes that are all there are not yet a photo: an empty part asks for the end.
            (200..=299, Some(offset)) => {
                Ok(At { place, offset, complete: says_complete(&reply) == Some(true) })
            }
            (200..=299, None) => Err(CallError::Unreadable("an upload without an offset".to_owned())),
            (403 | 404 | 410, _) => self.create(user, key, row).await,
            _ => Err(refusal(&reply)),
        }
    }

    async fn patch(&self, user: UserId, at: &At, bytes: Vec<u8>) -> Result<Reply, CallError> {
        let checksum = self.inner.surroundings.digest(&bytes).await;
        let body = Body::Bytes("application/offset+octet-stream", bytes);
        let mut request = tus(Method::Patch, at.place.clone(), body);
        request.headers.push(("upload-offset", at.offset.to_string()));
        request.headers.push(("upload-checksum", format!("sha256 {}", STANDARD.encode(checksum.as_bytes()))));
        request.timeout_ms = LARGE;
        self.authorised_as(user, request).await
    }

    async fn keep_upload(&self, key: &str, row: &UploadRow) -> Result<(), LocalError> {
        let mut batch = Batch::default();
        batch.put(Table::Uploads, key, row)?;
        Ok(self.inner.store.commit(batch).await?)
    }

    /// The server has it whole.
    async fn uploaded(&self, key: &str, row: &UploadRow) -> Result<(), LocalError> {
        let turn = self.inner.writing.lock().await;
        let digest = row.digest.to_string();
        let mut batch = Batch::default();
        batch.delete(Table::Uploads, key);
        if let Some(mut photo) = self.row::<PhotoRow>(Table::Photos, &digest).await? {
            photo.on_server = true;
            batch.put(Table::Photos, digest, &photo)?;
        }
        self.inner.store.commit(batch).await?;
        drop(turn);
        self.inner.now.borrow_mut().progress.sent.remove(&row.digest);
        self.recount().await?;
        self.emit(Event::Photos(row.log));
        self.emit(Event::Jobs);
        Ok(())
    }

    async fn refuse_photo(
        &self,
        user: UserId,
        key: &str,
        row: UploadRow,
        problem: &ProblemDetails,
    ) -> Result<(), LocalError> {
        let (log, digest) = (row.log, row.digest);
        let refused = RefusedRow {
            log,
            what: RefusedWhat::Photo(UploadRow { place: None, ..row }),
            reason: match problem.status {
                403 | 404 => RefusalReason::NotPermitted,
                413 | 415 | 422 => RefusalReason::OutOfLimits,
                _ => RefusalReason::Malformed,
            },
            detail: CallError::Refused(Box::new(problem.clone())).to_string(),
            problems: problem.fields.clone(),
            at: self.now(),
            dropped: false,
        };
        let mut batch = Batch::default();
        batch.delete(Table::Uploads, key);
        batch.put(Table::Refused, refused_photo_key(user, log, digest), &refused)?;
        self.inner.store.commit(batch).await?;
        self.inner.now.borrow_mut().progress.sent.remove(&digest);
        self.recount().await?;
        self.emit(Event::Photos(log));
        Ok(())
    }

    /// The server keeps finding the photo damaged: is it damaged here?
    async fn check_own_bytes(&self, row: &UploadRow) -> Result<(), CallError> {
        let bytes = self.held_bytes(row.digest, PhotoSize::Original).await.map_err(LocalError::from)?;
        let whole = match &bytes {
            Some(bytes) => self.inner.surroundings.digest(bytes).await == row.digest,
            None => false,
        };
        if whole { Ok(()) } else { Err(damaged()) }
    }

    fn progress(&self, digest: Digest, offset: u64) {
        self.inner.now.borrow_mut().progress.sent.insert(digest, offset);
        self.say_progress();
    }

    /// A quick line bears larger parts, a slow one smaller ones.
    fn adapt(&self, took: i64) {
        let mut now = self.inner.now.borrow_mut();
        let part = &mut now.progress.part;
        *part = if took < QUICK { *part * 2 } else { *part / 2 }.clamp(LEAST_PART, MOST_PART);
    }

    fn shrink(&self) {
        self.inner.now.borrow_mut().progress.part = LEAST_PART;
    }

    /// Queues a photo again that was refused.
    pub(crate) async fn queue_again(&self, refused_key: &str, row: &UploadRow) -> Result<(), StoreError> {
        let Some(user) = self.user() else {
            return Ok(());
        };
        let mut batch = Batch::default();
        batch.delete(Table::Refused, refused_key);
        batch.put(Table::Uploads, upload_key(user, row.log, row.digest), row)?;
        self.inner.store.commit(batch).await?;
        self.recount().await?;
        self.emit(Event::Photos(row.log));
        self.made();
        Ok(())
    }
}

/// Nobody can send it any more: it goes where people see it.
fn damaged() -> CallError {
    CallError::Refused(Box::new(ProblemDetails {
        kind: "about:blank".to_owned(),
        title: "this photo's bytes on this device are damaged".to_owned(),
        status: 422,
        detail: String::new(),
        instance: String::new(),
        code: ProblemCode::OutOfLimits,
        fields: Vec::new(),
    }))
}

/// Will the server never take this photo as it is? Anything else is tried again by itself.
fn is_final(problem: &ProblemDetails) -> bool {
    matches!(problem.status, 400 | 403 | 404 | 413 | 415 | 422)
}

fn tus(method: Method, path: String, body: Body) -> Request {
    let mut request = Request { path, ..request(method, "", body, SMALL) };
    request.headers.push(("tus-resumable", "1.0.0".to_owned()));
    request
}

fn offset_of(reply: &Reply) -> Option<u64> {
    reply.header("upload-offset")?.parse().ok()
}

/// A structured-field boolean (RFC 8941, 3.3.6).
fn says_complete(reply: &Reply) -> Option<bool> {
    match reply.header("upload-complete")?.trim() {
        "?1" => Some(true),
        "?0" => Some(false),
        _ => None,
    }
}

/// The path of an address on our own server: nothing is ever sent elsewhere.
fn path_of(location: &str) -> Option<String> {
    let path = match location.split_once("://") {
        Some((_, rest)) => &rest[rest.find('/')?..],
        None => location,
    };
    path.starts_with(PREFIX).then(|| path.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_upload_s_place_is_a_path_of_ours() {
        assert_eq!(path_of("/api/v1/photos/7").as_deref(), Some("/api/v1/photos/7"));
        assert_eq!(path_of("https://shop.example/api/v1/photos/7").as_deref(), Some("/api/v1/photos/7"));
        for elsewhere in ["https://shop.example", "https://shop.example/other", "photos/7", ""] {
            assert_eq!(path_of(elsewhere), None, "{elsewhere}");
        }
    }
}
