//! A database that a server of the first version left opens for ever, and goes on from there.

use shared_types::change::SignedChange;
use shared_types::digest::Digest;
use sqlx::migrate::Migrator;
use sqlx::{AssertSqlSafe, Connection as _, Executor as _, PgConnection, SqliteConnection};
use storage::{Answer, PreparedChange};

use crate::countersign::link_of;
use crate::support::{NOON, batch, job_log, person, postgres_url, shop, sqlite_url, writes};

static SQLITE: Migrator = sqlx::migrate!("../../../migrations/sqlite");
static POSTGRES: Migrator = sqlx::migrate!("../../../migrations/postgres");

/// The number of the first version's schema.
const FIRST: i64 = 1;

/// Rows as the first version wrote them, in words that both databases understand.
fn rows(change: &PreparedChange) -> String {
    let (log, shop, person) = (job_log(1, 1), shop(1), person(1));
    let (id, device, job) = (change.change().id, change.change().device, log.job().unwrap());
    let (digest, SignedChange { text, signature }) = (change.digest(), signed(change));
    let (photo, noon) = (Digest::of(b"photo"), NOON.0);
    format!(
        "INSERT INTO meta VALUES ('epoch', 'the first epoch');
         INSERT INTO logs VALUES (1, '{log}', '{shop}', '{job}', 1, {noon}, 0);
         INSERT INTO changes VALUES (1, 1, '{id}', {noon}, '{digest}', '{signature}', '{text}');
         INSERT INTO chains VALUES (1, '{device}', 1, '{digest}');
         INSERT INTO shops VALUES ('{shop}', 'Hangar', '{{\"created\":null}}');
         INSERT INTO people VALUES ('{person}', 'Mech', 'mech', 'The mechanic', 'a hash', 0, {noon});
         INSERT INTO devices VALUES ('{device}', 'a key', '{person}');
         INSERT INTO device_users VALUES ('{device}', '{person}', 'phone', {noon}, {noon}, 0, 0);
         INSERT INTO photos VALUES ('{shop}', '{photo}', 1001, 'image/jpeg', 4032, 3024, {noon});
         INSERT INTO photo_refs VALUES (1, '{photo}');"
    )
}

#[tokio::test]
async fn sqlite_goes_on_from_the_first_schema() {
    let (url, _folder) = sqlite_url();
    let mut conn = SqliteConnection::connect(&format!("{url}?mode=rwc")).await.unwrap();
    SQLITE.run_to(FIRST, &mut conn).await.unwrap();
    let change = first_change();
    conn.execute(AssertSqlSafe(rows(&change))).await.unwrap();
    conn.close().await.unwrap();
    goes_on(&url, &change).await;
}

#[tokio::test]
async fn postgres_goes_on_from_the_first_schema() {
    let url = postgres_url().await;
    let mut conn = PgConnection::connect(&url).await.unwrap();
    POSTGRES.run_to(FIRST, &mut conn).await.unwrap();
    let change = first_change();
    sqlx::raw_sql(AssertSqlSafe(rows(&change))).execute(&mut conn).await.unwrap();
    // A log made next must not take the first one's number.
    let numbers = "SELECT setval(pg_get_serial_sequence('logs', 'no'), 1)";
    conn.execute(numbers).await.unwrap();
    conn.close().await.unwrap();
    goes_on(&url, &change).await;
}

fn signed(change: &PreparedChange) -> SignedChange {
    SignedChange::new(serde_json::to_string(change.change()).unwrap(), b"signature")
}

fn first_change() -> PreparedChange {
    writes(job_log(1, 1)).something("written by the first version")
}

async fn goes_on(url: &str, change: &PreparedChange) {
    let store = storage::open(url).await.unwrap();
    let log = job_log(1, 1);
    assert_eq!(store.epoch().await.unwrap(), "the first epoch");
    let page = store.pull(log, 0, 10).await.unwrap();
    assert_eq!(page.changes.len(), 1);
    assert_eq!(page.changes[0].change, signed(change), "to the letter");
    assert_eq!(store.user_by_login("MECH").await.unwrap().unwrap().name, "The mechanic");
    assert!(store.device(person(1), change.change().device).await.unwrap().is_some());
    let photo = store.photo(shop(1), Digest::of(b"photo")).await.unwrap().unwrap();
    assert_eq!((photo.bytes, photo.size), (1001, Some((4032, 3024))));

    assert_eq!(store.last_link(log).await.unwrap(), Some((1, link_of(log, &page))));
    let next = writes(log).at(1).something("written by this one");
    let again = store.append(batch(log, vec![change.clone(), next])).await.unwrap();
    let seqs: Vec<u64> = again
        .answers
        .iter()
        .map(|answer| match answer {
            Answer::Taken { seq, .. } | Answer::AlreadyHad { seq, .. } => *seq,
            Answer::IdTaken => panic!("it is the same change"),
        })
        .collect();
    assert_eq!(seqs, [1, 2]);
    let other = job_log(1, 2);
    store.append(batch(other, vec![writes(other).something("another job")])).await.unwrap();
    assert_eq!(store.head(other).await.unwrap(), Some(1));
    // What the first version wrote has no links: they are made up for, before and with the next change.
    let whole = store.pull(log, 0, 10).await.unwrap();
    assert_eq!(store.last_link(log).await.unwrap(), Some((2, link_of(log, &whole))));
    store.close().await;
}
