//! Several phones on one job.

use device::SyncLine;
use shared_types::body::{Body, Known, The};
use shared_types::change::{Change, SignedChange};
use shared_types::entity::Entity as _;
use shared_types::ids::{Author, ChangeId, DeviceId, UserId};
use shared_types::job::JobPatch;
use shared_types::stamp::Stamp;
use shared_types::time::UtcMillis;
use uuid::Uuid;

use crate::world::{NOON, SHOP, World, job, part, step, titled};

#[test]
fn two_phones_that_edit_the_same_field_apart_converge_and_the_loser_stays_readable() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (_one, first) = world.signed_in("mech").await;
        let (two, second) = world.signed_in("mech").await;
        first.change(job(1), vec![titled("Common")]).await.unwrap();
        first.settle(&clock).await;
        second.settle(&clock).await;
        two.offline(true);
        first.change(job(1), vec![part("from the first")]).await.unwrap();
        clock.sleep(5_000).await;
        second.change(job(1), vec![part("from the second"), step(3, "Sand")]).await.unwrap();
        first.settle(&clock).await;
        two.offline(false);
        second.settle(&clock).await;
        first.settle(&clock).await;
        let id = job(1).job().unwrap();
        let (one, two) = (first.job(SHOP, id).await.unwrap(), second.job(SHOP, id).await.unwrap());
        assert_eq!(one, two);
        assert_eq!(*one, world.server.fold(job(1)));
        assert_eq!(one.job.part.or_empty().0, "from the second");
        assert_eq!(one.job.contested().len(), 1, "the first one's value is shown beside it");
        // Writing again after having seen both settles it.
        first.change(job(1), vec![part("agreed")]).await.unwrap();
        assert!(first.job(SHOP, id).await.unwrap().job.contested().is_empty());
    });
}

#[test]
fn a_notice_brings_another_s_change_within_a_second() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (_one, first) = world.signed_in("mech").await;
        let (_two, second) = world.signed_in("mech").await;
        let (run_first, run_second) = (first.clone(), second.clone());
        let running = async move { futures::join!(run_first.run(), run_second.run()) };
        let story = async {
            clock.sleep(2_000).await;
            first.change(job(1), vec![titled("Seen at once")]).await.unwrap();
            let made = clock.now();
            while second.jobs().await.unwrap().is_empty() {
                clock.sleep(10).await;
            }
            assert!(clock.now() - made < 1_000, "it took {} ms", clock.now() - made);
            assert_eq!(first.sync_state().line, SyncLine::AllSent);
        };
        futures::future::select(Box::pin(running), Box::pin(story)).await;
    });
}

#[test]
fn the_loop_comes_back_by_itself_after_the_line_was_dead() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (one, first) = world.signed_in("mech").await;
        let runner = first.clone();
        let story = async {
            clock.sleep(2_000).await;
            one.offline(true);
            world.server.notify(job(1));
            first.change(job(1), vec![titled("Later")]).await.unwrap();
            clock.sleep(3_600_000).await;
            assert_eq!(first.sync_state().line, SyncLine::Offline);
            let tries = one.wire.sent.borrow().len();
            assert!((100..1_000).contains(&tries), "an hour of nothing made {tries} tries");
            one.offline(false);
            clock.sleep(31_000).await;
            assert_eq!(first.sync_state().line, SyncLine::AllSent, "by its own timer");
            one.offline(true);
            world.server.notify(job(1));
            clock.sleep(600_000).await;
            one.offline(false);
            first.kick();
            clock.sleep(1_000).await;
            assert_eq!(first.sync_state().line, SyncLine::AllSent, "at once when kicked");
        };
        futures::future::select(Box::pin(async move { runner.run().await }), Box::pin(story)).await;
    });
}

#[test]
fn a_long_log_is_pulled_in_pages_and_opened_from_its_snapshot() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (_one, first) = world.signed_in("mech").await;
        first.change(job(1), vec![titled("Long")]).await.unwrap();
        for number in 0..1_500_u128 {
            first.change(job(1), vec![step(number % 40, &format!("step {number}"))]).await.unwrap();
        }
        first.settle(&clock).await;
        world.server.state.borrow_mut().page = 100;
        world.server.state.borrow_mut().snapshots = None;
        let (two, second) = world.signed_in("mech").await;
        second.settle(&clock).await;
        drop(second);
        let pulls = two.wire.sent.borrow().iter().filter(|sent| sent.contains("since=")).count();
        assert!((16..=18).contains(&pulls), "{pulls} pages");
        let second = two.tab().await;
        let folded = world.server.fold(job(1));
        assert_eq!(*second.job(SHOP, job(1).job().unwrap()).await.unwrap(), folded);
        // With a tail after the snapshot, too.
        second.change(job(1), vec![part("tail")]).await.unwrap();
        second.settle(&clock).await;
        drop(second);
        let second = two.tab().await;
        assert_eq!(*second.job(SHOP, job(1).job().unwrap()).await.unwrap(), world.server.fold(job(1)));
    });
}

#[test]
fn a_newer_version_s_change_is_kept_and_does_not_disturb() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (_one, first) = world.signed_in("mech").await;
        first.change(job(1), vec![titled("Known")]).await.unwrap();
        first.settle(&clock).await;
        let change = Change {
            id: ChangeId(Uuid::from_u128(77)),
            log: job(1),
            author: Author::Person(UserId(Uuid::from_u128(9))),
            device: DeviceId(Uuid::from_u128(9)),
            stamp: Stamp(UtcMillis(NOON), 0),
            previous: None,
            replaces: Vec::new(),
            body: Body::from(The { set: JobPatch::default() }),
        };
        let text = serde_json::to_string(&change).unwrap().replace("job.v1", "job.v9");
        world.server.append(job(1), change.id, SignedChange::new(text, b"x"));
        let unreadable = SignedChange::new("{\"not\":\"a change\"}".into(), b"x");
        world.server.append(job(1), ChangeId(Uuid::from_u128(78)), unreadable);
        first.settle(&clock).await;
        let state = first.job(SHOP, job(1).job().unwrap()).await.unwrap();
        assert_eq!(state.unknown.len(), 1);
        assert_eq!(state.job.title.or_empty().0, "Known");
        first.change(job(1), vec![Known::Job(The { set: JobPatch::default() })]).await.unwrap();
        first.settle(&clock).await;
    });
}
