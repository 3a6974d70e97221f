//! The device: one handle for everything the screens need.

use std::rc::Rc;

use shared_types::api::Me;
use shared_types::body::Known;
use shared_types::check::Problem;
use shared_types::ids::{JobId, LogId, ShopId};
use shared_types::job::JobState;
use shared_types::rules::Denied;
use shared_types::shop::ShopState;
use shared_types::status::JobSummary;
use shared_types::time::UtcMillis;
use uuid::Uuid;

use crate::event::{Event, Listening, SyncState};
use crate::photo::NotAPhoto;
use crate::store::{LocalStore, StoreError};
use crate::surroundings::{KeyError, Storage, Surroundings};
use crate::transport::Transport;

/// Everything a phone holds and does. Clones are handles to the same device.
pub struct Device<S, T, E> {
    inner: Rc<Inner<S, T, E>>,
}

struct Inner<S, T, E> {
    store: S,
    transport: T,
    surroundings: E,
}

impl<S, T, E> Clone for Device<S, T, E> {
    fn clone(&self) -> Self {
        Self { inner: Rc::clone(&self.inner) }
    }
}

/// A job in the list.
#[derive(Clone, Debug, PartialEq)]
pub struct JobRow {
    /// Its shop.
    pub shop: ShopId,
    /// The job.
    pub job: JobId,
    /// All that the list, its search and its groups need.
    pub summary: JobSummary,
    /// Its changes that the server has not acknowledged.
    pub unsent_changes: usize,
    /// Its photos whose bytes are not on the server.
    pub unsent_photos: usize,
}

/// Work of one person that only this device holds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct UnsentWork {
    /// Whose: the sign-in name.
    pub login: String,
    /// Changes not acknowledged.
    pub changes: usize,
    /// Photos not on the server.
    pub photos: usize,
    /// The bytes of those photos.
    pub bytes: u64,
    /// Items in the refused tray that nobody has dealt with.
    pub refused: usize,
}

impl UnsentWork {
    /// Nothing is held here alone.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.changes == 0 && self.photos == 0 && self.refused == 0
    }
}

/// Why the device could not do it by itself.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LocalError {
    /// Nobody is signed in on this device.
    #[error("sign in first")]
    NotSignedIn,
    /// Fields are out of limits.
    #[error("{}", .0.first().map_or_else(|| "out of limits".to_owned(), ToString::to_string))]
    OutOfLimits(Vec<Problem>),
    /// Not this person's to do.
    #[error(transparent)]
    Denied(#[from] Denied),
    /// The change is too long to be sent.
    #[error("this is too long: {bytes} bytes; at most {limit} can be sent")]
    TooLong {
        /// Its length.
        bytes: usize,
        /// The most that is taken.
        limit: usize,
    },
    /// The bytes are not a photo that is taken.
    #[error(transparent)]
    Photo(#[from] NotAPhoto),
    /// Too little room for the photo; notes and readings can still be saved.
    #[error("too little room for this photo: it needs {needed} bytes, {free} are left")]
    NoSpace {
        /// What the photo and a reserve for text need.
        needed: u64,
        /// What is left.
        free: u64,
    },
    /// The store failed: nothing was saved.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// Signing failed: nothing was saved.
    #[error(transparent)]
    Key(#[from] KeyError),
    /// No such item.
    #[error("it is not here any more")]
    Gone,
}

impl<S: LocalStore, T: Transport, E: Surroundings> Device<S, T, E> {
    /// Opens the device on its store. Reads a handful of rows; the network is not asked.
    ///
    /// # Errors
    /// When the store can't be read.
    pub async fn open(store: S, transport: T, surroundings: E) -> Result<Self, StoreError> {
        Ok(Self { inner: Rc::new(Inner { store, transport, surroundings }) })
    }

    /// Who is signed in, offline too.
    #[must_use]
    pub fn me(&self) -> Option<Me> {
        todo!()
    }

    /// Was there unsent work on this device before its storage was emptied? The number of items, if so.
    #[must_use]
    pub fn lost_work(&self) -> Option<usize> {
        todo!()
    }

    /// Now, by the device's clock, corrected by the server's when it has answered.
    #[must_use]
    pub fn now(&self) -> UtcMillis {
        todo!()
    }

    /// A fresh id (UUIDv7) for a job, a step, a reading, …
    #[must_use]
    pub fn uuid(&self) -> Uuid {
        todo!()
    }

    /// The jobs of all shops, from stored summaries: quick for hundreds of them. Retired ones included.
    ///
    /// # Errors
    /// When the store can't be read.
    pub async fn jobs(&self) -> Result<Vec<JobRow>, StoreError> {
        todo!()
    }

    /// A job's state, with what is not sent yet. Empty for a job that isn't here.
    ///
    /// # Errors
    /// When the store can't be read.
    pub async fn job(&self, shop: ShopId, job: JobId) -> Result<Rc<JobState>, StoreError> {
        let _ = (shop, job);
        todo!()
    }

    /// A shop's state, with what is not sent yet.
    ///
    /// # Errors
    /// When the store can't be read.
    pub async fn shop(&self, shop: ShopId) -> Result<Rc<ShopState>, StoreError> {
        let _ = shop;
        todo!()
    }

    /// Makes changes: checked, signed, stored together with their place in the outbox in one
    /// transaction, and folded in. Never waits for the network. A new job is made by changing its log.
    ///
    /// Gives the bodies that take them back, to be passed to this same method.
    ///
    /// # Errors
    /// When nobody is signed in, something is out of limits or not permitted, or the store
    /// fails. Nothing is saved then.
    pub async fn change(&self, log: LogId, bodies: Vec<Known>) -> Result<Vec<Known>, LocalError> {
        let _ = (log, bodies);
        todo!()
    }

    /// Calls back on every event until the subscription is dropped. Calls come from inside
    /// other calls to the device: set a signal and return.
    #[must_use]
    pub fn listen(&self, listener: impl Fn(&Event) + 'static) -> Listening {
        let _ = listener;
        todo!()
    }

    /// Where sync stands.
    #[must_use]
    pub fn sync_state(&self) -> SyncState {
        todo!()
    }

    /// Room on this device, and whether the browser promised to keep what is stored.
    pub async fn storage(&self) -> Storage {
        self.inner.surroundings.storage().await
    }

    /// Asks the browser to keep what is stored, and says whether it will.
    pub async fn ask_to_persist(&self) -> bool {
        self.inner.surroundings.ask_to_persist().await
    }
}
