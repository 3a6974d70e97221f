//! The outbox and the refused tray, as screens show them.

use serde_json::Value;
use shared_types::api::RefusalReason;
use shared_types::body::Known;
use shared_types::change::Change;
use shared_types::check::Problem;
use shared_types::digest::Digest;
use shared_types::ids::{ChangeId, LogId};
use shared_types::time::UtcMillis;

use crate::device::{Device, LocalError};
use crate::store::{LocalStore, StoreError};
use crate::surroundings::Surroundings;
use crate::transport::Transport;

/// An item of the refused tray.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum TrayId {
    /// A change.
    Change(ChangeId),
    /// A photo's bytes.
    Photo(LogId, Digest),
}

/// What the server would not take, and why.
#[derive(Clone, Debug, PartialEq)]
pub struct TrayItem {
    /// Which item.
    pub id: TrayId,
    /// Of which log.
    pub log: LogId,
    /// The change, when it is one.
    pub change: Option<Change>,
    /// Why, for programs.
    pub reason: RefusalReason,
    /// Why, for people.
    pub detail: String,
    /// The fields at fault.
    pub problems: Vec<Problem>,
    /// When it was refused.
    pub at: UtcMillis,
    /// Was it dropped by the person? Kept, so that this can be undone.
    pub dropped: bool,
}

/// A change that waits to be sent.
#[derive(Clone, Debug, PartialEq)]
pub struct Waiting {
    /// The change.
    pub change: Change,
    /// Why it waits, when the server had a reason; else it waits for contact.
    pub why: Option<String>,
}

impl<S: LocalStore, T: Transport, E: Surroundings> Device<S, T, E> {
    /// The changes that wait to be sent, in the order they were made, at most `limit`.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn waiting(&self, limit: usize) -> Result<Vec<Waiting>, StoreError> {
        let _ = limit;
        todo!()
    }

    /// The refused tray, dropped items included.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn tray(&self) -> Result<Vec<TrayItem>, StoreError> {
        todo!()
    }

    /// Drops an item, or takes it back (`dropped` = false).
    ///
    /// # Errors
    /// When it is not in the tray, or the store fails.
    pub async fn drop_refused(&self, id: TrayId, dropped: bool) -> Result<(), LocalError> {
        let _ = (id, dropped);
        todo!()
    }

    /// Tries an item again: a photo as it is, a change as a new change of the same content.
    ///
    /// # Errors
    /// When it is not in the tray, or as [`Device::change`].
    pub async fn retry_refused(&self, id: TrayId) -> Result<(), LocalError> {
        let _ = id;
        todo!()
    }

    /// Replaces a refused change by a corrected one.
    ///
    /// # Errors
    /// When it is not in the tray, or as [`Device::change`].
    pub async fn correct_refused(&self, id: ChangeId, body: Known) -> Result<Vec<Known>, LocalError> {
        let _ = (id, body);
        todo!()
    }

    /// One item as JSON, for a person to keep or send on.
    ///
    /// # Errors
    /// When it is not in the tray.
    pub async fn export_refused(&self, id: TrayId) -> Result<Value, LocalError> {
        let _ = id;
        todo!()
    }
}
