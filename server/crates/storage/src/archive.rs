//! Backup and restore in a form that both databases read.

use async_trait::async_trait;
use tokio::io::AsyncWrite;

use crate::error::Result;

/// What a restore brought.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Restored {
    /// How many rows.
    pub rows: u64,
    /// The epoch that the database has from now on.
    pub epoch: String,
}

/// Backup of everything but the photos' bytes. Its counterpart is [`crate::restore`].
#[async_trait]
pub trait ArchiveStore {
    /// Writes everything as JSON lines, as of one moment, while the store stays in use; gives how many rows.
    async fn dump(&self, out: &mut (dyn AsyncWrite + Unpin + Send)) -> Result<u64>;
}
