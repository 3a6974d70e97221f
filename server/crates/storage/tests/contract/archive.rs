//! Dump and restore, in one database's kind and across.

use std::sync::Arc;

use shared_types::body::{Body, OnStep, The};
use shared_types::digest::Digest;
use shared_types::ids::{LogId, PhotoId};
use shared_types::job::PhotoPatch;
use shared_types::shop::ShopPatch;
use storage::{Answer, Conflict, Photo, Rotation, ServerIdentity, Storage, StoreError};
use uuid::Uuid;

use crate::sessions::signed_in;
use crate::support::{
    Fresh, NOON, batch, job_log, on_both, person, phone, postgres, postgres_url, shop, sqlite, sqlite_url,
    user, writes,
};

on_both! {
    a_dump_is_of_one_moment
    a_full_database_takes_no_dump
    a_damaged_dump_leaves_nothing_behind
}

/// Something of everything.
async fn fill(db: &Fresh) {
    let store = db.store.as_ref();
    let identity = ServerIdentity { device: phone(0xfa), public_key: "server key".to_owned() };
    store.introduce_server(identity).await.unwrap();
    signed_in(db).await;
    let log = LogId::Shop(shop(1));
    let named =
        The { set: ShopPatch { name: Some("Hangar \"3\" \u{1F6E9}".into()), ..ShopPatch::default() } };
    store.append(batch(log, vec![writes(log).that(Body::from(named))])).await.unwrap();
    for job in 1..=3 {
        let log = job_log(1, job);
        let set = PhotoPatch { digest: Some(Digest::of(&[job as u8])), ..PhotoPatch::default() };
        let photo = writes(log).that(OnStep { id: PhotoId(Uuid::now_v7()), step: None, set });
        let mut changes: Vec<_> =
            (0..200).map(|n| writes(log).something(&format!("line {n}\n\t\\"))).collect();
        changes.push(photo);
        store.append(batch(log, changes)).await.unwrap();
    }
    let photo = Photo {
        digest: Digest::of(&[1]),
        bytes: 5,
        media_type: "image/heic".to_owned(),
        size: None,
        stored: NOON,
    };
    store.add_photo(shop(1), photo).await.unwrap();
}

async fn dump(store: &dyn Storage) -> Vec<u8> {
    let mut out = Vec::new();
    let rows = store.dump(&mut out).await.unwrap();
    assert_eq!(rows as usize, out.iter().filter(|byte| **byte == b'\n').count() - 2);
    out
}

/// The rows of a dump in any order, without what a restore changes on purpose.
fn rows(dump: &[u8]) -> Vec<serde_json::Value> {
    let mut rows: Vec<serde_json::Value> = dump
        .split(|byte| *byte == b'\n')
        .filter(|line| line.starts_with(b"{\"table\""))
        .map(|line| serde_json::from_slice(line).unwrap())
        .filter(|line: &serde_json::Value| line["row"]["name"] != "epoch")
        .map(|mut line| {
            if let Some(adrift) = line["row"].get_mut("adrift") {
                *adrift = 0.into();
            }
            line
        })
        .collect();
    rows.sort_by_key(ToString::to_string);
    rows
}

async fn goes_on_after(url: &str, dumped: &[u8], epoch: &str) -> Arc<dyn Storage> {
    let restored = storage::restore(url, &mut &dumped[..]).await.unwrap();
    assert_eq!(restored.rows as usize, rows(dumped).len() + 1);
    assert_ne!(restored.epoch, epoch);
    let store = storage::open(url).await.unwrap();
    assert_eq!(store.epoch().await.unwrap(), restored.epoch);
    assert_eq!(rows(&dump(store.as_ref()).await), rows(dumped));

    // What phones still hold goes in after what was restored, and new logs get new numbers.
    let log = job_log(1, 1);
    let had = store.pull(log, 200, 1).await.unwrap().changes[0].change.clone();
    let had = storage::PreparedChange::new(had.read().unwrap(), had);
    let appended = store.append(batch(log, vec![had, writes(log).something("new")])).await.unwrap();
    assert!(matches!(
        appended.answers[..],
        [Answer::AlreadyHad { seq: 201, .. }, Answer::Taken { seq: 202, .. }]
    ));
    let fresh = job_log(1, 99);
    store.append(batch(fresh, vec![writes(fresh).something("new")])).await.unwrap();
    assert_eq!(store.heads(shop(1)).await.unwrap().len(), 5);
    store
}

#[tokio::test]
async fn a_dump_moves_between_databases() {
    let first = sqlite().await;
    fill(&first).await;
    let epoch = first.store.epoch().await.unwrap();
    let from_sqlite = dump(first.store.as_ref()).await;
    goes_on_after(&postgres_url().await, &from_sqlite, &epoch).await;
    let (url, _folder) = sqlite_url();
    goes_on_after(&url, &from_sqlite, &epoch).await;

    let second = postgres().await;
    fill(&second).await;
    let epoch = second.store.epoch().await.unwrap();
    let from_postgres = dump(second.store.as_ref()).await;
    let (url, _folder) = sqlite_url();
    goes_on_after(&url, &from_postgres, &epoch).await;
    goes_on_after(&postgres_url().await, &from_postgres, &epoch).await;
}

/// Last night's backup knows an earlier token than the phone has: nobody has to sign in again.
#[tokio::test]
async fn sessions_go_on_after_a_restore() {
    let token = |n: u32| Digest::of(&n.to_be_bytes());
    let db = sqlite().await;
    let session = signed_in(&db).await;
    let dumped = dump(db.store.as_ref()).await;
    for n in 0..5 {
        db.store.rotate(session.family, token(n), token(n + 1), NOON).await.unwrap();
    }
    let (url, _folder) = sqlite_url();
    storage::restore(&url, &mut &dumped[..]).await.unwrap();
    let store = storage::open(&url).await.unwrap();
    let next = store.rotate(session.family, token(5), token(6), NOON).await.unwrap();
    assert_eq!(next, Rotation::Next(session.clone()));
    let reused = store.rotate(session.family, token(3), token(4), NOON).await.unwrap();
    assert_eq!(reused, Rotation::Reused(session), "this once only");
}

async fn a_dump_is_of_one_moment(db: Fresh) {
    let log = job_log(1, 1);
    let store = Arc::clone(&db.store);
    let writer = tokio::spawn(async move {
        for n in 0..60 {
            let change = writes(log).something(&n.to_string());
            store.append(batch(log, vec![change])).await.unwrap();
        }
    });
    while !writer.is_finished() {
        let dumped = dump(db.store.as_ref()).await;
        let rows = rows(&dumped);
        let of = |table: &str| rows.iter().filter(|it| it["table"] == table).cloned().collect::<Vec<_>>();
        let head = of("logs").first().map_or(0, |it| it["row"]["head"].as_u64().unwrap());
        assert_eq!(of("changes").len() as u64, head);
    }
    writer.await.unwrap();
}

async fn a_full_database_takes_no_dump(db: Fresh) {
    let dumped = dump(db.store.as_ref()).await;
    db.store.add_user(user(1, "ada"), None).await.unwrap();
    db.store.close().await;
    let outcome = storage::restore(&db.url, &mut &dumped[..]).await;
    assert!(matches!(outcome, Err(StoreError::Conflict(Conflict::NotEmpty))), "{outcome:?}");
    assert!(db.second().await.user(person(1)).await.unwrap().is_some());
}

async fn a_damaged_dump_leaves_nothing_behind(db: Fresh) {
    fill(&db).await;
    let whole = dump(db.store.as_ref()).await;
    let url =
        if db.url.starts_with("sqlite") { format!("{}-restored", db.url) } else { postgres_url().await };
    let lines: Vec<&[u8]> = whole.split_inclusive(|byte| *byte == b'\n').collect();
    let replaced =
        |from: &str, to: &str| String::from_utf8(whole.clone()).unwrap().replacen(from, to, 1).into_bytes();
    let damaged: [(&str, Vec<u8>); 8] = [
        ("empty", Vec::new()),
        ("not a dump", b"PK\x03\x04".to_vec()),
        ("cut short", whole[..whole.len() / 2].to_vec()),
        ("without its last line", lines[..lines.len() - 1].concat()),
        ("a line is missing", [&lines[..5], &lines[6..]].concat().concat()),
        ("a bit was turned", replaced("line 7", "line 8")),
        ("of a newer version", replaced("\"schema\":", "\"schema\":999")),
        ("another table", replaced("\"table\":\"logs\"", "\"table\":\"logs; DROP TABLE people\"")),
    ];
    for (what, bytes) in damaged {
        let outcome = storage::restore(&url, &mut &bytes[..]).await;
        assert!(matches!(outcome, Err(StoreError::Corrupt(_))), "{what}: {outcome:?}");
    }
    let after = storage::open(&url).await.unwrap();
    assert_eq!(after.users().await.unwrap().len(), 0);
    assert_eq!(after.head(job_log(1, 1)).await.unwrap(), None);
}
