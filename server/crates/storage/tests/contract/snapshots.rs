//! Snapshots of logs.

use shared_types::stamp::Stamp;
use shared_types::time::UtcMillis;
use storage::Snapshot;

use crate::support::{Fresh, NOON, batch, job_log, on_both, writes};

on_both! {
    a_snapshot_is_kept_for_its_fold_alone
    the_one_that_has_come_further_stays
    a_log_that_is_not_there_has_none
}

fn snapshot(fold: &str, seq: u64, state: &str) -> Snapshot {
    let latest = Stamp(UtcMillis(NOON.0 + 1), 7);
    Snapshot { fold: fold.to_owned(), seq, latest, state: state.to_owned() }
}

async fn a_snapshot_is_kept_for_its_fold_alone(db: Fresh) {
    let log = job_log(1, 1);
    db.store.append(batch(log, vec![writes(log).something("one")])).await.unwrap();
    assert_eq!(db.store.snapshot(log, "fold").await.unwrap(), None);
    let kept = snapshot("fold", 1, "{\"ü\":\"'\"}");
    db.store.keep_snapshot(log, &kept).await.unwrap();
    assert_eq!(db.store.snapshot(log, "fold").await.unwrap(), Some(kept));
    assert_eq!(db.store.snapshot(log, "another").await.unwrap(), None);
    assert_eq!(db.store.snapshot(job_log(1, 2), "fold").await.unwrap(), None);
    // Another version of the server takes over.
    let newer = snapshot("another", 1, "{}");
    db.second().await.keep_snapshot(log, &newer).await.unwrap();
    assert_eq!(db.store.snapshot(log, "fold").await.unwrap(), None);
    assert_eq!(db.store.snapshot(log, "another").await.unwrap(), Some(newer));
}

async fn the_one_that_has_come_further_stays(db: Fresh) {
    let log = job_log(1, 1);
    let changes = (0..3).map(|n| writes(log).something(&n.to_string())).collect();
    db.store.append(batch(log, changes)).await.unwrap();
    for (seq, stays) in [(2, 2), (1, 2), (2, 2), (3, 3)] {
        db.store.keep_snapshot(log, &snapshot("fold", seq, &format!("[{seq}]"))).await.unwrap();
        let kept = db.store.snapshot(log, "fold").await.unwrap();
        assert_eq!(kept, Some(snapshot("fold", stays, &format!("[{stays}]"))));
    }
}

async fn a_log_that_is_not_there_has_none(db: Fresh) {
    let log = job_log(1, 1);
    db.store.keep_snapshot(log, &snapshot("fold", 1, "{}")).await.unwrap();
    assert_eq!(db.store.snapshot(log, "fold").await.unwrap(), None);
    db.store.append(batch(log, vec![writes(log).something("one")])).await.unwrap();
    assert_eq!(db.store.snapshot(log, "fold").await.unwrap(), None);
}
