//! Rows that can't be read: put aside into the refused tray, to the letter, so that the rest goes on.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use shared_types::api::RefusalReason;
use shared_types::change::SignedChange;
use shared_types::ids::{LogId, ShopId, UserId};

use crate::device::Device;
use crate::push::id_of_key;
use crate::rows::{RefusedRow, RefusedWhat, UnreadableRow, log_of_key, unreadable_key};
use crate::store::{Batch, Key, LocalStore, StoreError, Table, from_row};
use crate::surroundings::Surroundings;
use crate::transport::Transport;

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// The next changes of an outbox, at most so many; what can't be read is put aside.
    pub(crate) async fn outbox(
        &self,
        user: UserId,
        prefix: &str,
        after: Option<&str>,
        most: usize,
    ) -> Result<Vec<(Key, SignedChange)>, StoreError> {
        let mut changes = Vec::new();
        let mut after = after.map(ToOwned::to_owned);
        while changes.is_empty() {
            let rows = self.inner.store.rows(Table::Outbox, prefix, after.as_deref(), most).await?;
            let Some((last, _)) = rows.last() else {
                break;
            };
            after = Some(last.clone());
            for (key, row) in rows {
                let named = log_of_key(&key).is_some() && id_of_key(&key).is_ok();
                match from_row(Table::Outbox, &key, &row) {
                    Ok(signed) if named => changes.push((key, signed)),
                    _ => self.park(user, Table::Outbox, key, &row).await?,
                }
            }
        }
        Ok(changes)
    }

    /// Puts a row aside.
    pub(crate) async fn park(
        &self,
        user: UserId,
        table: Table,
        key: Key,
        row: &[u8],
    ) -> Result<(), StoreError> {
        let text = match str::from_utf8(row) {
            Ok(text) => text.to_owned(),
            Err(_) => format!("base64:{}", STANDARD.encode(row)),
        };
        let what = UnreadableRow { key: format!("{}/{key}", table.name()), text };
        let digest = what.digest();
        let log = log_of_key(&key).unwrap_or(LogId::Shop(ShopId::default()));
        let refused = RefusedRow {
            log,
            what: RefusedWhat::Unreadable(what),
            reason: RefusalReason::Malformed,
            detail: "this entry can't be read on this device; it is kept as it is".to_owned(),
            problems: Vec::new(),
            at: self.now(),
            dropped: false,
        };
        let mut batch = Batch::default();
        batch.require(table, key.clone(), Some(row.to_vec()));
        batch.delete(table, key);
        batch.put(Table::Refused, unreadable_key(user, digest), &refused)?;
        match self.inner.store.commit(batch).await {
            // Another tab was quicker.
            Ok(()) | Err(StoreError::Stale) => {}
            Err(error) => return Err(error),
        }
        self.recount().await
    }
}
