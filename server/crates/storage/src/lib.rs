//! What the server remembers: logs of changes, people and their devices,
//! uploads and photos' particulars. One interface, [`Storage`], over SQLite and
//! PostgreSQL; nothing that matters for correctness lives in the process, so
//! several servers may share one PostgreSQL.
//!
//! No method reads a clock: moments arrive as arguments.

mod account;
mod archive;
mod countersign;
mod error;
mod guest;
mod log;
mod search;
mod session;
mod shop;
mod snapshot;
mod sql;
mod upload;

pub use account::{AccountStore, Device, NewUser, User};
pub use archive::{ArchiveStore, Restored};
pub use countersign::CountersignStore;
pub use error::{Conflict, Result, StoreError};
pub use guest::{GuestStore, JobMember, RecordLink, RecordLinkId};
pub use log::{
    Answer, Appended, Batch, BuildOwn, Live, LogStore, Notices, OwnChanges, Place, PreparedChange, Question,
    Refusal, Sender, ServerIdentity,
};
pub use search::{Found, FoundIn, Reach, SearchStore, Wanted};
pub use session::{Family, Rotation, Session, SessionStore};
pub use shop::{Invitation, InvitationId, Member, NewInvitation, ShopStore};
pub use snapshot::{Snapshot, SnapshotStore};
pub use upload::{NewUpload, Photo, PhotoRef, Upload, UploadState, UploadStore};

use std::sync::Arc;

use tokio::io::AsyncBufRead;

/// Everything the server remembers. Shared as `Arc<dyn Storage>`.
#[async_trait::async_trait]
pub trait Storage:
    LogStore
    + SnapshotStore
    + CountersignStore
    + ShopStore
    + GuestStore
    + AccountStore
    + SessionStore
    + UploadStore
    + SearchStore
    + ArchiveStore
    + Send
    + Sync
{
    /// Can the database be reached and read?
    async fn ready(&self) -> Result<()>;

    /// Finishes what is under way and lets go of the database.
    async fn close(&self);
}

/// Opens a database (`sqlite://PATH`, made when absent, or `postgres://…`) and
/// brings its tables up to date.
///
/// # Errors
/// When the URL is of another kind, the database can't be reached, or was
/// written by a newer version.
pub async fn open(url: &str) -> Result<Arc<dyn Storage>> {
    Ok(Arc::new(sql::Store::open(url).await?))
}

/// Reads a dump of either database ([`ArchiveStore::dump`]) into a new, empty one, and gives it a
/// new epoch. The database is closed again afterwards.
///
/// # Errors
/// [`Conflict::NotEmpty`]; [`StoreError::Corrupt`] when the dump is damaged, cut short or of a
/// newer version. No row is kept then.
pub async fn restore(url: &str, dump: &mut (dyn AsyncBufRead + Unpin + Send)) -> Result<Restored> {
    sql::restore(url, dump).await
}
