//! The refused tray, as screens show it.

use serde_json::{Value, json};
use shared_types::api::RefusalReason;
use shared_types::body::{Body, Known};
use shared_types::change::{Change, SignedChange, Unreadable};
use shared_types::check::Problem;
use shared_types::digest::Digest;
use shared_types::ids::{ChangeId, LogId, UserId};
use shared_types::sorted;
use shared_types::time::UtcMillis;

use crate::device::{Device, LocalError};
use crate::rows::{
    RefusedRow, RefusedWhat, refused_change_key, refused_photo_key, unreadable_key, user_prefix,
};
use crate::store::{Batch, Key, LocalStore, StoreError, Table};
use crate::surroundings::Surroundings;
use crate::transport::Transport;

/// An item of the refused tray.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum TrayId {
    /// A change.
    Change(ChangeId),
    /// A photo's bytes.
    Photo(LogId, Digest),
    /// A row that can't be read.
    Row(Digest),
}

/// What the server would not take, and why.
#[derive(Clone, Debug, PartialEq)]
pub struct TrayItem {
    /// Which item.
    pub id: TrayId,
    /// Of which log.
    pub log: LogId,
    /// The change, when it is one that this version can read.
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

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// The refused tray, latest first, dropped items included.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn tray(&self) -> Result<Vec<TrayItem>, StoreError> {
        let Some(user) = self.user() else {
            return Ok(Vec::new());
        };
        let rows: Vec<(String, RefusedRow)> = self.all(Table::Refused, &user_prefix(user)).await?;
        let items: Result<Vec<TrayItem>, _> = rows.into_iter().map(|(key, row)| item(&key, row)).collect();
        let mut items = items?;
        sorted::by_key(&mut items, |item| (std::cmp::Reverse(item.at), item.id));
        Ok(items)
    }

    /// Drops an item, or takes it back (`dropped` = false).
    ///
    /// # Errors
    /// When it is not in the tray, or the store fails.
    pub async fn drop_refused(&self, id: TrayId, dropped: bool) -> Result<(), LocalError> {
        let (key, mut row) = self.refused(id).await?;
        row.dropped = dropped;
        let mut batch = Batch::default();
        batch.put(Table::Refused, key, &row)?;
        self.inner.store.commit(batch).await?;
        Ok(self.recount().await?)
    }

    /// Tries an item again: a photo as it is, a change as a new change of the same content.
    ///
    /// # Errors
    /// When it is not in the tray, or as [`Device::change`].
    pub async fn retry_refused(&self, id: TrayId) -> Result<(), LocalError> {
        let (key, row) = self.refused(id).await?;
        match row.what {
            RefusedWhat::Photo(upload) => self.queue_again(&key, &upload).await?,
            RefusedWhat::Change(signed) => {
                let body = known_body(&signed)?;
                self.replace(key, row.log, body).await?;
            }
            RefusedWhat::Unreadable(_) => return Err(Unreadable::Malformed(row.detail).into()),
        }
        Ok(())
    }

    /// Replaces a refused change by a corrected one.
    ///
    /// # Errors
    /// When it is not in the tray, or as [`Device::change`].
    pub async fn correct_refused(&self, id: ChangeId, body: Known) -> Result<Vec<Known>, LocalError> {
        let (key, row) = self.refused(TrayId::Change(id)).await?;
        self.replace(key, row.log, body).await
    }

    /// One item as JSON, for a person to keep or send on.
    ///
    /// # Errors
    /// When it is not in the tray.
    pub async fn export_refused(&self, id: TrayId) -> Result<Value, LocalError> {
        let (_, row) = self.refused(id).await?;
        let what = match row.what {
            RefusedWhat::Change(signed) => json!({ "change": signed }),
            RefusedWhat::Photo(upload) => json!({
                "photo": { "log": upload.log, "digest": upload.digest, "bytes": upload.bytes }
            }),
            RefusedWhat::Unreadable(row) => json!({ "unreadable": row }),
        };
        Ok(
            json!({ "what": what, "reason": row.reason, "detail": row.detail, "problems": row.problems, "at": row.at }),
        )
    }

    async fn replace(&self, key: Key, log: LogId, body: Known) -> Result<Vec<Known>, LocalError> {
        let mut batch = Batch::default();
        batch.delete(Table::Refused, key);
        self.change_with(log, vec![body], batch).await
    }

    async fn refused(&self, id: TrayId) -> Result<(Key, RefusedRow), LocalError> {
        let key = key_of(self.signed_in()?.me.user, id);
        let row = self.row(Table::Refused, &key).await?.ok_or(LocalError::Gone)?;
        Ok((key, row))
    }
}

/// What a change does, if this version knows it.
pub(crate) fn known_body(signed: &SignedChange) -> Result<Known, Unreadable> {
    match signed.read()?.body {
        Body::Known(body) => Ok(body),
        Body::Unknown { kind, .. } => Err(Unreadable::Malformed(format!("`{kind}` is not known"))),
    }
}

fn key_of(user: UserId, id: TrayId) -> Key {
    match id {
        TrayId::Change(id) => refused_change_key(user, id),
        TrayId::Photo(log, digest) => refused_photo_key(user, log, digest),
        TrayId::Row(row) => unreadable_key(user, row),
    }
}

fn item(key: &str, row: RefusedRow) -> Result<TrayItem, StoreError> {
    let (id, change) = match row.what {
        RefusedWhat::Photo(upload) => (TrayId::Photo(upload.log, upload.digest), None),
        RefusedWhat::Unreadable(row) => (TrayId::Row(row.digest()), None),
        RefusedWhat::Change(signed) => {
            let id = key.rsplit('|').next().and_then(|id| id.parse().ok());
            let id = id.ok_or_else(|| StoreError::Damaged(format!("refused/{key}")))?;
            (TrayId::Change(id), signed.read().ok())
        }
    };
    let RefusedRow { log, reason, detail, problems, at, dropped, .. } = row;
    Ok(TrayItem { id, log, change, reason, detail, problems, at, dropped })
}
