//! Printing a job's record: laid out off the async threads, one at a time.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use std::time::Duration;

use bytes::Bytes;
use futures::{StreamExt as _, TryStreamExt as _, stream};
use paper::PaperError;
use photo_store::{PhotoStore, PictureSize};
use shared_types::digest::Digest;
use shared_types::fold::Folded as _;
use shared_types::ids::{LogId, ShopId};
use shared_types::job::JobState;
use shared_types::time::UtcMillis;
use storage::Storage;
use tokio::sync::Semaphore;
use tokio_util::sync::CancellationToken;

use super::read_photo::whole_picture;
use super::{countersign, names, read_log};
use crate::auth::keyring::Keyring;
use crate::bundle::contents::link;
use crate::fault::{Fault, Result};
use crate::printed::{self, Picture, Sources};

/// A record costs a core, and memory for its photos.
const AT_ONCE: usize = 1;
/// How many may wait for their turn; further ones are told to come back.
const WAITING: usize = 8;
/// After so long.
const COME_BACK: Duration = Duration::from_secs(10);
/// Photos read at once.
const READING: usize = 4;

/// Whoever prints records.
pub struct Printer {
    turns: Arc<Semaphore>,
    queue: Semaphore,
}

impl Default for Printer {
    fn default() -> Self {
        Self { turns: Arc::new(Semaphore::new(AT_ONCE)), queue: Semaphore::new(AT_ONCE + WAITING) }
    }
}

impl Printer {
    /// A job's record as PDF. Whoever drops the future stops the work.
    ///
    /// # Errors
    /// When there is no such log, too many wait, or a store can't be read.
    pub async fn print(
        &self,
        storage: &dyn Storage,
        photos: &PhotoStore,
        keys: &Keyring,
        log: LogId,
        made: UtcMillis,
    ) -> Result<Bytes> {
        let _waiting = self.queue.try_acquire().map_err(|_| Fault::TooMany(COME_BACK))?;
        let turn = Arc::clone(&self.turns).acquire_owned().await.map_err(Fault::internal)?;
        let sources = gather(storage, photos, keys, log, made).await?;
        let stop = CancellationToken::new();
        let _gone = stop.clone().drop_guard();
        let printing = tokio::task::spawn_blocking(move || {
            let printed = print(&sources, &stop);
            drop(turn);
            printed
        });
        printing.await.map_err(Fault::internal)?
    }
}

fn print(sources: &Sources, stop: &CancellationToken) -> Result<Bytes> {
    let document = printed::document(sources)?;
    match paper::print(&document, &|| stop.is_cancelled()) {
        Ok(pdf) => Ok(pdf.into()),
        // Nobody reads this answer.
        Err(error @ PaperError::Stopped) => Err(Fault::Conflict(error.to_string())),
        Err(error) => Err(Fault::internal(error)),
    }
}

async fn gather(
    storage: &dyn Storage,
    photos: &PhotoStore,
    keys: &Keyring,
    log: LogId,
    made: UtcMillis,
) -> Result<Sources> {
    let changes = read_log::changes(storage, log).await?;
    let mut state = JobState::default();
    for logged in &changes {
        state.fold(&read_log::entry(logged)?);
    }
    let end = (changes.len() as u64, link(log, &changes));
    let head = countersign::sign(keys, log, end, &storage.refused(log).await?, made);
    let names = names::of(storage, log.shop()).await?;
    let shown = state.photos.keys().filter_map(|id| state.shown_photo(*id));
    let digests: BTreeSet<Digest> = shown.filter_map(|photo| photo.digest.get().copied()).collect();
    let pictures = stream::iter(digests)
        .map(|digest| async move { Ok::<_, Fault>((digest, picture(photos, log.shop(), digest).await?)) })
        .buffer_unordered(READING)
        .try_collect::<BTreeMap<_, _>>()
        .await?;
    Ok(Sources { state: Arc::new(state), names, pictures, made, head })
}

/// A photo sized for print; what has not arrived or can't be shown says so in its place.
async fn picture(photos: &PhotoStore, shop: ShopId, digest: Digest) -> Result<Picture> {
    match whole_picture(photos, shop, digest, PictureSize::Print).await {
        Ok(picture) => Ok(Ok(picture)),
        Err(Fault::NotFound) => Ok(Err("This photo had not arrived at the server.".to_owned())),
        Err(Fault::UnsupportedType(_)) => {
            Ok(Err("This photo is kept as it was captured, in a format that can't be printed.".to_owned()))
        }
        Err(fault) => Err(fault),
    }
}
