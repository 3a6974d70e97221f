//! Appending and pulling.

use std::collections::BTreeSet;
use std::sync::Arc;
use std::time::Duration;

use shared_types::api::{LogHead, Notice, Page, RefusalReason};
use shared_types::digest::Digest;
use shared_types::ids::{Author, ChangeId, LogId};
use shared_types::time::UtcMillis;
use sqlx::{Connection as _, Executor as _, SqliteConnection};
use storage::{Answer, Batch, Conflict, Live, Refusal, Sender, Storage, StoreError};
use tokio::time::timeout;
use uuid::Uuid;

use crate::support::{Fresh, NOON, batch, job_log, on_both, person, phone, prepared, shop, user, writes};

on_both! {
    twenty_appenders_leave_no_gap
    two_servers_share_a_log
    a_repeated_batch_is_had_already
    a_change_twice_in_one_batch_is_taken_once
    an_id_is_taken_once_and_for_all_logs
    one_spoiled_batch_spoils_no_other
    a_job_stays_in_its_shop
    pages_follow_one_another
    a_page_ends_before_it_weighs_too_much
    a_text_comes_back_byte_for_byte
    a_written_page_is_the_page
    a_written_page_is_of_the_log_whoever_wrote
    a_caller_that_goes_away_takes_nothing_along
    growth_is_noticed_by_every_server
    the_sender_is_seen
    refusals_are_kept
    an_empty_batch_takes_nothing
}

/// The sequence numbers of a whole log.
async fn seqs(store: &dyn Storage, log: LogId) -> Vec<u64> {
    let mut seqs = Vec::new();
    loop {
        let page = store.pull(log, seqs.last().copied().unwrap_or(0), 100).await.unwrap();
        if page.changes.is_empty() {
            assert_eq!(page.head, seqs.len() as u64);
            return seqs;
        }
        seqs.extend(page.changes.iter().map(|it| it.seq));
    }
}

async fn append_many(store: Arc<dyn Storage>, logs: Vec<LogId>) -> Vec<(LogId, u64)> {
    let mut taken = Vec::new();
    for round in 0..5 {
        for log in &logs {
            let changes = (0..4).map(|n| writes(*log).something(&format!("{round}.{n}"))).collect();
            let appended = store.append(batch(*log, changes)).await.unwrap();
            for answer in appended.answers {
                let Answer::Taken { seq, .. } = answer else { panic!("{answer:?}") };
                assert!(seq <= appended.head);
                taken.push((*log, seq));
            }
        }
    }
    taken
}

async fn appenders_leave_no_gap(stores: &[Arc<dyn Storage>]) {
    let logs = [job_log(1, 1), job_log(1, 2), LogId::Shop(shop(1))];
    let tasks: Vec<_> = (0..20)
        .map(|n| {
            // Each goes through the logs in another order.
            let mut logs = logs.to_vec();
            logs.rotate_left(n % 3);
            tokio::spawn(append_many(Arc::clone(&stores[n % stores.len()]), logs))
        })
        .collect();
    let mut taken = Vec::new();
    for task in tasks {
        taken.extend(task.await.unwrap());
    }
    let distinct: BTreeSet<_> = taken.iter().copied().collect();
    assert_eq!(distinct.len(), 20 * 5 * 3 * 4, "every answer is another place");
    for log in logs {
        assert_eq!(seqs(stores[0].as_ref(), log).await, (1..=400).collect::<Vec<u64>>());
    }
}

async fn twenty_appenders_leave_no_gap(db: Fresh) {
    appenders_leave_no_gap(&[db.store]).await;
}

async fn two_servers_share_a_log(db: Fresh) {
    appenders_leave_no_gap(&[Arc::clone(&db.store), db.second().await]).await;
}

async fn a_repeated_batch_is_had_already(db: Fresh) {
    let log = job_log(1, 1);
    let changes: Vec<_> = (0..3).map(|n| writes(log).something(&n.to_string())).collect();
    let first = db.store.append(batch(log, changes.clone())).await.unwrap();
    let later = UtcMillis(NOON.0 + 3_600_000);
    let again = Batch { received: later, ..batch(log, changes) };
    let second = db.store.append(again).await.unwrap();
    assert_eq!((first.head, second.head), (3, 3));
    for (n, (first, second)) in first.answers.iter().zip(&second.answers).enumerate() {
        let seq = n as u64 + 1;
        assert_eq!(*first, Answer::Taken { seq, received: NOON });
        assert_eq!(*second, Answer::AlreadyHad { seq, received: NOON }, "the first receipt stands");
    }
}

async fn a_change_twice_in_one_batch_is_taken_once(db: Fresh) {
    let log = job_log(1, 1);
    let change = writes(log).something("once");
    let appended = db.store.append(batch(log, vec![change.clone(), change])).await.unwrap();
    let (seq, received) = (1, NOON);
    assert_eq!(appended.answers, [Answer::Taken { seq, received }, Answer::AlreadyHad { seq, received }]);
    assert_eq!(seqs(db.store.as_ref(), log).await, [1]);
}

async fn an_id_is_taken_once_and_for_all_logs(db: Fresh) {
    let (log, other) = (job_log(1, 1), job_log(2, 2));
    let id = ChangeId(Uuid::now_v7());
    db.store.append(batch(log, vec![writes(log).with_id(id).something("first")])).await.unwrap();

    let forged = writes(log).with_id(id).something("second");
    let beside = writes(log).something("beside");
    let appended = db.store.append(batch(log, vec![forged, beside])).await.unwrap();
    assert_eq!(appended.answers, [Answer::IdTaken, Answer::Taken { seq: 2, received: NOON }]);

    let elsewhere = writes(other).with_id(id).something("first");
    let appended = db.store.append(batch(other, vec![elsewhere])).await.unwrap();
    assert_eq!(appended.answers, [Answer::IdTaken]);
    assert_eq!(appended.head, 0);

    let page = db.store.pull(log, 0, 10).await.unwrap();
    assert!(page.changes[0].change.text.contains("first"), "the first stays");
}

async fn one_spoiled_batch_spoils_no_other(db: Fresh) {
    let (log, other) = (job_log(1, 1), job_log(1, 2));
    let stray = batch(log, vec![writes(other).something("for another log")]);
    let tasks: Vec<_> = (0..10)
        .map(|n| {
            let store = Arc::clone(&db.store);
            let batch =
                if n == 5 { stray.clone() } else { batch(log, vec![writes(log).something(&n.to_string())]) };
            tokio::spawn(async move { store.append(batch).await })
        })
        .collect();
    let mut taken = 0;
    for (n, task) in tasks.into_iter().enumerate() {
        let outcome = task.await.unwrap();
        assert_eq!(outcome.is_err(), n == 5, "{outcome:?}");
        taken += u64::from(outcome.is_ok());
    }
    assert_eq!(seqs(db.store.as_ref(), log).await, (1..=taken).collect::<Vec<u64>>());
}

async fn a_job_stays_in_its_shop(db: Fresh) {
    let (ours, theirs) = (job_log(1, 7), job_log(2, 7));
    db.store.append(batch(ours, vec![writes(ours).something("ours")])).await.unwrap();
    let outcome = db.store.append(batch(theirs, vec![writes(theirs).something("theirs")])).await;
    assert!(matches!(outcome, Err(StoreError::Conflict(Conflict::OtherShop))), "{outcome:?}");
    assert!(matches!(db.store.pull(theirs, 0, 10).await, Err(StoreError::NotFound(_))));
    assert_eq!(db.store.head(theirs).await.unwrap(), None);
    assert_eq!(db.store.heads(shop(2)).await.unwrap(), []);
    let (_, link) = db.store.last_link(ours).await.unwrap().unwrap();
    let expected = LogHead { log: ours, head: 1, mark: Some(shared_types::countersign::mark(link)) };
    assert_eq!(db.store.heads(shop(1)).await.unwrap(), [expected]);
}

async fn pages_follow_one_another(db: Fresh) {
    let log = job_log(1, 1);
    let changes = (0..25).map(|n| writes(log).something(&n.to_string())).collect();
    db.store.append(batch(log, changes)).await.unwrap();
    let page = db.store.pull(log, 20, 3).await.unwrap();
    assert_eq!(page.changes.iter().map(|it| it.seq).collect::<Vec<_>>(), [21, 22, 23]);
    assert_eq!(page.head, 25);
    assert_eq!(page.epoch, db.store.epoch().await.unwrap());
    let beyond = db.store.pull(log, 99, 3).await.unwrap();
    assert_eq!((beyond.head, beyond.changes.len()), (25, 0));
    let all = db.store.pull(log, 0, usize::MAX).await.unwrap();
    assert_eq!(all.changes.len(), 25);
    let far = db.store.pull(log, u64::MAX, 1).await.unwrap();
    assert_eq!(far.changes.len(), 0);
}

async fn a_page_ends_before_it_weighs_too_much(db: Fresh) {
    let log = job_log(1, 1);
    let long = "x".repeat(60_000);
    for _ in 0..2 {
        let changes = (0..50).map(|_| writes(log).something(&long)).collect();
        db.store.append(batch(log, changes)).await.unwrap();
    }
    let page = db.store.pull(log, 0, 1000).await.unwrap();
    let bytes: usize = page.changes.iter().map(|it| it.change.text.len()).sum();
    assert!((2_000_000..2_300_000).contains(&bytes), "{bytes}");
    assert_eq!(page.head, 100);
    assert_eq!(seqs(db.store.as_ref(), log).await.len(), 100);
}

async fn a_text_comes_back_byte_for_byte(db: Fresh) {
    let log = job_log(1, 1);
    let mut change = prepared(&writes(log).change(shared_types::body::Body::Unknown {
        kind: "later.v1".to_owned(),
        body: serde_json::json!({ "kind": "later.v1", "z": 1, "a": "\u{0} \u{1F6E9} \" \\ \u{2028} Ä" }),
    }));
    // Written by another program: other white space, other order, other escapes.
    let signed = shared_types::change::SignedChange::new(
        serde_json::to_string_pretty(change.change()).unwrap().replace('Ä', "\\u00c4"),
        &[0, 255, 128],
    );
    change = storage::PreparedChange::new(change.change().clone(), signed.clone());
    db.store.append(batch(log, vec![change])).await.unwrap();
    assert_eq!(db.store.pull(log, 0, 1).await.unwrap().changes[0].change, signed);
    assert_eq!(written(db.store.as_ref(), log, 0, 1).await.changes[0].change, signed);
}

async fn written(store: &dyn Storage, log: LogId, since: u64, limit: usize) -> Page {
    serde_json::from_str(&store.written_page(log, since, limit).await.unwrap()).unwrap()
}

async fn a_written_page_is_the_page(db: Fresh) {
    let log = job_log(1, 1);
    assert!(matches!(db.store.written_page(log, 0, 10).await, Err(StoreError::NotFound(_))));
    // Inserted by statements of every size.
    let changes = (0..314).map(|n| writes(log).something(&n.to_string())).collect();
    db.store.append(batch(log, changes)).await.unwrap();
    let long = "x".repeat(60_000);
    let changes = (0..50).map(|_| writes(log).something(&long)).collect();
    db.store.append(batch(log, changes)).await.unwrap();
    // The one has the newest changes in memory, the other reads the database.
    for store in [Arc::clone(&db.store), db.second().await] {
        for (since, limit) in [
            (0, 314),
            (0, 1),
            (0, 32),
            (0, 33),
            (0, 64),
            (13, 64),
            (312, 4),
            (364, 5),
            (400, 5),
            (u64::MAX, 1),
        ] {
            let page = db.store.pull(log, since, limit).await.unwrap();
            assert_eq!(written(store.as_ref(), log, since, limit).await, page, "{limit} after {since}");
        }
        let heavy = written(store.as_ref(), log, 310, 1000).await.changes;
        assert!(
            heavy.len() > 30 && heavy.len() < 50,
            "a page ends before it weighs too much: {}",
            heavy.len()
        );
        assert_eq!(heavy, db.store.pull(log, 310, heavy.len()).await.unwrap().changes);
    }
}

async fn a_written_page_is_of_the_log_whoever_wrote(db: Fresh) {
    let stores = [Arc::clone(&db.store), db.second().await];
    let logs = [job_log(1, 1), job_log(1, 2)];
    // A run of the first, then of the second, then in turn; at times so much that what is kept must give way.
    for round in 0_usize..40 {
        let (log, store) = (logs[round % 2], &stores[[0, 1, round / 3 % 2, round / 2 % 2][round / 10]]);
        let text = if round % 7 == 6 { "x".repeat(60_000) } else { round.to_string() };
        let changes = (0..=round * 5 % 60).map(|_| writes(log).something(&text)).collect();
        store.append(batch(log, changes)).await.unwrap();
        for log in &logs[..=round.min(1)] {
            let head = store.head(*log).await.unwrap().unwrap();
            for (reader, back) in [(0, 0), (0, 1), (1, 1), (0, 7), (1, 30), (0, 90), (1, head)] {
                let since = head.saturating_sub(back);
                let page = db.store.pull(*log, since, 20).await.unwrap();
                let seen = written(stores[reader].as_ref(), *log, since, 20).await;
                assert_eq!(seen, page, "round {round}, {back} before {head}, server {reader}");
            }
        }
    }
}

#[tokio::test]
async fn a_database_put_back_under_a_running_server_is_read_anew() {
    let db = crate::support::sqlite().await;
    let log = job_log(1, 1);
    let append = async |store: &dyn Storage, text: &str| {
        store.append(batch(log, vec![writes(log).something(text)])).await.unwrap();
    };
    append(db.store.as_ref(), "kept").await;
    let mut conn = SqliteConnection::connect(&db.url).await.unwrap();
    let link: String = sqlx::query_scalar("SELECT link FROM logs").fetch_one(&mut conn).await.unwrap();
    append(db.store.as_ref(), "lost").await;
    conn.execute("DELETE FROM changes WHERE seq = 2").await.unwrap();
    let back = "UPDATE logs SET head = 1, linked = 1, link = $1";
    sqlx::query(back).bind(link).execute(&mut conn).await.unwrap();
    for longer in [false, true] {
        if longer {
            append(db.second().await.as_ref(), "of another server").await;
        }
        let page = db.store.pull(log, 0, 10).await.unwrap();
        assert_eq!(page.changes.len(), if longer { 2 } else { 1 });
        assert_eq!(written(db.store.as_ref(), log, 0, 10).await, page);
    }
}

async fn a_caller_that_goes_away_takes_nothing_along(db: Fresh) {
    let log = job_log(1, 1);
    let mut staying = Vec::new();
    for n in 0..40 {
        let store = Arc::clone(&db.store);
        let change = writes(log).something(&n.to_string());
        let task = tokio::spawn(async move { store.append(batch(log, vec![change])).await });
        if n % 2 == 0 {
            staying.push(task);
        } else {
            tokio::task::yield_now().await;
            task.abort();
        }
    }
    for task in staying {
        task.await.unwrap().unwrap();
    }
    let seqs = seqs(db.store.as_ref(), log).await;
    assert!(seqs.len() >= 20);
    assert_eq!(seqs, (1..=seqs.len() as u64).collect::<Vec<_>>());
}

async fn growth_is_noticed_by_every_server(db: Fresh) {
    let log = job_log(1, 1);
    let second = db.second().await;
    let mut here = db.store.subscribe();
    let mut there = second.subscribe();
    let change = writes(log).something("news");
    db.store.append(batch(log, vec![change.clone()])).await.unwrap();
    let wait = Duration::from_secs(5);
    let expected = Some(Live::Log(Notice { log, head: 1 }));
    assert_eq!(timeout(wait, here.next()).await.unwrap(), expected);
    if db.url.starts_with("postgres") {
        assert_eq!(timeout(wait, there.next()).await.unwrap(), expected);
    }
    // Nothing new, nothing to tell.
    db.store.append(batch(log, vec![change])).await.unwrap();
    assert!(timeout(Duration::from_millis(200), here.next()).await.is_err());
    db.store.close().await;
    assert_eq!(timeout(wait, here.next()).await.unwrap(), None);
}

async fn the_sender_is_seen(db: Fresh) {
    db.store.add_user(user(1, "ada"), None).await.unwrap();
    let introduced = crate::accounts::introduction(1, "key");
    db.store.introduce_device(person(1), &introduced, NOON).await.unwrap();
    let log = job_log(1, 1);
    let from = Some(Sender { user: person(1), device: phone(1), pending: 12 });
    let received = UtcMillis(NOON.0 + 5);
    let sent = Batch { from, received, ..batch(log, vec![writes(log).something("work")]) };
    db.store.append(sent).await.unwrap();
    let device = db.store.device(person(1), phone(1)).await.unwrap().unwrap();
    assert_eq!((device.pending, device.seen), (12, received));
}

async fn refusals_are_kept(db: Fresh) {
    let refusal = |log, text: &[u8], at| Refusal {
        log,
        change: Some(ChangeId(Uuid::from_u128(9))),
        digest: Digest::of(text),
        author: Author::Person(person(1)),
        device: phone(1),
        reason: RefusalReason::NotPermitted,
        detail: "only an inspector may do this".to_owned(),
        at: UtcMillis(at),
    };
    let (ours, theirs) = (job_log(1, 1), job_log(2, 2));
    let first = refusal(ours, b"one", 1);
    let second = Refusal { change: None, author: Author::Server, ..refusal(ours, b"two", 2) };
    db.store.refuse(&[first.clone(), second.clone(), refusal(theirs, b"three", 3)]).await.unwrap();
    db.store.refuse(&[refusal(ours, b"one", 99)]).await.unwrap();
    assert_eq!(db.store.refusals(shop(1), 10).await.unwrap(), [second.clone(), first]);
    assert_eq!(db.store.refusals(shop(1), 1).await.unwrap(), [second]);
}

async fn an_empty_batch_takes_nothing(db: Fresh) {
    let log = job_log(1, 1);
    let appended = db.store.append(batch(log, Vec::new())).await.unwrap();
    assert_eq!((appended.head, appended.answers.len()), (0, 0));
}
