//! What the device keeps: named tables of bytes by key, changed in batches that happen whole or not at all.

use serde::Serialize;
use serde::de::DeserializeOwned;
use shared_types::json;

/// A row's key: ASCII text, ordered byte by byte.
pub type Key = String;

/// The tables. Their order and names are part of the stored schema.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Table {
    /// Who is signed in, identities, the clock: one row each.
    Meta,
    /// One small row per log: how far it was pulled, and a job's summary.
    Logs,
    /// Changes with their place in a log, as the server gave it.
    Logged,
    /// Changes that the server has not acknowledged, in the order they were made.
    Outbox,
    /// What the server would not take, and why.
    Refused,
    /// Folded states, so that opening a job does not fold its whole history.
    Snapshots,
    /// One small row per photo.
    Photos,
    /// Photos' bytes in parts of at most 1 MiB.
    Parts,
    /// Photos on their way to the server.
    Uploads,
    /// Others' photos whose thumbnails are to be fetched.
    Wanted,
    /// Others' changes that the server had and lost: kept until it has them again.
    Strays,
    /// Unsaved form text.
    Drafts,
}

impl Table {
    /// Every table.
    pub const ALL: [Self; 12] = [
        Self::Meta,
        Self::Logs,
        Self::Logged,
        Self::Outbox,
        Self::Refused,
        Self::Snapshots,
        Self::Photos,
        Self::Parts,
        Self::Uploads,
        Self::Wanted,
        Self::Strays,
        Self::Drafts,
    ];

    /// The table's name in the store.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Meta => "meta",
            Self::Logs => "logs",
            Self::Logged => "logged",
            Self::Outbox => "outbox",
            Self::Refused => "refused",
            Self::Snapshots => "snapshots",
            Self::Photos => "photos",
            Self::Parts => "parts",
            Self::Uploads => "uploads",
            Self::Wanted => "wanted",
            Self::Strays => "strays",
            Self::Drafts => "drafts",
        }
    }
}

/// A row that must hold exactly this when a batch is written; `None` means that it is absent.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Require {
    /// In which table.
    pub table: Table,
    /// Under which key.
    pub key: Key,
    /// What it must hold.
    pub value: Option<Vec<u8>>,
}

/// What one transaction does: requirements first, then deletions by prefix, then rows.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Batch {
    /// Checked first, in the same transaction: another tab may have been here.
    pub require: Vec<Require>,
    /// Rows deleted by the start of their key; an empty start empties the table.
    pub clear: Vec<(Table, Key)>,
    /// Rows written (`Some`) or deleted (`None`), in order.
    pub rows: Vec<(Table, Key, Option<Vec<u8>>)>,
}

impl Batch {
    /// Requires a row to hold a value.
    pub(crate) fn require(&mut self, table: Table, key: impl Into<Key>, value: Option<Vec<u8>>) {
        self.require.push(Require { table, key: key.into(), value });
    }

    /// Writes a row.
    pub(crate) fn put(
        &mut self,
        table: Table,
        key: impl Into<Key>,
        row: &impl Serialize,
    ) -> Result<(), StoreError> {
        self.put_bytes(table, key, to_row(row)?);
        Ok(())
    }

    /// Writes a row of bytes.
    pub(crate) fn put_bytes(&mut self, table: Table, key: impl Into<Key>, bytes: Vec<u8>) {
        self.rows.push((table, key.into(), Some(bytes)));
    }

    /// Deletes a row.
    pub(crate) fn delete(&mut self, table: Table, key: impl Into<Key>) {
        self.rows.push((table, key.into(), None));
    }

    /// Deletes rows by the start of their key.
    pub(crate) fn clear(&mut self, table: Table, prefix: impl Into<Key>) {
        self.clear.push((table, prefix.into()));
    }
}

/// A value as a row's bytes.
pub(crate) fn to_row(value: &impl Serialize) -> Result<Vec<u8>, StoreError> {
    json::write(value).map(String::into_bytes).map_err(|error| StoreError::Failed(error.to_string()))
}

/// A row's value.
pub(crate) fn from_row<R: DeserializeOwned>(table: Table, key: &str, row: &[u8]) -> Result<R, StoreError> {
    let damaged = |error: serde_json::Error| StoreError::Damaged(format!("{}/{key}: {error}", table.name()));
    json::read(row).map_err(damaged)
}

/// A row's value, or the empty one for a row that is absent.
pub(crate) fn row_or_default<R: DeserializeOwned + Default>(
    table: Table,
    key: &str,
    row: Option<&[u8]>,
) -> Result<R, StoreError> {
    row.map_or_else(|| Ok(R::default()), |row| from_row(table, key, row))
}

/// Why the store could not do it.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum StoreError {
    /// A row of [`Batch::require`] holds something else: read again and try again.
    #[error("another tab changed the same rows")]
    Stale,
    /// No room is left.
    #[error("this device has no room left")]
    NoSpace,
    /// The store did not answer in time, or its connection broke and reopening did not help.
    #[error("this device's storage does not answer; reload the page ({0})")]
    NoAnswer(String),
    /// Another tab with an older version of the app holds the store.
    #[error("another tab with an older version of the app is open; close it")]
    Blocked,
    /// A stored row can't be read.
    #[error("a stored row can't be read: {0}")]
    Damaged(String),
    /// Anything else, in the store's own words.
    #[error("this device's storage failed: {0}")]
    Failed(String),
}

/// Persistence. Implementations are cheap to clone; clones see the same rows.
pub trait LocalStore {
    /// One row.
    async fn get(&self, table: Table, key: &str) -> Result<Option<Vec<u8>>, StoreError>;

    /// The rows whose keys start with `prefix` and are greater than `after`, in order, at most `limit`.
    ///
    /// The bytes come whole: ask for photos' parts a few at a time.
    async fn rows(
        &self,
        table: Table,
        prefix: &str,
        after: Option<&str>,
        limit: usize,
    ) -> Result<Vec<(Key, Vec<u8>)>, StoreError>;

    /// The keys that start with `prefix`, in order, without touching the rows.
    async fn keys(&self, table: Table, prefix: &str) -> Result<Vec<Key>, StoreError>;

    /// How many keys start with `prefix`.
    async fn count(&self, table: Table, prefix: &str) -> Result<usize, StoreError>;

    /// Does the whole batch in one durable transaction, or nothing of it.
    async fn commit(&self, batch: Batch) -> Result<(), StoreError>;
}
