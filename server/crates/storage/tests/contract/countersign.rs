//! The chains of the logs, and the public halves of the server's keys.

use std::collections::BTreeSet;
use std::sync::Arc;

use shared_types::api::{Page, RefusalReason};
use shared_types::countersign::{ServerKey, first_link, next_link};
use shared_types::digest::Digest;
use shared_types::ids::{Author, LogId};
use shared_types::time::UtcMillis;
use storage::{OwnChanges, Refusal, Storage};

use crate::support::{Fresh, NOON, batch, job_log, on_both, person, phone, shop, user, writes};

on_both! {
    a_chain_follows_from_the_log
    a_repeated_change_has_no_second_link
    each_log_has_a_chain_of_its_own
    refused_changes_are_told_once_and_by_log
    a_device_wrote_where_it_wrote
    writers_are_the_people_of_the_devices_that_wrote
    keys_stay_as_they_were_introduced
}

/// The last link, as whoever reads the log works it out.
pub fn link_of(log: LogId, page: &Page) -> Digest {
    let next =
        |before, it: &shared_types::api::Logged| next_link(before, it.seq, it.change.digest(), it.received);
    page.changes.iter().fold(first_link(log), next)
}

async fn holds(store: &dyn Storage, log: LogId) -> u64 {
    let page = store.pull(log, 0, 1_000).await.unwrap();
    let (seq, link) = store.last_link(log).await.unwrap().unwrap();
    assert_eq!((seq, link), (page.head, link_of(log, &page)));
    seq
}

async fn a_chain_follows_from_the_log(db: Fresh) {
    let log = job_log(1, 1);
    assert_eq!(db.store.last_link(log).await.unwrap(), None);
    for count in [1, 3, 2] {
        let changes = (0..count).map(|n| writes(log).something(&n.to_string())).collect();
        db.store.append(batch(log, changes)).await.unwrap();
        holds(db.store.as_ref(), log).await;
    }
    let build =
        |place: &storage::Place| vec![writes(place.log).by(Author::Server).something("the server's own")];
    db.store.append_own(OwnChanges { log, received: NOON, build: Arc::new(build) }).await.unwrap();
    assert_eq!(holds(db.store.as_ref(), log).await, 7);
    let second = db.second().await;
    second.append(batch(log, vec![writes(log).something("by another server")])).await.unwrap();
    assert_eq!(holds(db.store.as_ref(), log).await, 8);
    second.close().await;
}

async fn a_repeated_change_has_no_second_link(db: Fresh) {
    let log = job_log(1, 1);
    let changes = vec![writes(log).something("one"), writes(log).something("two")];
    db.store.append(batch(log, changes.clone())).await.unwrap();
    let before = db.store.last_link(log).await.unwrap();
    db.store.append(batch(log, changes)).await.unwrap();
    assert_eq!(db.store.last_link(log).await.unwrap(), before);
}

async fn each_log_has_a_chain_of_its_own(db: Fresh) {
    for log in [LogId::Shop(shop(1)), job_log(1, 1), job_log(1, 2)] {
        db.store.append(batch(log, vec![writes(log).something("the same")])).await.unwrap();
        holds(db.store.as_ref(), log).await;
    }
}

async fn refused_changes_are_told_once_and_by_log(db: Fresh) {
    let refusal = |log, device, text: &[u8]| Refusal {
        log,
        change: None,
        digest: Digest::of(text),
        author: Author::Person(person(1)),
        device: phone(device),
        reason: RefusalReason::Malformed,
        detail: "no change".to_owned(),
        at: NOON,
    };
    let (one, two) = (job_log(1, 1), job_log(1, 2));
    let refusals =
        [refusal(one, 1, b"a"), refusal(one, 2, b"a"), refusal(one, 1, b"b"), refusal(two, 1, b"c")];
    db.store.refuse(&refusals).await.unwrap();
    let told = db.store.refused(one).await.unwrap();
    assert_eq!(told, BTreeSet::from([Digest::of(b"a"), Digest::of(b"b")]));
    assert!(db.store.refused(LogId::Shop(shop(1))).await.unwrap().is_empty());
}

async fn a_device_wrote_where_it_wrote(db: Fresh) {
    let log = job_log(1, 1);
    db.store.append(batch(log, vec![writes(log).on(phone(7)).something("here")])).await.unwrap();
    assert!(db.store.wrote(log, phone(7)).await.unwrap());
    assert!(!db.store.wrote(log, phone(8)).await.unwrap());
    assert!(!db.store.wrote(job_log(1, 2), phone(7)).await.unwrap());
}

async fn writers_are_the_people_of_the_devices_that_wrote(db: Fresh) {
    let log = job_log(1, 1);
    for (who, login) in [(1, "ada"), (2, "bob")] {
        db.store.add_user(user(who, login), None).await.unwrap();
        let introduced = crate::accounts::introduction(who, "key");
        db.store.introduce_device(person(who), &introduced, NOON).await.unwrap();
    }
    db.store.append(batch(log, vec![writes(log).on(phone(2)).something("here")])).await.unwrap();
    assert_eq!(db.store.writers(log).await.unwrap(), BTreeSet::from([person(2)]));
    assert!(db.store.writers(job_log(1, 2)).await.unwrap().is_empty());
}

async fn keys_stay_as_they_were_introduced(db: Fresh) {
    let key = |n: u8, at: i64| ServerKey {
        public_key: format!("key {n}"),
        by: Digest::of(&[1]),
        at: UtcMillis(at),
        signature: "a signature".to_owned(),
    };
    let (first, second) = (key(1, 1), key(2, 2));
    db.store.introduce_keys(&[(Digest::of(&[2]), second.clone())]).await.unwrap();
    db.store
        .introduce_keys(&[(Digest::of(&[1]), first.clone()), (Digest::of(&[2]), key(3, 3))])
        .await
        .unwrap();
    assert_eq!(db.store.server_keys().await.unwrap(), [first, second]);
}
