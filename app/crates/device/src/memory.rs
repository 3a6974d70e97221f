//! A store in memory, for tests and the simulator. Clones share their rows, as tabs do.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::ops::Bound;
use std::rc::Rc;

use crate::store::{Batch, Key, LocalStore, StoreError, Table};

type Rows = BTreeMap<(Table, Key), Vec<u8>>;

/// Rows in memory.
#[derive(Clone, Default)]
pub struct MemoryStore {
    rows: Rc<RefCell<Rows>>,
}

impl MemoryStore {
    fn range<R>(
        &self,
        table: Table,
        prefix: &str,
        after: Option<&str>,
        limit: usize,
        each: impl Fn(&Key, &Vec<u8>) -> R,
    ) -> Vec<R> {
        let start = match after {
            Some(after) if after >= prefix => Bound::Excluded((table, after.to_owned())),
            _ => Bound::Included((table, prefix.to_owned())),
        };
        self.rows
            .borrow()
            .range((start, Bound::Unbounded))
            .take_while(|((of, key), _)| *of == table && key.starts_with(prefix))
            .take(limit)
            .map(|((_, key), value)| each(key, value))
            .collect()
    }
}

impl LocalStore for MemoryStore {
    async fn get(&self, table: Table, key: &str) -> Result<Option<Vec<u8>>, StoreError> {
        Ok(self.rows.borrow().get(&(table, key.to_owned())).cloned())
    }

    async fn rows(
        &self,
        table: Table,
        prefix: &str,
        after: Option<&str>,
        limit: usize,
    ) -> Result<Vec<(Key, Vec<u8>)>, StoreError> {
        Ok(self.range(table, prefix, after, limit, |key, value| (key.clone(), value.clone())))
    }

    async fn keys(&self, table: Table, prefix: &str) -> Result<Vec<Key>, StoreError> {
        Ok(self.range(table, prefix, None, usize::MAX, |key, _| key.clone()))
    }

    async fn count(&self, table: Table, prefix: &str) -> Result<usize, StoreError> {
        Ok(self.range(table, prefix, None, usize::MAX, |_, _| ()).len())
    }

    async fn commit(&self, batch: Batch) -> Result<(), StoreError> {
        let mut rows = self.rows.borrow_mut();
        for required in &batch.require {
            if rows.get(&(required.table, required.key.clone())) != required.value.as_ref() {
                return Err(StoreError::Stale);
            }
        }
        for (table, prefix) in &batch.clear {
            rows.retain(|(of, key), _| of != table || !key.starts_with(prefix.as_str()));
        }
        for (table, key, value) in batch.rows {
            match value {
                Some(value) => rows.insert((table, key), value),
                None => rows.remove(&(table, key)),
            };
        }
        Ok(())
    }
}
