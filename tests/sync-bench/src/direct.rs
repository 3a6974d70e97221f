//! What the disk and SQLite can do by themselves.

use std::fs::File;
use std::io::Write as _;
use std::path::Path;
use std::time::{Duration, Instant};

use anyhow::Result;
use bytes::Bytes;
use shared_types::api::Push;
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqliteSynchronous};
use sqlx::{AssertSqlSafe, ConnectOptions as _, Connection as _};
use uuid::Uuid;

/// How often this disk confirms a small write in a second.
pub fn fsyncs(folder: &Path) -> Result<f64> {
    const COUNT: u32 = 200;
    let mut file = File::create(folder.join("fsync"))?;
    let start = Instant::now();
    for _ in 0..COUNT {
        file.write_all(&[0; 4096])?;
        file.sync_data()?;
    }
    Ok(f64::from(COUNT) / start.elapsed().as_secs_f64())
}

/// So many rows in one statement: with one each, the driver's way to SQLite's thread and back
/// would cost more than SQLite.
const ROWS: usize = 100;

/// The rows of these pushes into a table with the keys that ours has, by a prepared statement, one
/// durable transaction per push. Ids and digests are made beforehand.
pub async fn insert(folder: &Path, pushes: &[Bytes]) -> Result<Duration> {
    let path = folder.join(format!("{}.db", Uuid::now_v7()));
    let mut database = SqliteConnectOptions::new()
        .filename(&path)
        .create_if_missing(true)
        .journal_mode(SqliteJournalMode::Wal)
        .synchronous(SqliteSynchronous::Full)
        .disable_statement_logging()
        .connect()
        .await?;
    sqlx::raw_sql(
        "CREATE TABLE changes (log INTEGER, seq INTEGER, id TEXT UNIQUE, received INTEGER, digest TEXT,
         signature TEXT, text TEXT, PRIMARY KEY (log, seq)) STRICT",
    )
    .execute(&mut database)
    .await?;
    let mut batches = Vec::new();
    for body in pushes {
        let push: Push = serde_json::from_slice(body)?;
        let row = |it: shared_types::change::SignedChange| {
            (Uuid::now_v7().to_string(), it.digest().to_string(), it)
        };
        batches.push(push.changes.into_iter().map(row).collect::<Vec<_>>());
    }
    let start = Instant::now();
    let mut seq = 0_i64;
    for rows in &batches {
        let mut transaction = database.begin().await?;
        for some in rows.chunks(ROWS) {
            let mut insert = sqlx::query(AssertSqlSafe(insert_of(some.len())));
            for (id, digest, change) in some {
                seq += 1;
                insert = insert.bind(seq).bind(id).bind(digest).bind(&change.signature).bind(&change.text);
            }
            insert.execute(&mut *transaction).await?;
        }
        transaction.commit().await?;
    }
    let took = start.elapsed();
    database.close().await?;
    Ok(took)
}

fn insert_of(rows: usize) -> String {
    format!("INSERT INTO changes VALUES {}", vec!["(1, ?, ?, 0, ?, ?, ?)"; rows].join(", "))
}
