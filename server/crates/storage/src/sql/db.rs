//! One thin layer over sqlx's two drivers: text and whole numbers in, rows out.
//!
//! One SQL text serves both databases wherever it can ([`Sql`] holds both where
//! it can't), so the store above is written once. Bulk inserts hand over one
//! JSON array: their text stays constant too.

use std::fs::OpenOptions;
use std::io::ErrorKind;
use std::ops::ControlFlow;
use std::path::Path;
use std::str::FromStr;
use std::time::Duration;

use futures::stream::BoxStream;
use futures::{StreamExt as _, TryStreamExt as _};
use sqlx::pool::PoolConnection;
use sqlx::postgres::{PgConnectOptions, PgPoolOptions};
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous};
use sqlx::{
    AssertSqlSafe, ConnectOptions as _, Connection as _, PgConnection, PgPool, Postgres, Sqlite,
    SqliteConnection, SqlitePool, Transaction,
};

use super::value::{Arg, Row, Sql, postgres_arguments, sqlite_arguments};
use crate::error::{Result, StoreError};

/// SQLite's page cache per connection, in KiB.
const CACHE_KIB: &str = "-8000";
/// How long a writer waits for another process' lock, or anyone for a connection.
const PATIENCE: Duration = Duration::from_secs(5);
const SQLITE_READERS: u32 = 4;
const POSTGRES_CONNECTIONS: u32 = 10;

/// The database behind the store.
pub enum Db {
    /// One writer at a time, and readers that never wait for it.
    Sqlite {
        /// A pool of one.
        writer: SqlitePool,
        /// Read-only connections.
        readers: SqlitePool,
    },
    /// One pool for all.
    Postgres(PgPool),
}

/// A connection, in a transaction or not.
pub enum Conn {
    /// SQLite, reading.
    SqliteRead(PoolConnection<Sqlite>),
    /// SQLite, in a transaction.
    Sqlite(Transaction<'static, Sqlite>),
    /// PostgreSQL, reading.
    PostgresRead(PoolConnection<Postgres>),
    /// PostgreSQL, in a transaction.
    Postgres(Transaction<'static, Postgres>),
}

enum Driver<'a> {
    Sqlite(&'a mut SqliteConnection),
    Postgres(&'a mut PgConnection),
}

impl Db {
    /// Opens SQLite's file, made when absent.
    pub async fn open_sqlite(url: &str) -> Result<Self> {
        let options = SqliteConnectOptions::from_str(url)?;
        if url.contains(":memory:") || url.contains("mode=memory") {
            return Err(StoreError::Other("SQLite's database has to be a file".to_owned()));
        }
        make_private(options.get_filename())?;
        let options = options
            .create_if_missing(true)
            .journal_mode(SqliteJournalMode::Wal)
            // An answer means that the change survives a power cut.
            .synchronous(SqliteSynchronous::Full)
            .foreign_keys(true)
            .busy_timeout(PATIENCE)
            .pragma("cache_size", CACHE_KIB)
            .disable_statement_logging();
        let writer = SqlitePoolOptions::new()
            .max_connections(1)
            .acquire_timeout(PATIENCE * 6)
            .before_acquire(|conn, _| Box::pin(async { Ok(!is_lost(conn)) }))
            .connect_with(options.clone())
            .await?;
        let readers = SqlitePoolOptions::new()
            .max_connections(SQLITE_READERS)
            .acquire_timeout(PATIENCE)
            .connect_lazy_with(options.read_only(true));
        Ok(Self::Sqlite { writer, readers })
    }

    /// Connects to PostgreSQL.
    pub async fn open_postgres(url: &str) -> Result<Self> {
        let options = PgConnectOptions::from_str(url)?.disable_statement_logging();
        let pool = PgPoolOptions::new()
            .max_connections(POSTGRES_CONNECTIONS)
            .acquire_timeout(PATIENCE)
            .connect_with(options)
            .await?;
        Ok(Self::Postgres(pool))
    }

    /// A connection to read from.
    pub async fn read(&self) -> Result<Conn> {
        Ok(match self {
            Self::Sqlite { readers, .. } => Conn::SqliteRead(readers.acquire().await?),
            Self::Postgres(pool) => Conn::PostgresRead(pool.acquire().await?),
        })
    }

    /// A transaction to read from that sees one moment.
    pub async fn snapshot(&self) -> Result<Conn> {
        Ok(match self {
            Self::Sqlite { readers, .. } => Conn::Sqlite(readers.begin().await?),
            Self::Postgres(pool) => {
                Conn::Postgres(pool.begin_with("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY").await?)
            }
        })
    }

    /// A transaction to write with; dropped without [`Conn::commit`], it is undone.
    pub async fn begin(&self) -> Result<Conn> {
        self.begin_writing("PRAGMA synchronous = FULL; BEGIN IMMEDIATE").await
    }

    /// The same, but SQLite's commit does not wait for the disk: for what may be undone by a power cut,
    /// together with all that was committed after it in the same way.
    pub async fn begin_unhurried(&self) -> Result<Conn> {
        self.begin_writing("PRAGMA synchronous = NORMAL; BEGIN IMMEDIATE").await
    }

    async fn begin_writing(&self, sqlite: &'static str) -> Result<Conn> {
        Ok(match self {
            Self::Sqlite { writer, .. } => Conn::Sqlite(writer.begin_with(sqlite).await?),
            Self::Postgres(pool) => Conn::Postgres(pool.begin().await?),
        })
    }

    /// Runs one statement in a transaction of its own; gives the number of rows it changed.
    pub async fn run(&self, sql: impl Into<Sql>, args: &[Arg<'_>]) -> Result<u64> {
        let mut conn = self.begin().await?;
        let changed = conn.run(sql, args).await?;
        conn.commit().await?;
        Ok(changed)
    }

    /// Reads rows.
    pub async fn rows<T>(
        &self,
        sql: impl Into<Sql>,
        args: &[Arg<'_>],
        read: impl Fn(&Row) -> Result<T>,
    ) -> Result<Vec<T>> {
        self.read().await?.rows(sql, args, read).await
    }

    /// Reads at most one row.
    pub async fn row<T>(
        &self,
        sql: impl Into<Sql>,
        args: &[Arg<'_>],
        read: impl Fn(&Row) -> Result<T>,
    ) -> Result<Option<T>> {
        self.read().await?.row(sql, args, read).await
    }

    /// Lets go of all connections.
    pub async fn close(&self) {
        match self {
            Self::Sqlite { writer, readers } => {
                readers.close().await;
                writer.close().await;
            }
            Self::Postgres(pool) => pool.close().await,
        }
    }
}

/// After some errors, a full disk's among them, SQLite itself undoes the transaction
/// (<https://sqlite.org/lang_transaction.html>, "Response To Errors Within A Transaction"). The driver then
/// fails to undo it once more and takes it for open for ever: such a connection is given up.
fn is_lost(conn: &SqliteConnection) -> bool {
    conn.is_in_transaction()
}

impl Conn {
    /// Runs a statement; gives the number of rows it changed.
    pub async fn run(&mut self, sql: impl Into<Sql>, args: &[Arg<'_>]) -> Result<u64> {
        let sql = sql.into();
        Ok(match self.driver() {
            Driver::Sqlite(conn) => {
                sqlx::query_with(sql.sqlite, sqlite_arguments(args)?).execute(conn).await?.rows_affected()
            }
            Driver::Postgres(conn) => {
                sqlx::query_with(sql.postgres, postgres_arguments(args)?).execute(conn).await?.rows_affected()
            }
        })
    }

    /// Reads rows.
    pub async fn rows<T>(
        &mut self,
        sql: impl Into<Sql>,
        args: &[Arg<'_>],
        read: impl Fn(&Row) -> Result<T>,
    ) -> Result<Vec<T>> {
        let sql = sql.into();
        match self.driver() {
            Driver::Sqlite(conn) => {
                let rows = sqlx::query_with(sql.sqlite, sqlite_arguments(args)?).fetch_all(conn).await?;
                rows.into_iter().map(|row| read(&Row::Sqlite(row))).collect()
            }
            Driver::Postgres(conn) => {
                let rows = sqlx::query_with(sql.postgres, postgres_arguments(args)?).fetch_all(conn).await?;
                rows.into_iter().map(|row| read(&Row::Postgres(row))).collect()
            }
        }
    }

    /// Reads at most one row.
    pub async fn row<T>(
        &mut self,
        sql: impl Into<Sql>,
        args: &[Arg<'_>],
        read: impl Fn(&Row) -> Result<T>,
    ) -> Result<Option<T>> {
        Ok(self.rows(sql, args, read).await?.pop())
    }

    /// Reads rows one by one, as long as `take` wants more.
    pub async fn each(
        &mut self,
        sql: impl Into<Sql>,
        args: &[Arg<'_>],
        mut take: impl FnMut(&Row) -> Result<ControlFlow<()>>,
    ) -> Result<()> {
        let sql = sql.into();
        match self.driver() {
            Driver::Sqlite(conn) => {
                let mut rows = sqlx::query_with(sql.sqlite, sqlite_arguments(args)?).fetch(conn);
                while let Some(row) = rows.try_next().await? {
                    if take(&Row::Sqlite(row))?.is_break() {
                        break;
                    }
                }
            }
            Driver::Postgres(conn) => {
                let mut rows = sqlx::query_with(sql.postgres, postgres_arguments(args)?).fetch(conn);
                while let Some(row) = rows.try_next().await? {
                    if take(&Row::Postgres(row))?.is_break() {
                        break;
                    }
                }
            }
        }
        Ok(())
    }

    /// Inserts rows of so many columns each into a table, `name (column, ...)`, by one statement.
    pub async fn insert(&mut self, into: &'static str, columns: usize, values: &[Arg<'_>]) -> Result<u64> {
        let is_sqlite = matches!(self.driver(), Driver::Sqlite(_));
        // SQLite looks each number up among all of them, which for a thousand takes longer than the rows do.
        let place = |at: usize| if is_sqlite { "?".to_owned() } else { format!("${at}") };
        let row = |first: usize| (first..first + columns).map(place).collect::<Vec<_>>().join(", ");
        let rows: Vec<String> =
            (1..=values.len()).step_by(columns).map(|first| format!("({})", row(first))).collect();
        self.run_built(format!("INSERT INTO {into} VALUES {}", rows.join(", ")), values).await
    }

    /// Runs a statement that was put together from the names of our own tables and columns.
    pub async fn run_built(&mut self, sql: String, args: &[Arg<'_>]) -> Result<u64> {
        let sql = AssertSqlSafe(sql);
        Ok(match self.driver() {
            Driver::Sqlite(conn) => {
                sqlx::query_with(sql, sqlite_arguments(args)?).execute(conn).await?.rows_affected()
            }
            Driver::Postgres(conn) => {
                sqlx::query_with(sql, postgres_arguments(args)?).execute(conn).await?.rows_affected()
            }
        })
    }

    /// Reads a column of texts, with a statement put together as for [`Conn::run_built`].
    pub fn built_texts(&mut self, sql: String) -> BoxStream<'_, Result<String>> {
        let sql = AssertSqlSafe(sql);
        match self.driver() {
            Driver::Sqlite(conn) => sqlx::query(sql).fetch(conn).map(|row| Row::Sqlite(row?).text(0)).boxed(),
            Driver::Postgres(conn) => {
                sqlx::query(sql).fetch(conn).map(|row| Row::Postgres(row?).text(0)).boxed()
            }
        }
    }

    /// Makes a transaction's work durable.
    pub async fn commit(self) -> Result<()> {
        match self {
            Self::Sqlite(transaction) => transaction.commit().await?,
            Self::Postgres(transaction) => transaction.commit().await?,
            Self::SqliteRead(_) | Self::PostgresRead(_) => {}
        }
        Ok(())
    }

    fn driver(&mut self) -> Driver<'_> {
        match self {
            Self::SqliteRead(conn) => Driver::Sqlite(conn),
            Self::Sqlite(transaction) => Driver::Sqlite(transaction),
            Self::PostgresRead(conn) => Driver::Postgres(conn),
            Self::Postgres(transaction) => Driver::Postgres(transaction),
        }
    }
}

/// Makes the file if it isn't there, for its owner alone: it holds password hashes. SQLite
/// gives its companions (`-wal`, `-shm`) the same mode.
fn make_private(path: &Path) -> Result<()> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    match options.open(path) {
        Err(error) if error.kind() != ErrorKind::AlreadyExists => {
            Err(StoreError::Unavailable(format!("{}: {error}", path.display())))
        }
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn only_what_may_be_undone_does_not_wait_for_the_disk() {
        let folder = tempfile::tempdir().unwrap();
        let db =
            Db::open_sqlite(&format!("sqlite://{}", folder.path().join("it.db").display())).await.unwrap();
        for _ in 0..2 {
            let unhurried = db.begin_unhurried().await.unwrap();
            assert_eq!(synchronous(unhurried).await, 1, "NORMAL");
            assert_eq!(synchronous(db.begin().await.unwrap()).await, 2, "FULL");
        }
    }

    async fn synchronous(mut conn: Conn) -> i64 {
        let level = conn.row("PRAGMA synchronous", &[], |row| row.int(0)).await.unwrap().unwrap();
        conn.commit().await.unwrap();
        level
    }

    #[tokio::test]
    async fn after_a_full_disk_it_writes_again() {
        let folder = tempfile::tempdir().unwrap();
        let db =
            Db::open_sqlite(&format!("sqlite://{}", folder.path().join("it.db").display())).await.unwrap();
        db.run("CREATE TABLE it (bytes BLOB) STRICT", &[]).await.unwrap();
        for _ in 0..3 {
            let mut conn = db.begin().await.unwrap();
            conn.run("PRAGMA max_page_count = 4", &[]).await.unwrap();
            let full = conn.run("INSERT INTO it VALUES (zeroblob(100000))", &[]).await;
            assert!(matches!(full, Err(StoreError::NoSpace)), "{full:?}");
            drop(conn);
            assert_eq!(db.run("INSERT INTO it VALUES (x'00')", &[]).await.unwrap(), 1);
        }
    }
}
