//! Tabs that are killed: at any await, at any write. Either a thing happened whole, or not at all.

use std::future::poll_fn;
use std::pin::pin;
use std::task::Poll;

use device::LocalStore as _;
use device::{SyncLine, Table};

use crate::photos::jpeg;
use crate::world::store::Dies;
use crate::world::{Phone, SHOP, Tab, World, job, part, titled};

/// Polls a future so many times, then drops it. True when it came to its end.
pub async fn polled<R>(future: impl Future<Output = R>, times: usize) -> bool {
    let mut future = pin!(future);
    let mut polls = 0;
    poll_fn(|context| {
        if polls == times {
            return Poll::Ready(false);
        }
        polls += 1;
        future.as_mut().poll(context).map(|_| true)
    })
    .await
}

/// What is stored belongs together: each change shown is in the outbox, each photo shown has its bytes and its place
/// in the queue.
async fn consistent(phone: &Phone) -> (usize, usize) {
    let tab = phone.tab().await;
    let waiting = tab.waiting(1_000).await.unwrap();
    let state = tab.job(SHOP, job(1).job().unwrap()).await.unwrap();
    let unsent = tab.unsent_photos(job(1)).await.unwrap();
    for photo in state.photos.values() {
        let digest = photo.it.digest.get().unwrap();
        assert!(unsent.contains_key(digest), "a photo without a place in the queue");
        let (bytes, _) =
            tab.photo_bytes(job(1), *digest, device::PhotoSize::Original).await.unwrap().unwrap();
        assert_eq!(shared_types::digest::Digest::of(&bytes), *digest);
    }
    assert_eq!(unsent.len(), state.photos.len(), "a place in the queue without a photo");
    let parts = phone.store.count(Table::Parts, "").await.unwrap();
    assert_eq!(parts > 0, !unsent.is_empty(), "bytes of no photo");
    let shown = usize::from(state.job.title.get().is_some()) + usize::from(state.job.part.get().is_some());
    assert_eq!(waiting.len(), shown + state.photos.len());
    let listed: usize = tab.jobs().await.unwrap().iter().map(|row| row.unsent_changes).sum();
    assert_eq!(listed, waiting.len());
    (waiting.len(), unsent.len())
}

#[test]
fn a_tab_killed_at_any_await_of_a_change_leaves_it_whole_or_not_at_all() {
    let (mut whole, mut nothing) = (0, 0);
    for polls in 1..200 {
        let world = World::new();
        let (end, made) = world.clock.clone().run(async move {
            let (phone, tab) = world.signed_in("mech").await;
            phone.offline(true);
            let end = polled(tab.change(job(1), vec![titled("Whole"), part("or not at all")]), polls).await;
            drop(tab);
            (end, consistent(&phone).await.0)
        });
        assert!(made == 0 || made == 2, "{made} of 2 after {polls} polls");
        assert!(!end || made == 2, "it said saved, and was not");
        whole += usize::from(made == 2);
        nothing += usize::from(made == 0);
        if end {
            break;
        }
    }
    assert!(whole > 1 && nothing > 1, "{whole} times whole, {nothing} times nothing");
}

#[test]
fn a_tab_killed_at_any_await_of_taking_a_photo_leaves_it_whole_or_not_at_all() {
    let mut ended = false;
    for polls in 1..200 {
        let world = World::new();
        ended = world.clock.clone().run(async move {
            let (phone, tab) = world.signed_in("mech").await;
            phone.offline(true);
            let end = polled(tab.add_photo(job(1), jpeg(600_000, 1)), polls).await;
            drop(tab);
            let (changes, photos) = consistent(&phone).await;
            assert_eq!(changes, photos);
            assert!(!end || photos == 1);
            end
        });
        if ended {
            break;
        }
    }
    assert!(ended);
}

#[test]
fn a_tab_killed_at_any_write_of_a_sync_loses_nothing_and_doubles_nothing() {
    for dies in [Dies::Before, Dies::After] {
        for write in 0..60 {
            let world = World::new();
            let clock = world.clock.clone();
            let through = clock.clone().run(async move {
                let (_two, second) = world.signed_in("mech").await;
                second.change(job(1), vec![part("by another")]).await.unwrap();
                second.settle(&clock).await;
                let (phone, tab) = world.signed_in("mech").await;
                tab.change(job(1), vec![titled("Mine")]).await.unwrap();
                let (_, digest, _) = tab.add_photo(job(1), jpeg(700_000, 1)).await.unwrap();
                tab.change(job(2), vec![titled("Other job")]).await.unwrap();
                phone.store.dies.set(Some((write, dies)));
                let dying = tab.clone();
                let sync = Box::pin(async move { dying.sync_once().await });
                let limit = clock.clone();
                let end = Box::pin(async move { limit.sleep(300_000).await });
                let through =
                    matches!(futures::future::select(sync, end).await, futures::future::Either::Left(_))
                        && tab.sync_state().line == SyncLine::AllSent;
                drop(tab);
                phone.store.dies.set(None);
                let tab = phone.tab().await;
                tab.settle(&clock).await;
                check(&world, &tab, digest).await;
                through
            });
            if through {
                assert!(write > 5, "a sync of so much writes more than {write} times");
                break;
            }
            assert!(write < 59, "it never came through");
        }
    }
}

async fn check(world: &World, tab: &Tab, digest: shared_types::digest::Digest) {
    let (one, two) = (world.server.log(job(1)), world.server.log(job(2)));
    assert_eq!((one.len(), two.len()), (3, 1));
    assert!(world.server.photo(digest).is_some());
    assert_eq!(*tab.job(SHOP, job(1).job().unwrap()).await.unwrap(), world.server.fold(job(1)));
    assert!(tab.unsent_work().await.unwrap().is_empty());
}
