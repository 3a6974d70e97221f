//! The store in IndexedDB.

use crate::store::{Batch, Key, LocalStore, StoreError, Table};

/// Rows in IndexedDB.
#[derive(Clone)]
pub struct IndexedDb;

impl IndexedDb {
    /// Opens the database, and brings an older one forward.
    ///
    /// # Errors
    /// When it can't be opened.
    pub async fn open() -> Result<Self, StoreError> {
        todo!()
    }
}

impl LocalStore for IndexedDb {
    async fn get(&self, _table: Table, _key: &str) -> Result<Option<Vec<u8>>, StoreError> {
        todo!()
    }
    async fn rows(
        &self,
        _table: Table,
        _prefix: &str,
        _after: Option<&str>,
        _limit: usize,
    ) -> Result<Vec<(Key, Vec<u8>)>, StoreError> {
        todo!()
    }
    async fn keys(&self, _table: Table, _prefix: &str) -> Result<Vec<Key>, StoreError> {
        todo!()
    }
    async fn count(&self, _table: Table, _prefix: &str) -> Result<usize, StoreError> {
        todo!()
    }
    async fn commit(&self, _batch: Batch) -> Result<(), StoreError> {
        todo!()
    }
}
