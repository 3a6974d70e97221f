//! The server's own changes.

use std::sync::{Arc, Mutex};

use shared_types::digest::Digest;
use shared_types::ids::{Author, DeviceId};
use shared_types::stamp::Stamp;
use shared_types::time::UtcMillis;
use storage::{Answer, OwnChanges, Place, ServerIdentity, Storage};
use uuid::Uuid;

use crate::support::{Fresh, NOON, Writes, batch, job_log, on_both, writes};

on_both! {
    the_first_identity_stays
    own_changes_chain
    own_changes_come_later_than_everything
    many_at_once_chain_without_a_fork
}

const SERVER: DeviceId = DeviceId(Uuid::from_u128(0xfa));

async fn introduce(store: &dyn Storage) {
    let identity = ServerIdentity { device: SERVER, public_key: "server key".to_owned() };
    assert_eq!(store.introduce_server(identity.clone()).await.unwrap(), identity);
}

fn server_writes(place: &Place) -> Writes {
    writes(place.log).by(Author::Server).on(SERVER)
}

async fn the_first_identity_stays(db: Fresh) {
    assert_eq!(db.store.server_identity().await.unwrap(), None);
    introduce(db.store.as_ref()).await;
    let other = ServerIdentity { device: DeviceId(Uuid::from_u128(1)), public_key: "other".to_owned() };
    assert_eq!(db.store.introduce_server(other).await.unwrap().device, SERVER);
    let key = db.store.device_key(SERVER).await.unwrap().unwrap();
    assert_eq!((key.user, key.public_key.as_str()), (None, "server key"));
}

async fn own_changes_chain(db: Fresh) {
    introduce(db.store.as_ref()).await;
    let log = job_log(1, 1);
    let places = Arc::new(Mutex::new(Vec::new()));
    let mut last = None;
    for n in 0..3 {
        let seen = Arc::clone(&places);
        let build = move |place: &Place| {
            seen.lock().unwrap().push(*place);
            vec![server_writes(place).something("one"), server_writes(place).something(&n.to_string())]
        };
        let own = OwnChanges { log, received: NOON, build: Arc::new(build) };
        let appended = db.store.append_own(own).await.unwrap();
        assert_eq!(appended.head, (n + 1) * 2);
        assert_eq!(places.lock().unwrap().pop().unwrap().previous, last);
        let page = db.store.pull(log, appended.head - 1, 1).await.unwrap();
        last = Some(page.changes[0].change.digest());
    }
}

async fn own_changes_come_later_than_everything(db: Fresh) {
    introduce(db.store.as_ref()).await;
    let log = job_log(1, 1);
    let in_time = writes(log).at(60_000).something("in time");
    let year_ahead = writes(log).at(31_536_000_000).something("a clock a year fast");
    db.store.append(batch(log, vec![in_time, year_ahead])).await.unwrap();
    let seen = Arc::new(Mutex::new(None));
    let sees = Arc::clone(&seen);
    let build = move |place: &Place| {
        *sees.lock().unwrap() = Some(*place);
        Vec::new()
    };
    db.store.append_own(OwnChanges { log, received: NOON, build: Arc::new(build) }).await.unwrap();
    let place = seen.lock().unwrap().unwrap();
    assert_eq!(place.previous, None);
    // A stamp counts as at most five minutes after its receipt.
    assert_eq!(place.highest, Stamp(UtcMillis(NOON.0 + 300_000), 0));
}

async fn many_at_once_chain_without_a_fork(db: Fresh) {
    introduce(db.store.as_ref()).await;
    let log = job_log(1, 1);
    let second = db.second().await;
    let tasks: Vec<_> = (0..12)
        .map(|n| {
            let store = Arc::clone(if n % 2 == 0 { &db.store } else { &second });
            let build = |place: &Place| {
                let mut change = server_writes(place).change(shared_types::body::Body::Unknown {
                    kind: "something.v9".to_owned(),
                    body: serde_json::json!({ "kind": "something.v9" }),
                });
                change.previous = place.previous;
                vec![crate::support::prepared(&change)]
            };
            let own = OwnChanges { log, received: NOON, build: Arc::new(build) };
            tokio::spawn(async move { store.append_own(own).await })
        })
        .collect();
    for task in tasks {
        let appended = task.await.unwrap().unwrap();
        assert!(matches!(appended.answers[..], [Answer::Taken { .. }]));
    }
    let mut previous: Option<Digest> = None;
    for logged in db.store.pull(log, 0, 100).await.unwrap().changes {
        assert_eq!(logged.change.read().unwrap().previous, previous);
        previous = Some(logged.change.digest());
    }
}
