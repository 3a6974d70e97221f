//! What a durable push costs on SQLite: against inserting the same rows directly in
//! transactions of the same size, with many clients, and as the log grows.
//!
//! `cargo bench -p storage` (to a million changes: `-- 1000000`).

use std::error::Error;
use std::fs::File;
use std::io::Write as _;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use shared_types::body::{Body, OnStep};
use shared_types::change::{Change, SignedChange};
use shared_types::ids::{Author, ChangeId, DeviceId, JobId, LogId, NoteId, ShopId, UserId};
use shared_types::job::NotePatch;
use shared_types::stamp::Stamp;
use shared_types::time::UtcMillis;
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqliteSynchronous};
use sqlx::{ConnectOptions as _, Connection as _, SqliteConnection};
use storage::{Batch, PreparedChange, Storage};
use uuid::Uuid;

type Outcome<T> = Result<T, Box<dyn Error + Send + Sync>>;

const NOW: UtcMillis = UtcMillis(1_764_072_000_000);

#[tokio::main(flavor = "multi_thread", worker_threads = 2)]
async fn main() -> Outcome<()> {
    let longest = std::env::args().skip(1).find_map(|it| it.parse().ok()).unwrap_or(100_000);
    let folder = tempfile::tempdir()?;
    println!("fsync                                  {:>9.0} /s", fsyncs(folder.path())?);

    let direct = direct(folder.path()).await?;
    report("direct insert, 5000 in 500s", 5000, direct);
    let store = storage::open(&format!("sqlite://{}", folder.path().join("store.db").display())).await?;
    let alone = clients(&store, 1, 10, 500).await?;
    report("push, 1 client, 5000 in 500s", 5000, alone);
    println!("  ratio to direct                      {:>9.2}", direct.as_secs_f64() / alone.as_secs_f64());
    report("push, 10 clients, 500 each in 50s", 5000, clients(&store, 10, 10, 50).await?);
    report("push, 10 clients, 500 each one by one", 5000, clients(&store, 10, 500, 1).await?);
    report("push, 200 clients, 10 each one by one", 2000, clients(&store, 200, 10, 1).await?);
    report("pull of 5000", 5000, pull(&store).await?);
    lengths(&store, longest).await
}

fn report(what: &str, count: u32, took: Duration) {
    println!("{what:38} {:>9.0} /s", f64::from(count) / took.as_secs_f64());
}

/// How often this disk confirms a small write.
fn fsyncs(folder: &Path) -> Outcome<f64> {
    let mut file = File::create(folder.join("fsync"))?;
    let start = Instant::now();
    for _ in 0..200 {
        file.write_all(&[0; 4096])?;
        file.sync_data()?;
    }
    Ok(200.0 / start.elapsed().as_secs_f64())
}

fn changes(log: LogId, count: usize) -> Outcome<Vec<PreparedChange>> {
    let one = |_| {
        let set = NotePatch {
            text: Some("Ground down to sound cloth, 12 mm past the crack".into()),
            ..NotePatch::default()
        };
        let change = Change {
            id: ChangeId(Uuid::now_v7()),
            log,
            author: Author::Person(UserId(Uuid::from_u128(1))),
            device: DeviceId(Uuid::from_u128(2)),
            stamp: Stamp(NOW, 0),
            previous: None,
            replaces: Vec::new(),
            body: Body::from(OnStep { id: NoteId(Uuid::now_v7()), step: None, set }),
        };
        let signed = SignedChange::new(serde_json::to_string(&change)?, &[7; 64]);
        Ok(PreparedChange::new(change, signed))
    };
    (0..count).map(one).collect()
}

fn log(job: u128) -> LogId {
    LogId::Job(ShopId(Uuid::from_u128(1)), JobId(Uuid::from_u128(job)))
}

/// The same rows into a table with the same keys, one statement per row, by hand.
async fn direct(folder: &Path) -> Outcome<Duration> {
    let mut conn: SqliteConnection = SqliteConnectOptions::new()
        .filename(folder.join("direct.db"))
        .create_if_missing(true)
        .journal_mode(SqliteJournalMode::Wal)
        .synchronous(SqliteSynchronous::Full)
        .connect()
        .await?;
    sqlx::raw_sql(
        "CREATE TABLE changes (log INTEGER, seq INTEGER, id TEXT UNIQUE, received INTEGER, digest TEXT,
         signature TEXT, text TEXT, PRIMARY KEY (log, seq)) STRICT",
    )
    .execute(&mut conn)
    .await?;
    let rows = changes(log(1), 5000)?;
    let start = Instant::now();
    for (bunch, rows) in rows.chunks(500).enumerate() {
        let mut tx = conn.begin().await?;
        for (at, row) in rows.iter().enumerate() {
            sqlx::query("INSERT INTO changes VALUES (1, $1, $2, $3, $4, $5, $6)")
                .bind((bunch * 500 + at) as i64)
                .bind(row.change().id.to_string())
                .bind(NOW.0)
                .bind(row.digest().to_string())
                .bind(
                    "BwcHBwcHBwcHBwcHBwcHBwcHBwcHBwcHBwcHBwcHBwcHBwcHBwcHBwcHBwcHBwcHBwcHBwcHBwcHBwcHBwcHBw",
                )
                .bind(serde_json::to_string(row.change())?)
                .execute(&mut *tx)
                .await?;
        }
        tx.commit().await?;
    }
    Ok(start.elapsed())
}

/// Clients that push to one log at the same time, each waiting for its answers.
async fn clients(store: &Arc<dyn Storage>, clients: usize, pushes: usize, batch: usize) -> Outcome<Duration> {
    let log = log(Uuid::now_v7().as_u128());
    let mut tasks = Vec::new();
    let mut work = Vec::new();
    for _ in 0..clients {
        let mut batches = Vec::new();
        for _ in 0..pushes {
            batches.push(Batch { log, changes: changes(log, batch)?, received: NOW, from: None });
        }
        work.push(batches);
    }
    let start = Instant::now();
    for batches in work {
        let store = Arc::clone(store);
        tasks.push(tokio::spawn(async move {
            for batch in batches {
                store.append(batch).await?;
            }
            Ok::<_, storage::StoreError>(())
        }));
    }
    for task in tasks {
        task.await??;
    }
    Ok(start.elapsed())
}

async fn pull(store: &Arc<dyn Storage>) -> Outcome<Duration> {
    let log = log(7);
    for _ in 0..10 {
        store.append(Batch { log, changes: changes(log, 500)?, received: NOW, from: None }).await?;
    }
    let start = Instant::now();
    let mut since = 0;
    while since < 5000 {
        since += store.pull(log, since, 1000).await?.changes.len() as u64;
    }
    Ok(start.elapsed())
}

/// The median push of one change, and the pull of the newest, at several lengths of one log.
async fn lengths(store: &Arc<dyn Storage>, longest: u64) -> Outcome<()> {
    let log = log(8);
    let mut length = 0;
    let mut first = None;
    for goal in [1_000, 10_000, 100_000, 1_000_000].into_iter().filter(|goal| *goal <= longest) {
        while length < goal {
            store.append(Batch { log, changes: changes(log, 500)?, received: NOW, from: None }).await?;
            length += 500;
        }
        let (mut pushes, mut pulls) = (Vec::new(), Vec::new());
        for _ in 0..101 {
            let batch = Batch { log, changes: changes(log, 1)?, received: NOW, from: None };
            let start = Instant::now();
            store.append(batch).await?;
            pushes.push(start.elapsed());
            length += 1;
            let start = Instant::now();
            store.pull(log, length - 1, 100).await?;
            pulls.push(start.elapsed());
        }
        pushes.sort();
        pulls.sort();
        let (push, pull) = (pushes[50], pulls[50]);
        let first = *first.get_or_insert(push);
        let ratio = push.as_secs_f64() / first.as_secs_f64();
        println!(
            "log of {length:>9}: push {push:>10.1?} (ratio {ratio:.2}), pull of the newest {pull:>10.1?}"
        );
    }
    Ok(())
}
