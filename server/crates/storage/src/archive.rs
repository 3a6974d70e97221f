//! Backup and restore in a form that both databases read.

use async_trait::async_trait;
use tokio::io::{AsyncBufRead, AsyncWrite};

use crate::error::Result;

/// What a restore brought.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Restored {
    /// How many rows.
    pub rows: u64,
    /// The epoch that the database has from now on.
    pub epoch: String,
}

/// Backup and restore of everything but the photos' bytes.
#[async_trait]
pub trait ArchiveStore {
    /// Writes everything as JSON lines, as of one moment, while the store stays in use.
    async fn dump(&self, out: &mut (dyn AsyncWrite + Unpin + Send)) -> Result<u64>;

    /// Reads a dump of either database into this one, which must be empty, and gives it a new epoch.
    ///
    /// # Errors
    /// [`crate::Conflict::NotEmpty`]; [`crate::StoreError::Corrupt`] when the dump is damaged,
    /// cut short or of a newer version. Nothing is kept then.
    async fn restore(&self, dump: &mut (dyn AsyncBufRead + Unpin + Send)) -> Result<Restored>;
}
