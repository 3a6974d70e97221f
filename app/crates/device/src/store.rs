//! What the device keeps: named tables of bytes by key, changed in batches that happen whole or not at all.

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
    /// Unsaved form text.
    Drafts,
}

impl Table {
    /// Every table.
    pub const ALL: [Self; 11] = [
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

/// Rows to write and delete in one transaction.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Batch {
    /// Checked first, in the same transaction: another tab may have been here.
    pub require: Vec<Require>,
    /// Written (`Some`) or deleted (`None`), in order.
    pub rows: Vec<(Table, Key, Option<Vec<u8>>)>,
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
    #[error("this device's storage does not answer; reload the page")]
    NoAnswer,
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
