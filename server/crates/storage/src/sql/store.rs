//! The store: its database, its lane for appends, its bell.

use std::ops::Deref;
use std::sync::{Arc, Mutex, PoisonError};

use async_trait::async_trait;
use sqlx::migrate::Migrator;
use tokio::task::JoinHandle;
use uuid::Uuid;

use super::bell::{self, Bell};
use super::db::Db;
use super::lane::Lane;
use super::newest::Newest;
use super::owned;
use super::search;
use super::value::args;
use crate::Storage;
use crate::error::{Result, StoreError};

static SQLITE: Migrator = sqlx::migrate!("../../../migrations/sqlite");
static POSTGRES: Migrator = sqlx::migrate!("../../../migrations/postgres");

/// The store. A clone is the same store.
#[derive(Clone)]
pub struct Store(Arc<Inner>);

/// What the clones share.
pub struct Inner {
    /// The database.
    pub db: Db,
    /// Appends that wait for their turn.
    pub lane: Lane,
    /// Notices.
    pub bell: Bell,
    /// The newest changes.
    pub newest: Newest,
    relay: Mutex<Option<JoinHandle<()>>>,
}

impl Deref for Store {
    type Target = Inner;

    fn deref(&self) -> &Inner {
        &self.0
    }
}

impl Store {
    /// Opens the database and brings it up to date.
    pub async fn open(url: &str) -> Result<Self> {
        let db = open(url).await?;
        migrate(&db, None).await?;
        let fresh = Uuid::now_v7();
        db.run("INSERT INTO meta (name, value) VALUES ('epoch', $1) ON CONFLICT DO NOTHING", &args![fresh])
            .await?;
        search::bring_up_to_date(&db).await?;
        owned::bring_up_to_date(&db).await?;
        let bell = Bell::new();
        let relay = match &db {
            Db::Sqlite { .. } => None,
            Db::Postgres(pool) => Some(bell::relay(pool, bell.clone()).await?),
        };
        let (lane, newest) = (Lane::default(), Newest::default());
        Ok(Self(Arc::new(Inner { db, lane, bell, newest, relay: Mutex::new(relay) })))
    }
}

/// Opens the database that a URL names.
pub async fn open(url: &str) -> Result<Db> {
    match url.split_once(':') {
        Some(("sqlite", _)) => Db::open_sqlite(url).await,
        Some(("postgres" | "postgresql", _)) => Db::open_postgres(url).await,
        _ => Err(StoreError::Other("a database address begins with sqlite:// or postgres://".to_owned())),
    }
}

/// Brings the tables up to date, or up to a version.
pub async fn migrate(db: &Db, version: Option<i64>) -> Result<()> {
    match (db, version) {
        (Db::Sqlite { writer, .. }, None) => SQLITE.run(writer).await?,
        (Db::Sqlite { writer, .. }, Some(version)) => SQLITE.run_to(version, writer).await?,
        (Db::Postgres(pool), None) => POSTGRES.run(pool).await?,
        (Db::Postgres(pool), Some(version)) => POSTGRES.run_to(version, pool).await?,
    }
    Ok(())
}

/// The version that this program's tables have.
pub fn newest_version() -> i64 {
    SQLITE.iter().map(|migration| migration.version).max().unwrap_or_default()
}

#[async_trait]
impl Storage for Store {
    async fn ready(&self) -> Result<()> {
        let epoch =
            self.db.row("SELECT value FROM meta WHERE name = 'epoch'", &[], |row| row.text(0)).await?;
        epoch.map(drop).ok_or_else(|| StoreError::Corrupt("it has no epoch".to_owned()))
    }

    async fn close(&self) {
        let relay = self.relay.lock().unwrap_or_else(PoisonError::into_inner).take();
        if let Some(relay) = relay {
            relay.abort();
        }
        self.bell.silence();
        self.db.close().await;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_databases_have_the_same_migrations() {
        let names = |migrator: &Migrator| {
            migrator.iter().map(|it| (it.version, it.description.clone())).collect::<Vec<_>>()
        };
        assert_eq!(names(&SQLITE), names(&POSTGRES));
        assert!(newest_version() > 0);
    }
}
