//! What the server holds, read from its stores once it is down.

use std::collections::{BTreeMap, BTreeSet};

use futures::TryStreamExt as _;
use photo_store::{PhotoStore, PictureSize};
use shared_types::change::Entry;
use shared_types::digest::Digest;
use shared_types::ids::{ChangeId, LogId};
use shared_types::job::JobState;
use storage::Storage;

use crate::served::Served;

/// The logs of a server.
pub struct Held {
    pub places: BTreeMap<ChangeId, u64>,
    pub states: BTreeMap<LogId, JobState>,
}

/// Reads these logs: no gap, nothing twice.
pub async fn read(served: &Served, logs: &[LogId]) -> Held {
    let storage = storage::open(&served.database()).await.unwrap();
    let mut held = Held { places: BTreeMap::new(), states: BTreeMap::new() };
    for log in logs {
        let state = read_log(storage.as_ref(), *log, &mut held.places).await;
        held.states.insert(*log, state);
    }
    storage.close().await;
    held
}

async fn read_log(storage: &dyn Storage, log: LogId, places: &mut BTreeMap<ChangeId, u64>) -> JobState {
    let mut state = JobState::default();
    let mut expected = 1;
    loop {
        let page = storage.pull(log, expected - 1, 500).await.unwrap();
        if page.changes.is_empty() {
            return state;
        }
        for logged in page.changes {
            assert_eq!(logged.seq, expected, "{log} has a gap");
            expected += 1;
            let change = logged.change.read().unwrap();
            assert_eq!(places.insert(change.id, logged.seq), None, "{} is there twice", change.id);
            state.apply(&Entry { change, received: Some(logged.received) });
        }
    }
}

/// Every photo is there, and its bytes match its digest.
pub async fn photos_are_whole(served: &Served, photos: &BTreeSet<Digest>) {
    let store = PhotoStore::open(&format!("file://{}", served.photos().display())).unwrap();
    for digest in photos {
        let picture = store.picture(served.shop, *digest, PictureSize::Original, None).await;
        let picture = picture.unwrap_or_else(|error| panic!("photo {digest} is lost: {error}"));
        let pieces: Vec<bytes::Bytes> = picture.bytes.try_collect().await.unwrap();
        assert_eq!(Digest::of(&pieces.concat()), *digest);
    }
}

/// Every change that a phone saw acknowledged is there, in its place.
pub fn nothing_acknowledged_is_lost(held: &Held, acknowledged: &BTreeMap<ChangeId, u64>) {
    for (id, seq) in acknowledged {
        assert_eq!(held.places.get(id), Some(seq), "change {id} was acknowledged at {seq}");
    }
}
