//! A log's state in place of its history, for a device that has nothing of it yet.
//!
//! Made when asked for, from the one before and the changes since: so opening a job costs what its
//! state costs, however long its history is, and pushing costs nothing more.

use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::value::RawValue;
use shared_types::api;
use shared_types::change::Entry;
use shared_types::check::{MAX_CHANGES_PER_PULL, SNAPSHOT_AFTER};
use shared_types::fold::{self, Folded};
use shared_types::ids::LogId;
use shared_types::job::JobState;
use shared_types::shop::ShopState;
use shared_types::stamp::Stamp;
use storage::{Snapshot, Storage};
use tokio::sync::Mutex;

use crate::fault::{Fault, Result};

/// Whoever makes snapshots: one at a time, so that phones that come together share one.
#[derive(Default)]
pub struct Snapshots {
    turn: Mutex<()>,
}

impl Snapshots {
    /// A snapshot that is at most [`SNAPSHOT_AFTER`] changes behind its log.
    ///
    /// # Errors
    /// [`Fault::NotFound`] when there is no such log, when it is too short to need one, or when the
    /// one who asks goes by another fold than this server.
    pub async fn latest(
        &self,
        storage: &dyn Storage,
        log: LogId,
        fold: &str,
    ) -> Result<api::Snapshot<Box<RawValue>>> {
        if fold != fold::name() {
            return Err(Fault::NotFound);
        }
        let snapshot = match recent(storage, log).await? {
            Some(snapshot) => snapshot,
            None => {
                let _turn = self.turn.lock().await;
                // Somebody before us may have made it.
                match recent(storage, log).await? {
                    Some(snapshot) => snapshot,
                    None => made(storage, log).await?,
                }
            }
        };
        answer(storage, log, snapshot).await
    }
}

/// The kept snapshot, unless its log has grown too far since.
async fn recent(storage: &dyn Storage, log: LogId) -> Result<Option<Snapshot>> {
    let head = storage.head(log).await?.ok_or(Fault::NotFound)?;
    let kept = storage.snapshot(log, &fold::name()).await?;
    if kept.is_none() && head <= SNAPSHOT_AFTER {
        return Err(Fault::NotFound);
    }
    Ok(kept.filter(|kept| head.saturating_sub(kept.seq) <= SNAPSHOT_AFTER))
}

async fn made(storage: &dyn Storage, log: LogId) -> Result<Snapshot> {
    let kept = storage.snapshot(log, &fold::name()).await?;
    let made = match log {
        LogId::Shop(_) => written::<ShopState>(storage, log, kept).await?,
        LogId::Job(..) => written::<JobState>(storage, log, kept).await?,
    };
    // Reading goes on when the disk is full: the next one who asks has it made again.
    if let Err(error) = storage.keep_snapshot(log, &made).await {
        tracing::warn!(%log, %error, "a snapshot could not be kept");
    }
    Ok(made)
}

/// A job as its log says it now, and how many changes that are.
///
/// # Errors
/// When there is no such log, or the store can't be read.
pub async fn job_now(storage: &dyn Storage, log: LogId) -> Result<(JobState, u64)> {
    let kept = storage.snapshot(log, &fold::name()).await?;
    let folded = fold_on(storage, log, kept).await?;
    Ok((folded.state, folded.seq))
}

/// A log's state.
struct FoldedTo<S> {
    /// The state.
    state: S,
    /// After how many changes.
    seq: u64,
    /// The highest stamp among them.
    latest: Stamp,
}

async fn written<S>(storage: &dyn Storage, log: LogId, kept: Option<Snapshot>) -> Result<Snapshot>
where
    S: Folded + Default + Serialize + DeserializeOwned + Send + 'static,
{
    let FoldedTo { state, seq, latest } = fold_on::<S>(storage, log, kept).await?;
    let state = aside(move || serde_json::to_string(&state).map_err(Fault::internal)).await?;
    Ok(Snapshot { fold: fold::name(), seq, latest, state })
}

/// Folds what came since into a state: off the async threads, page by page.
async fn fold_on<S>(storage: &dyn Storage, log: LogId, kept: Option<Snapshot>) -> Result<FoldedTo<S>>
where
    S: Folded + Default + DeserializeOwned + Send + 'static,
{
    let (mut seq, mut latest) = kept.as_ref().map_or((0, Stamp::default()), |kept| (kept.seq, kept.latest));
    let mut state = aside(move || match kept {
        Some(kept) => serde_json::from_str(&kept.state).map_err(Fault::internal),
        None => Ok(S::default()),
    })
    .await?;
    loop {
        let page = storage.pull(log, seq, MAX_CHANGES_PER_PULL).await?;
        let Some(last) = page.changes.last() else { break };
        seq = last.seq;
        (state, latest) = aside(move || {
            for logged in &page.changes {
                // What this version can't read is kept and not folded, as on a device.
                let Ok(change) = logged.change.read() else { continue };
                let entry = Entry { change, received: Some(logged.received) };
                latest = latest.max(entry.mark().stamp);
                state.fold(&entry);
            }
            Ok((state, latest))
        })
        .await?;
        if seq >= page.head {
            break;
        }
    }
    Ok(FoldedTo { state, seq, latest })
}

async fn aside<R: Send + 'static>(work: impl FnOnce() -> Result<R> + Send + 'static) -> Result<R> {
    tokio::task::spawn_blocking(work).await.map_err(Fault::internal)?
}

async fn answer(
    storage: &dyn Storage,
    log: LogId,
    snapshot: Snapshot,
) -> Result<api::Snapshot<Box<RawValue>>> {
    let page = storage.pull(log, snapshot.seq.saturating_sub(1), 1).await?;
    let last = page.changes.into_iter().next().ok_or(Fault::NotFound)?;
    let state = RawValue::from_string(snapshot.state).map_err(Fault::internal)?;
    Ok(api::Snapshot { epoch: page.epoch, fold: snapshot.fold, latest: snapshot.latest, last, state })
}
