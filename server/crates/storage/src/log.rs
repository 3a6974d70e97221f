//! Logs of changes.

use std::collections::HashMap;
use std::fmt;
use std::sync::Arc;

use async_trait::async_trait;
use shared_types::api::{LogHead, Notice, Page, RefusalReason};
use shared_types::change::{Change, SignedChange};
use shared_types::digest::Digest;
use shared_types::ids::{Author, ChangeId, DeviceId, LogId, ShopId, UserId, WorksheetId};
use shared_types::stamp::Stamp;
use shared_types::time::UtcMillis;
use shared_types::worksheet::WorksheetKind;
use tokio::sync::broadcast;
use uuid::Uuid;

use crate::error::Result;

/// A change that was read, checked and permitted, and so may go into its log.
#[derive(Clone, Debug)]
pub struct PreparedChange {
    pub(crate) change: Change,
    pub(crate) signed: SignedChange,
    pub(crate) digest: Digest,
}

impl PreparedChange {
    /// Pairs a change with the signed text that it was read from.
    #[must_use]
    pub fn new(change: Change, signed: SignedChange) -> Self {
        let digest = signed.digest();
        Self { change, signed, digest }
    }

    /// The change.
    #[must_use]
    pub const fn change(&self) -> &Change {
        &self.change
    }

    /// The digest of its text.
    #[must_use]
    pub const fn digest(&self) -> Digest {
        self.digest
    }
}

/// Changes for one log, from one device.
#[derive(Clone, Debug)]
pub struct Batch {
    /// The log; every change names it.
    pub log: LogId,
    /// The changes in the order they were made.
    pub changes: Vec<PreparedChange>,
    /// When they were received.
    pub received: UtcMillis,
    /// Who sent them and what is still to come, to be noted with the device.
    pub from: Option<Sender>,
}

/// The device that sends a batch, and the person using it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sender {
    /// The person.
    pub user: UserId,
    /// The device.
    pub device: DeviceId,
    /// How many changes and photos it still holds.
    pub pending: u64,
}

/// A worksheet that waits for the server's answer to its present input.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// The job's log.
    pub log: LogId,
    /// The worksheet.
    pub worksheet: WorksheetId,
    /// Which calculation.
    pub kind: WorksheetKind,
    /// Its input.
    pub input: serde_json::Value,
}

/// What became of one appended change.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Answer {
    /// Durable in the log.
    Taken {
        /// Its sequence number.
        seq: u64,
        /// When it was received.
        received: UtcMillis,
    },
    /// The same change was there already.
    AlreadyHad {
        /// Its sequence number.
        seq: u64,
        /// When it was received then.
        received: UtcMillis,
    },
    /// The id is taken by another content, in this log or in another.
    IdTaken,
}

/// What became of an append.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Appended {
    /// The database's epoch.
    pub epoch: String,
    /// The log's last sequence number now.
    pub head: u64,
    /// One per change, in the same order.
    pub answers: Vec<Answer>,
}

/// Where the server's own next change in a log goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// The log.
    pub log: LogId,
    /// The server's previous change in this log.
    pub previous: Option<Digest>,
    /// The highest stamp in this log, as it counts: the server's must be later to take effect.
    pub highest: Stamp,
}

/// Makes the server's own changes for a place. May be called more than once when
/// the database asks for the transaction to be repeated; only the last call counts.
/// The second and later changes of one call chain on the one before them.
pub type BuildOwn = Arc<dyn Fn(&Place) -> Vec<PreparedChange> + Send + Sync>;

/// The server's own changes to a log.
#[derive(Clone)]
pub struct OwnChanges {
    /// To which log.
    pub log: LogId,
    /// When.
    pub received: UtcMillis,
    /// Makes them.
    pub build: BuildOwn,
}

impl fmt::Debug for OwnChanges {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("OwnChanges").field("log", &self.log).finish_non_exhaustive()
    }
}

/// A change that was refused, kept for the record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    /// The log it was pushed to.
    pub log: LogId,
    /// The change, when it could be read that far.
    pub change: Option<ChangeId>,
    /// The digest of its text.
    pub digest: Digest,
    /// Who pushed it.
    pub author: Author,
    /// From which device.
    pub device: DeviceId,
    /// Why, for programs.
    pub reason: RefusalReason,
    /// Why, for people.
    pub detail: String,
    /// When.
    pub at: UtcMillis,
}

/// The server as an author of changes. Its private key lives outside the database.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ServerIdentity {
    /// The server's device id.
    pub device: DeviceId,
    /// As in [`shared_types::api::DeviceIntroduction::public_key`].
    pub public_key: String,
}

/// What a subscriber hears.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Live {
    /// A log has grown.
    Log(Notice),
    /// Notices may have been lost: read the heads anew.
    Missed,
}

/// A subscription to all notices of all server processes on this database.
#[derive(Debug)]
pub struct Notices(pub(crate) broadcast::Receiver<Live>);

impl Notices {
    /// The next notice; `None` once the store is closed.
    pub async fn next(&mut self) -> Option<Live> {
        match self.0.recv().await {
            Ok(live) => Some(live),
            Err(broadcast::error::RecvError::Lagged(_)) => Some(Live::Missed),
            Err(broadcast::error::RecvError::Closed) => None,
        }
    }
}

/// Logs of changes: gap-free, append-only, durable once answered.
#[async_trait]
pub trait LogStore {
    /// The database's epoch: made with the database, another one after a restore.
    async fn epoch(&self) -> Result<String>;

    /// The server's identity; `None` before [`LogStore::introduce_server`].
    async fn server_identity(&self) -> Result<Option<ServerIdentity>>;

    /// Sets the server's identity unless there is one; gives the one that holds.
    async fn introduce_server(&self, identity: ServerIdentity) -> Result<ServerIdentity>;

    /// Appends changes to a log in one transaction, and answers once they are durable.
    ///
    /// Memberships, the shop's name, references to photos, worksheets to answer and the sender's
    /// last sign of life follow in the same transaction. The log is made with its first change.
    /// Batches that wait for the disk at the same time share one transaction.
    ///
    /// # Errors
    /// [`crate::Conflict::OtherShop`] when the job belongs to another shop.
    async fn append(&self, batch: Batch) -> Result<Appended>;

    /// Appends changes of the server's own, built while the log is locked.
    async fn append_own(&self, own: OwnChanges) -> Result<Appended>;

    /// Changes after `since`, at most `limit` and at most some megabytes, but at least one if there is one.
    ///
    /// # Errors
    /// [`crate::StoreError::NotFound`] when there is no such log.
    async fn pull(&self, log: LogId, since: u64, limit: usize) -> Result<Page>;

    /// The same page as JSON, as it travels.
    ///
    /// # Errors
    /// As [`LogStore::pull`].
    async fn written_page(&self, log: LogId, since: u64, limit: usize) -> Result<String>;

    /// Whether there is such a log, and how far it has come.
    async fn head(&self, log: LogId) -> Result<Option<u64>>;

    /// The shop's log and its jobs' logs, with how far each has come and the mark of what stands in it.
    async fn heads(&self, shop: ShopId) -> Result<Vec<LogHead>>;

    /// Worksheets that wait for an answer to their present input: asked by any log's changes, not yet answered.
    async fn questions(&self, limit: usize) -> Result<Vec<Question>>;

    /// Who first wrote each of these entities (offers, decisions, signatures), in the order in which
    /// changes reached the server; entities that aren't in the log are left out.
    async fn owners(&self, log: LogId, entities: &[Uuid]) -> Result<HashMap<Uuid, Author>>;

    /// Keeps a refusal for the record; the same change refused again to the same device is kept once.
    async fn refuse(&self, refusals: &[Refusal]) -> Result<()>;

    /// The latest refusals in a shop's logs, latest first.
    async fn refusals(&self, shop: ShopId, limit: usize) -> Result<Vec<Refusal>>;

    /// Listens to notices from now on.
    fn subscribe(&self) -> Notices;
}
