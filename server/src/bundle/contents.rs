//! What goes into a bundle, gathered from the store.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};
use shared_types::api::{DeviceKey, Logged};
use shared_types::countersign::{ServerKey, SignedHead, first_link, next_link};
use shared_types::digest::Digest;
use shared_types::fold::Folded as _;
use shared_types::ids::{DeviceId, LogId, UserId};
use shared_types::job::JobState;
use shared_types::time::UtcMillis;
use storage::{PhotoRef, Storage};

use crate::auth::keyring::Keyring;
use crate::fault::{Fault, Result};
use crate::usecases::{countersign, names, read_log};

/// A state as a bundle holds it: whoever opens one in twenty years folds otherwise.
#[derive(Serialize, Deserialize)]
pub struct FoldedState<S> {
    /// The fold that made it.
    pub fold: String,
    /// What it made.
    pub state: S,
}

/// A job with everything that proves it, but for the photos' bytes.
pub struct Contents {
    /// The job's log.
    pub log: LogId,
    /// Its changes.
    pub changes: Vec<Logged>,
    /// Their fold.
    pub state: JobState,
    /// The keys they were signed with.
    pub keys: Vec<DeviceKey>,
    /// Names of the shop's people.
    pub people: BTreeMap<UserId, String>,
    /// Digests of changes that were not taken.
    pub refusals: BTreeSet<Digest>,
    /// What the server vouches for.
    pub head: SignedHead,
    /// The server's keys.
    pub server_keys: Vec<ServerKey>,
    /// The photos that the changes name.
    pub photos: Vec<PhotoRef>,
}

impl Contents {
    /// Gathers a job.
    ///
    /// # Errors
    /// When there is no such log, the store can't be read, or what it holds is not what it took in.
    pub async fn gather(storage: &dyn Storage, server: &Keyring, log: LogId, now: UtcMillis) -> Result<Self> {
        let changes = read_log::changes(storage, log).await?;
        let mut state = JobState::default();
        let mut devices: BTreeSet<DeviceId> = BTreeSet::new();
        for logged in &changes {
            let entry = read_log::entry(logged)?;
            devices.insert(entry.change.device);
            state.fold(&entry);
        }
        let mut keys = Vec::new();
        for device in devices {
            keys.extend(storage.device_key(device).await?);
        }
        let refusals = storage.refused(log).await?;
        let end = (changes.len() as u64, link(log, &changes));
        let (seq, last) = storage.last_link(log).await?.ok_or(Fault::NotFound)?;
        // A change that came in between is not in this bundle, and not in its head.
        if seq == end.0 && last != end.1 {
            return Err(Fault::internal(format!("{log} was altered in the database: its chain is broken")));
        }
        Ok(Self {
            log,
            changes,
            state,
            keys,
            people: names::by_id(storage, log.shop()).await?,
            head: countersign::sign(server, log, end, &refusals, now),
            server_keys: storage.server_keys().await?,
            refusals,
            photos: storage.photos(log).await?,
        })
    }
}

/// The link of the last of a log's changes.
#[must_use]
pub fn link(log: LogId, changes: &[Logged]) -> Digest {
    let next = |before, it: &Logged| next_link(before, it.seq, it.change.digest(), it.received);
    changes.iter().fold(first_link(log), next)
}
