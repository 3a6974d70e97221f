//! A store that takes its time at every call, and can die or fill up at any write.

use std::cell::Cell;
use std::future::{pending, poll_fn};
use std::rc::Rc;
use std::task::Poll;

use device::{Batch, Key, LocalStore, MemoryStore, StoreError, Table};

/// Comes back at the second poll: a place where a tab can be killed.
pub async fn pause() {
    let mut paused = false;
    poll_fn(|context| {
        if paused {
            return Poll::Ready(());
        }
        paused = true;
        context.waker().wake_by_ref();
        Poll::Pending
    })
    .await;
}

/// When the tab dies at a write.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dies {
    Before,
    After,
}

#[derive(Clone, Default)]
pub struct Rows {
    rows: MemoryStore,
    /// Dies at this many writes from now.
    pub dies: Rc<Cell<Option<(u32, Dies)>>>,
    /// There is no room for photos.
    pub full: Rc<Cell<bool>>,
    /// So many writes to come find no room at all.
    pub crowded: Rc<Cell<u32>>,
    pub writes: Rc<Cell<u32>>,
}

impl LocalStore for Rows {
    async fn get(&self, table: Table, key: &str) -> Result<Option<Vec<u8>>, StoreError> {
        pause().await;
        self.rows.get(table, key).await
    }

    async fn rows(
        &self,
        table: Table,
        prefix: &str,
        after: Option<&str>,
        limit: usize,
    ) -> Result<Vec<(Key, Vec<u8>)>, StoreError> {
        pause().await;
        self.rows.rows(table, prefix, after, limit).await
    }

    async fn keys(&self, table: Table, prefix: &str) -> Result<Vec<Key>, StoreError> {
        pause().await;
        self.rows.keys(table, prefix).await
    }

    async fn count(&self, table: Table, prefix: &str) -> Result<usize, StoreError> {
        pause().await;
        self.rows.count(table, prefix).await
    }

    async fn commit(&self, batch: Batch) -> Result<(), StoreError> {
        pause().await;
        if self.full.get() && batch.rows.iter().any(|(table, ..)| *table == Table::Parts) {
            return Err(StoreError::NoSpace);
        }
        if self.crowded.get() > 0 {
            self.crowded.set(self.crowded.get() - 1);
            return Err(StoreError::NoSpace);
        }
        self.writes.set(self.writes.get() + 1);
        match self.dies.get() {
            Some((0, Dies::Before)) => pending().await,
            Some((0, Dies::After)) => {
                self.rows.commit(batch).await?;
                return pending().await;
            }
            Some((left, dies)) => self.dies.set(Some((left - 1, dies))),
            None => {}
        }
        let done = self.rows.commit(batch).await;
        pause().await;
        done
    }
}
