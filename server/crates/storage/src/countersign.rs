//! What the server vouches for: the chains of the logs, and its own keys.

use std::collections::BTreeSet;

use async_trait::async_trait;
use shared_types::countersign::ServerKey;
use shared_types::digest::Digest;
use shared_types::ids::{DeviceId, LogId, UserId};

use crate::error::Result;

/// The chains of the logs, and the public halves of the server's keys.
#[async_trait]
pub trait CountersignStore {
    /// A log's last sequence number and its link.
    async fn last_link(&self, log: LogId) -> Result<Option<(u64, Digest)>>;

    /// Did this device write in the log?
    async fn wrote(&self, log: LogId, device: DeviceId) -> Result<bool>;

    /// Who uses, or used, a device that wrote into a log.
    async fn writers(&self, log: LogId) -> Result<BTreeSet<UserId>>;

    /// The digests of all changes that a log did not take.
    async fn refused(&self, log: LogId) -> Result<BTreeSet<Digest>>;

    /// Keeps keys of the server, so that they are known after a restore too; those that are known stay.
    async fn introduce_keys(&self, keys: &[(Digest, ServerKey)]) -> Result<()>;

    /// All keys that the server ever had, the first one first.
    async fn server_keys(&self) -> Result<Vec<ServerKey>>;
}
