//! What a search costs among 10,000 jobs on SQLite, beside the plain way of doing it: every row looked through
//! with LIKE, in the same run. With `PG_URL`, an empty PostgreSQL database, on that too.
//!
//! `cargo bench -p storage --bench search` (another number of jobs: `-- 100000`). Fails when one search in
//! twenty takes longer than 50 ms.

use std::error::Error;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use shared_types::body::{Body, Known, On, OnStep, The};
use shared_types::change::{Change, SignedChange};
use shared_types::ids::{
    Author, ChangeId, DeviceId, HardwareId, JobId, LogId, MaterialId, ShopId, StepId, UserId,
};
use shared_types::job::{HardwarePatch, JobPatch, MaterialPatch, StepPatch};
use shared_types::stamp::Stamp;
use shared_types::time::UtcMillis;
use sqlx::sqlite::SqliteConnectOptions;
use sqlx::{ConnectOptions as _, SqliteConnection};
use storage::{Batch, PreparedChange, Reach, Storage, Wanted};
use uuid::Uuid;

type Outcome<T> = Result<T, Box<dyn Error + Send + Sync>>;

const NOW: UtcMillis = UtcMillis(1_764_072_000_000);
const SHOP: ShopId = ShopId(Uuid::from_u128(1));
const LONGEST: Duration = Duration::from_millis(50);
/// Jobs are written by so many at once, as the store writes what comes together in one go.
const WRITERS: usize = 200;
const ROUNDS: usize = 20;

const PARTS: [&str; 6] = ["wing-tip fairing", "cowl", "intake", "wheel spat", "tail cone", "hatch"];
const RIVETS: [&str; 5] = ["MS20470AD4-5", "MS20470AD3-4", "MS20426AD4-6", "CR3213-4-3", "MS20470AD5-6"];
const STEPS: [&str; 3] = ["Survey the damage", "Drill the rivets out", "Set the rivets"];

#[tokio::main(flavor = "multi_thread", worker_threads = 2)]
async fn main() -> Outcome<()> {
    let jobs = std::env::args().skip(1).find_map(|it| it.parse().ok()).unwrap_or(10_000);
    let folder = tempfile::tempdir()?;
    let file = folder.path().join("store.db");
    let store = filled(&format!("sqlite://{}", file.display()), jobs).await?;
    let mut slowest = measure(&store, jobs, Some(plain(&file).await?)).await?;
    if let Ok(url) = std::env::var("PG_URL") {
        slowest = slowest.max(measure(&filled(&url, jobs).await?, jobs, None).await?);
    }
    if slowest > LONGEST { Err(format!("a search takes {slowest:?}").into()) } else { Ok(()) }
}

/// A database with so many jobs in it.
async fn filled(url: &str, jobs: usize) -> Outcome<Arc<dyn Storage>> {
    let store = storage::open(url).await?;
    let start = Instant::now();
    fill(&store, jobs).await?;
    let changes = jobs as f64 * job(0)?.len() as f64;
    let (database, _) = url.split_once(':').unwrap_or_default();
    let rate = changes / start.elapsed().as_secs_f64();
    println!("{database}: {jobs} jobs written {rate:>9.0} changes/s");
    Ok(store)
}

/// The slowest of the searches, of each the one that 19 of 20 are quicker than.
async fn measure(
    store: &Arc<dyn Storage>,
    jobs: usize,
    mut plain: Option<SqliteConnection>,
) -> Outcome<Duration> {
    let rare = format!("LOT-{}", jobs / 2);
    let searches = [
        ("a batch", rare.as_str()),
        ("a part number", "MS20470AD4-5"),
        ("its end", "ad4-5"),
        ("three letters", "riv"),
        ("two words", "cowl rivets"),
        ("two words, one rare", "set zz-777"),
        ("nothing", "no such thing"),
    ];
    println!("{:22} {:>10} {:>10} {:>10} {:>7}", "search for", "median", "19 of 20", "LIKE", "ratio");
    let mut slowest = Duration::ZERO;
    for (what, typed) in searches {
        let mut times = Vec::new();
        for _ in 0..ROUNDS {
            let start = Instant::now();
            let wanted = Wanted::read(typed).ok_or("no words")?;
            store.search(SHOP, &Reach::Shop, &wanted, 51).await?;
            times.push(start.elapsed());
        }
        times.sort_unstable();
        let (median, late) = (times[ROUNDS / 2], times[ROUNDS * 19 / 20 - 1]);
        print!("{what:22} {median:>10.1?} {late:>10.1?}");
        if let Some(plain) = &mut plain {
            let like = like(plain, typed).await?;
            print!(" {like:>10.1?} {:>7.1}", like.div_duration_f64(median));
        }
        println!();
        slowest = slowest.max(late);
    }
    store.close().await;
    Ok(slowest)
}

async fn fill(store: &Arc<dyn Storage>, jobs: usize) -> Outcome<()> {
    let mut tasks = Vec::new();
    for writer in 0..WRITERS {
        let store = Arc::clone(store);
        tasks.push(tokio::spawn(async move {
            for number in (writer..jobs).step_by(WRITERS) {
                let changes = job(number)?;
                let log = log(number);
                store.append(Batch { log, changes, received: NOW, from: None }).await?;
            }
            Outcome::Ok(())
        }));
    }
    for task in tasks {
        task.await??;
    }
    Ok(())
}

fn log(number: usize) -> LogId {
    LogId::Job(SHOP, JobId(Uuid::from_u128(number as u128 + 1)))
}

/// A job with three steps, four lines of hardware and two of material.
fn job(number: usize) -> Outcome<Vec<PreparedChange>> {
    let part = PARTS[number % PARTS.len()];
    let set = JobPatch {
        title: Some(format!("Re-rivet the {part}").into()),
        registration: Some(format!("ZZ-{number}").into()),
        part: Some(part.into()),
        part_number: Some(format!("{}-{}", 1000 + number % 700, number % 90).into()),
        discrepancy: Some("Rivets smear, a crack runs from hole 7 to the edge".into()),
        ..JobPatch::default()
    };
    let mut bodies = vec![Known::Job(The { set })];
    let steps: Vec<StepId> = (0..STEPS.len()).map(|_| StepId(Uuid::now_v7())).collect();
    for (id, title) in steps.iter().zip(STEPS) {
        let set = StepPatch { title: Some(title.into()), ..StepPatch::default() };
        bodies.push(Known::Step(On { id: *id, set }));
    }
    for line in 0..4 {
        let set = HardwarePatch {
            part_number: Some(RIVETS[(number + line) % RIVETS.len()].into()),
            description: Some("solid rivet".into()),
            quantity: Some(Some(12.0)),
            batch: Some(format!("LOT-{}", number + line * 7).into()),
            ..HardwarePatch::default()
        };
        let id = HardwareId(Uuid::now_v7());
        bodies.push(Known::Hardware(OnStep { id, step: steps.last().copied(), set }));
    }
    for line in 0..2 {
        let set = MaterialPatch {
            name: Some(["Laminating resin", "Glass twill 163 g"][line].into()),
            batch: Some(format!("R{}/{line}", number / 20).into()),
            ..MaterialPatch::default()
        };
        let id = MaterialId(Uuid::now_v7());
        bodies.push(Known::Material(OnStep { id, step: steps.first().copied(), set }));
    }
    bodies.into_iter().map(|body| change(number, body)).collect()
}

fn change(number: usize, body: Known) -> Outcome<PreparedChange> {
    let change = Change {
        id: ChangeId(Uuid::now_v7()),
        log: log(number),
        author: Author::Person(UserId(Uuid::from_u128(1))),
        device: DeviceId(Uuid::from_u128(2)),
        stamp: Stamp(NOW, 0),
        previous: None,
        replaces: Vec::new(),
        body: Body::Known(body),
    };
    let signed = SignedChange::new(serde_json::to_string(&change)?, &[7; 64]);
    Ok(PreparedChange::new(change, signed))
}

async fn plain(file: &Path) -> Outcome<SqliteConnection> {
    Ok(SqliteConnectOptions::new().filename(file).read_only(true).connect().await?)
}

/// The same words, each anywhere in what a row says.
async fn like(conn: &mut SqliteConnection, typed: &str) -> Outcome<Duration> {
    let mut sql = "SELECT no, kind, id, title, detail FROM found WHERE shop = ?".to_owned();
    let words: Vec<String> = typed.split_whitespace().map(|word| format!("%{word}%")).collect();
    words.iter().for_each(|_| sql.push_str(" AND title || ' ' || detail LIKE ?"));
    sql.push_str(" ORDER BY no DESC LIMIT 51");
    let mut times = Vec::new();
    for _ in 0..5 {
        let mut query = sqlx::query(sqlx::AssertSqlSafe(sql.clone())).bind(SHOP.to_string());
        for word in &words {
            query = query.bind(word);
        }
        let start = Instant::now();
        query.fetch_all(&mut *conn).await?;
        times.push(start.elapsed());
    }
    times.sort_unstable();
    Ok(times[2])
}
