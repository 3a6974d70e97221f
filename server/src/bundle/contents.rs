//! What goes into a bundle, gathered from the store.

use std::collections::{BTreeMap, BTreeSet};

use shared_types::api::{DeviceKey, Logged};
use shared_types::digest::Digest;
use shared_types::fold::Folded as _;
use shared_types::ids::{DeviceId, LogId, UserId};
use shared_types::job::JobState;
use storage::{PhotoRef, Storage};

use crate::fault::Result;
use crate::usecases::read_log;

/// How many refusals of a shop are looked through.
const REFUSALS: usize = 100_000;

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
    /// The photos that the changes name.
    pub photos: Vec<PhotoRef>,
}

impl Contents {
    /// Gathers a job.
    ///
    /// # Errors
    /// When there is no such log, or the store can't be read.
    pub async fn gather(storage: &dyn Storage, log: LogId) -> Result<Self> {
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
        let members = storage.members(log.shop()).await?;
        let refusals = storage.refusals(log.shop(), REFUSALS).await?;
        Ok(Self {
            log,
            changes,
            state,
            keys,
            people: members.into_iter().map(|member| (member.user, member.name)).collect(),
            refusals: refusals.into_iter().filter(|it| it.log == log).map(|it| it.digest).collect(),
            photos: storage.photos(log).await?,
        })
    }
}
