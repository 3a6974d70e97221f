//! Snapshots: logs' folded states, made from their changes and never more than those say.

use async_trait::async_trait;
use shared_types::ids::LogId;
use shared_types::stamp::Stamp;

use crate::error::Result;

/// A log's state up to one of its changes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Snapshot {
    /// Which fold made it, see [`shared_types::fold::name`].
    pub fold: String,
    /// The last change folded.
    pub seq: u64,
    /// The latest stamp among the changes folded, as it counts.
    pub latest: Stamp,
    /// The state as JSON.
    pub state: String,
}

/// One snapshot per log at most. Appending does not touch them.
#[async_trait]
pub trait SnapshotStore {
    /// The log's snapshot, if a fold of this name made it.
    async fn snapshot(&self, log: LogId, fold: &str) -> Result<Option<Snapshot>>;

    /// Keeps a snapshot of a log that is there, unless the same fold has come further already.
    async fn keep_snapshot(&self, log: LogId, snapshot: &Snapshot) -> Result<()>;
}
