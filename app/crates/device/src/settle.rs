//! What the server has of a log, taken into the store: shared by answers to a push and by pulled pages.

use shared_types::change::Entry;
use shared_types::check::SNAPSHOT_AFTER;
use shared_types::ids::LogId;
use shared_types::stamp::Stamp;

use crate::device::Device;
use crate::log::Loaded;
use crate::rows::{CLOCK, ClockRow, log_key};
use crate::store::{Batch, LocalStore, StoreError, Table, row_or_default};
use crate::surroundings::Surroundings;
use crate::transport::Transport;

/// What is about to be taken in.
#[derive(Default)]
pub(crate) struct Settled {
    /// Changes that the server has.
    pub entries: Vec<Entry>,
    /// Rows that leave the outbox.
    pub leave: Vec<String>,
    /// Must the outbox be folded anew? A refused change must vanish from the state, and one
    /// whose stamp counts for less than it says must move.
    pub refold: bool,
    /// Is the log complete with this, so that a snapshot is worthwhile?
    pub end: bool,
}

impl Settled {
    /// The server has one of our own.
    pub(crate) fn own(&mut self, key: String, entry: Entry) {
        self.refold |= entry.mark().stamp != entry.change.stamp;
        self.leave.push(key);
        self.entries.push(entry);
    }

    fn latest(&self) -> Stamp {
        self.entries.iter().map(|entry| entry.mark().stamp).max().unwrap_or_default()
    }
}

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// Folds in what was settled, and writes it with the batch. Only while holding `writing`.
    pub(crate) async fn settle(
        &self,
        log: LogId,
        mut loaded: Loaded,
        settled: Settled,
        mut batch: Batch,
    ) -> Result<(), StoreError> {
        loaded.confirm(log, &settled.entries);
        if !settled.leave.is_empty() {
            let left = loaded.unsent.saturating_sub(settled.leave.len());
            if left == 0 || settled.refold {
                let confirmed = loaded.confirmed.clone();
                (loaded.shown, loaded.unsent) = self.with_outbox(log, confirmed, &settled.leave).await?;
            } else {
                loaded.unsent = left;
            }
        }
        if settled.end {
            snapshot_if_due(log, &mut loaded, &mut batch)?;
        }
        self.move_clock(settled.latest(), settled.leave.len(), &mut batch).await?;
        for key in settled.leave {
            batch.delete(Table::Outbox, key);
        }
        self.write(log, loaded, batch).await
    }

    /// Takes note of a stamp seen, and of how many rows leave the outbox.
    pub(crate) async fn move_clock(
        &self,
        latest: Stamp,
        leave: usize,
        batch: &mut Batch,
    ) -> Result<(), StoreError> {
        let stored = self.inner.store.get(Table::Meta, CLOCK).await?;
        let before: ClockRow = row_or_default(Table::Meta, CLOCK, stored.as_deref())?;
        let mut clock = before;
        clock.seen = clock.seen.max(latest);
        if leave > 0 && self.inner.store.count(Table::Outbox, "").await? == leave {
            clock.made = clock.seen;
        }
        if clock != before {
            batch.require(Table::Meta, CLOCK, stored);
            batch.put(Table::Meta, CLOCK, &clock)?;
        }
        Ok(())
    }
}

/// Writes a snapshot when enough changes follow the last one, and a good part of the log.
pub(crate) fn snapshot_if_due(log: LogId, loaded: &mut Loaded, batch: &mut Batch) -> Result<(), StoreError> {
    let row = &mut loaded.row;
    // What goes on from another version's state is not this version's.
    if !row.is_outdated() && row.pulled.saturating_sub(row.snapshot) >= SNAPSHOT_AFTER.max(row.pulled / 8) {
        row.snapshot = row.pulled;
        let bytes = loaded.confirmed.to_snapshot(row.generation, row.pulled)?;
        batch.put_bytes(Table::Snapshots, log_key(log), bytes);
    }
    Ok(())
}
