//! The store in IndexedDB: a table is an object store with the keys kept outside of the values.
//!
//! Browsers lose connections to their database, above all in pages that were in the
//! background, and some transactions never end. So every piece of work has a time
//! limit; a connection that fails is dropped and opened anew, once.

mod request;
mod schema;

use std::cell::RefCell;
use std::rc::Rc;

use js_sys::Array;
use wasm_bindgen::{JsCast as _, JsValue};
use web_sys::{IdbDatabase, IdbKeyRange, IdbTransaction};

use self::request::{Failure, completed, done};
use self::schema::Connection;
use super::js;
use crate::store::{Batch, Key, LocalStore, Require, StoreError, Table};

/// How long one piece of work may take, in milliseconds.
const LIMIT: u32 = 10_000;
/// Where the keys that sign are kept: they are no bytes.
const KEYS: &str = "keys";

/// Rows in IndexedDB.
#[derive(Clone)]
pub struct IndexedDb {
    connection: Rc<RefCell<Option<Rc<Connection>>>>,
}

impl IndexedDb {
    /// Opens the database, and brings an older one forward.
    ///
    /// # Errors
    /// When it can't be opened.
    pub async fn open() -> Result<Self, StoreError> {
        let store = Self { connection: Rc::default() };
        store.connected().await?;
        Ok(store)
    }

    async fn connected(&self) -> Result<Rc<Connection>, StoreError> {
        if let Some(connection) = self.connection.borrow().as_ref().filter(|connection| connection.is_open())
        {
            return Ok(Rc::clone(connection));
        }
        let connection = Rc::new(Connection::open(LIMIT).await?);
        *self.connection.borrow_mut() = Some(Rc::clone(&connection));
        Ok(connection)
    }

    /// Does a piece of work, with a second try on a fresh connection if the first one broke.
    async fn work<R>(&self, work: impl AsyncFn(&IdbDatabase) -> Result<R, Failure>) -> Result<R, StoreError> {
        match self.attempt(&work).await {
            Err(Failure::Broken(_)) => {
                if let Some(broken) = self.connection.borrow_mut().take() {
                    broken.close();
                }
                self.attempt(&work).await
            }
            first => first,
        }
        .map_err(StoreError::from)
    }

    async fn attempt<R>(&self, work: impl AsyncFn(&IdbDatabase) -> Result<R, Failure>) -> Result<R, Failure> {
        let connection = self.connected().await?;
        match js::within(LIMIT, work(connection.database())).await {
            Some(result) => result,
            None => Err(Failure::Broken("no answer in time".to_owned())),
        }
    }

    /// The key pair kept under a name.
    pub(super) async fn key_pair(&self, name: &str) -> Result<Option<JsValue>, StoreError> {
        self.work(async |database| {
            let transaction = begin(database, &[KEYS], "readonly")?;
            let found = done(transaction.object_store(KEYS)?.get(&name.into())?).await?;
            Ok(Some(found).filter(|found| !found.is_undefined()))
        })
        .await
    }

    /// Keeps a key pair, unless another tab was quicker. Gives the one that is kept.
    pub(super) async fn keep_key_pair(&self, name: &str, pair: &JsValue) -> Result<JsValue, StoreError> {
        self.work(async |database| {
            let transaction = begin(database, &[KEYS], "readwrite")?;
            let keys = transaction.object_store(KEYS)?;
            let found = done(keys.get(&name.into())?).await?;
            if !found.is_undefined() {
                return Ok(found);
            }
            keys.put_with_key(pair, &name.into())?;
            completed(&transaction).await?;
            Ok(pair.clone())
        })
        .await
    }
}

impl LocalStore for IndexedDb {
    async fn get(&self, table: Table, key: &str) -> Result<Option<Vec<u8>>, StoreError> {
        self.work(async |database| {
            let transaction = begin(database, &[table.name()], "readonly")?;
            let row = done(transaction.object_store(table.name())?.get(&key.into())?).await?;
            Ok((!row.is_undefined()).then(|| js::bytes(&row)))
        })
        .await
    }

    async fn rows(
        &self,
        table: Table,
        prefix: &str,
        after: Option<&str>,
        limit: usize,
    ) -> Result<Vec<(Key, Vec<u8>)>, StoreError> {
        let limit = u32::try_from(limit).unwrap_or(u32::MAX);
        if limit == 0 {
            // To IndexedDB a limit of 0 is none.
            return Ok(Vec::new());
        }
        self.work(async |database| {
            let range = range(prefix, after)?;
            let transaction = begin(database, &[table.name()], "readonly")?;
            let store = transaction.object_store(table.name())?;
            // Both are asked before the first answer, so that the transaction stays alive.
            let keys = store.get_all_keys_with_key_and_limit(&range, limit)?;
            let rows = store.get_all_with_key_and_limit(&range, limit)?;
            let keys: Array = done(keys).await?.unchecked_into();
            let rows: Array = done(rows).await?.unchecked_into();
            let pairs = keys.iter().zip(rows.iter());
            Ok(pairs.filter_map(|(key, row)| Some((key.as_string()?, js::bytes(&row)))).collect())
        })
        .await
    }

    async fn keys(&self, table: Table, prefix: &str) -> Result<Vec<Key>, StoreError> {
        self.work(async |database| {
            let transaction = begin(database, &[table.name()], "readonly")?;
            let store = transaction.object_store(table.name())?;
            let keys: Array =
                done(store.get_all_keys_with_key(&range(prefix, None)?)?).await?.unchecked_into();
            Ok(keys.iter().filter_map(|key| key.as_string()).collect())
        })
        .await
    }

    async fn count(&self, table: Table, prefix: &str) -> Result<usize, StoreError> {
        self.work(async |database| {
            let transaction = begin(database, &[table.name()], "readonly")?;
            let store = transaction.object_store(table.name())?;
            let count = done(store.count_with_key(&range(prefix, None)?)?).await?;
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of rows")]
            Ok(count.as_f64().unwrap_or_default() as usize)
        })
        .await
    }

    async fn commit(&self, batch: Batch) -> Result<(), StoreError> {
        let done = self.work(async |database| write(database, &batch).await).await;
        // A transaction can have gone through although its connection broke before it said so: then
        // the second try finds its own rows.
        match done {
            Err(StoreError::Stale) if !batch.rows.is_empty() && self.holds(&batch).await? => Ok(()),
            done => done,
        }
    }
}

impl IndexedDb {
    async fn holds(&self, batch: &Batch) -> Result<bool, StoreError> {
        for (table, key, row) in &batch.rows {
            if self.get(*table, key).await? != *row {
                return Ok(false);
            }
        }
        Ok(true)
    }
}

async fn write(database: &IdbDatabase, batch: &Batch) -> Result<(), Failure> {
    let mut tables: Vec<&str> = batch.rows.iter().map(|(table, ..)| table.name()).collect();
    tables.extend(batch.clear.iter().map(|(table, _)| table.name()));
    tables.extend(batch.require.iter().map(|required| required.table.name()));
    tables.sort_unstable();
    tables.dedup();
    if tables.is_empty() {
        return Ok(());
    }
    let transaction = begin(database, &tables, "readwrite")?;
    for Require { table, key, value } in &batch.require {
        let row = done(transaction.object_store(table.name())?.get(&key.into())?).await?;
        if (!row.is_undefined()).then(|| js::bytes(&row)) != *value {
            transaction.abort()?;
            return Err(StoreError::Stale.into());
        }
    }
    for (table, prefix) in &batch.clear {
        transaction.object_store(table.name())?.delete(&range(prefix, None)?)?;
    }
    for (table, key, row) in &batch.rows {
        let store = transaction.object_store(table.name())?;
        match row {
            Some(row) => store.put_with_key(&js::array(row), &key.into())?,
            None => store.delete(&key.into())?,
        };
    }
    completed(&transaction).await
}

/// Begins a transaction. What is written is on the disk when it completes: phones run out of battery.
fn begin(database: &IdbDatabase, tables: &[&str], mode: &str) -> Result<IdbTransaction, Failure> {
    let names: Array = tables.iter().map(|name| JsValue::from_str(name)).collect();
    let options = js::object(&[("durability", "strict".into())]);
    let transaction = js::call(database, "transaction", &[&names, &mode.into(), &options])?;
    Ok(transaction.dyn_into()?)
}

/// The keys that start with `prefix` and come after `after`.
fn range(prefix: &str, after: Option<&str>) -> Result<JsValue, JsValue> {
    let end = format!("{prefix}\u{ffff}");
    let (start, open) = match after {
        Some(after) if after >= prefix => (after, true),
        _ => (prefix, false),
    };
    if start > end.as_str() {
        // Nothing: a range must not be upside down.
        return Ok(IdbKeyRange::only(&JsValue::from_str(&format!("{end}\u{ffff}")))?.into());
    }
    let range = IdbKeyRange::bound_with_lower_open_and_upper_open(&start.into(), &end.into(), open, true)?;
    Ok(range.into())
}
