//! Opening a long job by its state, and its history when it is wanted.

use device::{Batch, CallError, History, LocalStore as _, NetError, Table};
use shared_types::body::Known;
use shared_types::entity::Entity as _;

use crate::world::{Clock, Fault, NOON, Phone, SHOP, Tab, World, job, part, step, titled};

/// More than a log that is opened by its changes has.
const LONG: u128 = 400;

/// A phone that made a long job, and the server with all of it.
async fn long_job(world: &World) -> (Phone, Tab) {
    let (phone, tab) = world.signed_in("mech").await;
    tab.change(job(1), vec![titled("Long"), part("first")]).await.unwrap();
    for number in 0..LONG - 2 {
        tab.change(job(1), vec![step(number % 40, &format!("step {number}"))]).await.unwrap();
    }
    tab.settle(&world.clock).await;
    (phone, tab)
}

async fn newcomer(world: &World) -> (Phone, Tab) {
    let (phone, tab) = world.signed_in("insp").await;
    tab.settle(&world.clock).await;
    (phone, tab)
}

async fn logged(phone: &Phone) -> usize {
    phone.store.count(Table::Logged, "").await.unwrap()
}

/// What the tab shows, after whatever it takes, is the whole log.
async fn shows_the_log(world: &World, tab: &Tab) {
    tab.settle(&world.clock).await;
    assert_eq!(*tab.job(SHOP, job(1).job().unwrap()).await.unwrap(), world.server.fold(job(1)));
}

fn asked(phone: &Phone, what: &str) -> usize {
    phone.wire.sent.borrow().iter().filter(|sent| sent.contains(what)).count()
}

fn note(text: &str) -> Known {
    use shared_types::body::OnStep;
    use shared_types::ids::NoteId;
    use shared_types::job::NotePatch;
    let set = NotePatch { text: Some(text.into()), ..NotePatch::default() };
    Known::Note(OnStep { id: NoteId(uuid::Uuid::from_u128(text.len() as u128)), step: None, set })
}

fn run<F: Future<Output = ()> + 'static>(story: impl FnOnce(World, Clock) -> F) {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(story(world, clock));
}

#[test]
fn a_new_phone_opens_a_long_job_by_its_state_and_works_on() {
    run(|world, _| async move {
        let (_one, first) = long_job(&world).await;
        world.server.state.borrow_mut().snapshots.as_mut().unwrap().1 = 30;
        let (two, second) = newcomer(&world).await;
        assert_eq!((asked(&two, "/snapshot"), asked(&two, "since=")), (1, 1));
        assert_eq!(logged(&two).await, 31, "the tail, and the change that the snapshot ends with");
        shows_the_log(&world, &second).await;

        first.change(job(1), vec![part("by the first")]).await.unwrap();
        second.change(job(1), vec![note("seen")]).await.unwrap();
        shows_the_log(&world, &second).await;
        shows_the_log(&world, &first).await;
        shows_the_log(&world, &second).await;
        drop(second);
        let second = two.tab().await;
        assert_eq!(second.jobs().await.unwrap()[0].summary.title, "Long");
        shows_the_log(&world, &second).await;
        assert_eq!(asked(&two, "/snapshot"), 1);
        // Opened from its own snapshots by and by, it stays right.
        for number in 0..300_u128 {
            first.change(job(1), vec![step(number % 40, "again")]).await.unwrap();
        }
        shows_the_log(&world, &first).await;
        shows_the_log(&world, &second).await;
        drop(second);
        shows_the_log(&world, &two.tab().await).await;
    });
}

#[test]
fn what_two_people_entered_apart_before_a_snapshot_is_still_both_there() {
    run(|world, clock| async move {
        let (one, first) = long_job(&world).await;
        let (_other, second) = world.signed_in("mech").await;
        second.settle(&clock).await;
        one.offline(true);
        first.change(job(1), vec![part("from the first")]).await.unwrap();
        clock.sleep(5_000).await;
        second.change(job(1), vec![part("from the second")]).await.unwrap();
        second.settle(&clock).await;
        one.offline(false);
        first.settle(&clock).await;
        let (_three, third) = world.signed_in("mech").await;
        shows_the_log(&world, &third).await;
        let id = job(1).job().unwrap();
        assert_eq!(third.job(SHOP, id).await.unwrap().job.contested().len(), 1);
        // What it writes then has seen both, and is later than either.
        third.change(job(1), vec![part("agreed")]).await.unwrap();
        third.settle(&clock).await;
        assert!(world.server.fold(job(1)).job.contested().is_empty());
        assert_eq!(world.server.fold(job(1)).job.part.or_empty().0, "agreed");
    });
}

#[test]
fn a_slow_clock_s_first_word_is_later_than_all_it_has_seen() {
    run(|world, clock| async move {
        let (_one, first) = long_job(&world).await;
        let latest = world.server.fold(job(1));
        let (two, second) = world.signed_in("mech").await;
        two.shared.skew.set(-31_536_000_000);
        shows_the_log(&world, &second).await;
        second.change(job(1), vec![part("late")]).await.unwrap();
        second.settle(&clock).await;
        let logged = world.server.log(job(1)).pop().unwrap();
        assert!(logged.change.read().unwrap().stamp.0.0 >= NOON, "not a year ago");
        assert_ne!(world.server.fold(job(1)), latest);
        shows_the_log(&world, &first).await;
    });
}

/// After a restored backup the server asks for them again, and they must be here one by one.
#[test]
fn a_phone_that_wrote_into_a_job_fetches_its_history_whole() {
    run(|world, clock| async move {
        let (one, first) = long_job(&world).await;
        first.sign_out(device::Unsent::Warn).await.unwrap();
        assert_eq!(logged(&one).await, 0);
        first.sign_in("mech", "secret", "phone").await.unwrap();
        shows_the_log(&world, &first).await;
        assert_eq!(logged(&one).await as u128, LONG);
        let backup = crate::world::server::Durable::default();
        world.server.restore(&backup, true);
        first.settle(&clock).await;
        assert_eq!(world.server.log(job(1)).len() as u128, LONG, "all of it came back");
    });
}

#[test]
fn a_job_that_is_written_into_while_it_is_being_opened_is_fetched_whole() {
    run(|world, clock| async move {
        let _first = long_job(&world).await;
        let (two, second) = world.signed_in("mech").await;
        let tab = two.tab().await;
        let write = async {
            while asked(&two, "/snapshot") == 0 {
                clock.sleep(1).await;
            }
            tab.change(job(1), vec![part("from the other tab")]).await.unwrap();
        };
        futures::join!(second.settle(&clock), write);
        shows_the_log(&world, &second).await;
        assert_eq!(logged(&two).await as u128, LONG + 1);
    });
}

#[test]
fn a_server_without_a_snapshot_or_with_another_fold_gives_its_log() {
    for made in [None, Some(("0-older".to_owned(), 0))] {
        run(|world, _| async move {
            let _first = long_job(&world).await;
            world.server.state.borrow_mut().snapshots = made;
            let (two, second) = newcomer(&world).await;
            shows_the_log(&world, &second).await;
            assert_eq!(logged(&two).await as u128, LONG);
            assert!(second.history(job(1)).await.unwrap().is_whole());
        });
    }
}

#[test]
fn a_server_that_was_restored_gets_back_what_phones_with_a_snapshot_made() {
    for new_epoch in [true, false] {
        run(move |world, clock| async move {
            let (_one, first) = long_job(&world).await;
            let backup = world.server.backup();
            // The second opens by a snapshot of what the backup does not have.
            for number in 0..10 {
                first.change(job(1), vec![step(number, "after the backup")]).await.unwrap();
            }
            first.settle(&clock).await;
            let (_two, second) = newcomer(&world).await;
            second.change(job(1), vec![note("mine")]).await.unwrap();
            shows_the_log(&world, &second).await;
            let acknowledged = world.server.log(job(1));

            world.server.restore(&backup, new_epoch);
            second.change(job(1), vec![note("not sent")]).await.unwrap();
            shows_the_log(&world, &second).await;
            assert!(second.history(job(1)).await.unwrap().is_whole(), "fetched anew, change by change");
            shows_the_log(&world, &first).await;
            shows_the_log(&world, &second).await;
            let now: Vec<String> =
                world.server.log(job(1)).into_iter().map(|logged| logged.change.text).collect();
            assert_eq!(now.len(), acknowledged.len() + 1, "each once, new epoch {new_epoch}");
            assert!(acknowledged.iter().all(|logged| now.contains(&logged.change.text)));
        });
    }
}

#[test]
fn a_log_that_forked_right_behind_a_snapshot_is_noticed_by_its_last_change() {
    run(|world, clock| async move {
        let (one, first) = long_job(&world).await;
        let backup = world.server.backup();
        first.change(job(1), vec![part("lost")]).await.unwrap();
        first.settle(&clock).await;
        let (_two, second) = newcomer(&world).await;
        one.offline(true);
        // Same epoch, and longer than before: only the content tells.
        world.server.restore(&backup, false);
        let (_three, third) = world.signed_in("mech").await;
        third.settle(&clock).await;
        third.change(job(1), vec![step(1, "one"), step(2, "two")]).await.unwrap();
        third.settle(&clock).await;
        shows_the_log(&world, &second).await;
        one.offline(false);
        shows_the_log(&world, &first).await;
        shows_the_log(&world, &second).await;
        assert_eq!(world.server.log(job(1)).len() as u128, LONG + 3);
    });
}

#[test]
fn history_is_fetched_when_asked_for_and_goes_on_where_it_was_broken_off() {
    run(|world, _| async move {
        let _first = long_job(&world).await;
        let (two, second) = newcomer(&world).await;
        let (here, all) = (0, LONG as u64);
        assert_eq!(second.history(job(1)).await.unwrap(), History { here, all });
        assert_eq!(second.recorded(job(1), 100).await.unwrap().len(), 1);
        world.server.state.borrow_mut().page = 50;
        two.offline(true);
        let offline = second.fetch_history(job(1)).await;
        assert_eq!(offline, Err(CallError::Net(NetError::Unreachable)));
        two.offline(false);
        let mut pages = 0;
        two.wire.rule(move |request| {
            pages += u32::from(request.path.contains("since="));
            (pages > 3).then_some(Fault::Lost)
        });
        assert!(second.fetch_history(job(1)).await.is_err());
        two.wire.mend();
        drop(second);
        let second = two.tab().await;
        let here = 150;
        assert_eq!(second.history(job(1)).await.unwrap(), History { here, all });
        second.change(job(1), vec![note("meanwhile")]).await.unwrap();
        shows_the_log(&world, &second).await;
        two.wire.sent.borrow_mut().clear();
        second.fetch_history(job(1)).await.unwrap();
        assert_eq!(asked(&two, "since="), 5, "three pages of eight were here");
        assert!(second.history(job(1)).await.unwrap().is_whole());
        assert_eq!(logged(&two).await as u128, LONG + 1);
        let latest = second.recorded(job(1), 100).await.unwrap();
        let seqs: Vec<u64> = latest.iter().map(|recorded| recorded.seq).collect();
        assert_eq!(seqs, (all - 98..=all + 1).rev().collect::<Vec<u64>>());
        let mine = latest[0].change.as_ref().unwrap();
        assert_eq!(Some(mine.device), second.id());
        shows_the_log(&world, &second).await;
        drop(second);
        shows_the_log(&world, &two.tab().await).await;
    });
}

/// A snapshot is the server's word; the history is what people signed.
#[test]
fn once_the_history_is_here_the_state_is_what_its_changes_say() {
    run(|world, _| async move {
        let _first = long_job(&world).await;
        let (two, second) = newcomer(&world).await;
        let key = job(1).to_string();
        let row = two.store.get(Table::Snapshots, &key).await.unwrap().unwrap();
        let other = String::from_utf8(row).unwrap().replace("\"Long\"", "\"Something else\"");
        let rows = vec![(Table::Snapshots, key, Some(other.into_bytes()))];
        two.store.commit(Batch { rows, ..Batch::default() }).await.unwrap();
        drop(second);
        let second = two.tab().await;
        let id = job(1).job().unwrap();
        assert_eq!(second.job(SHOP, id).await.unwrap().job.title.or_empty().0, "Something else");
        second.fetch_history(job(1)).await.unwrap();
        assert_eq!(*second.job(SHOP, id).await.unwrap(), world.server.fold(job(1)));
    });
}

#[test]
fn history_of_a_log_that_went_back_in_time_is_the_new_one() {
    run(|world, clock| async move {
        let (_one, first) = long_job(&world).await;
        let backup = world.server.backup();
        first.change(job(1), vec![part("lost")]).await.unwrap();
        first.settle(&clock).await;
        let (_two, second) = newcomer(&world).await;
        world.server.restore(&backup, true);
        second.fetch_history(job(1)).await.unwrap();
        assert!(second.history(job(1)).await.unwrap().is_whole());
        assert_eq!(*second.job(SHOP, job(1).job().unwrap()).await.unwrap(), world.server.fold(job(1)));
    });
}

/// Makes what the phone opened the job by look as if another version had folded it.
async fn of_another_version(phone: &Phone, readable: bool) {
    let key = job(1).to_string();
    let mut rows = Vec::new();
    for table in [Table::Logs, Table::Snapshots] {
        let row = phone.store.get(table, &key).await.unwrap().unwrap();
        let mut text = String::from_utf8(row).unwrap();
        assert!(text.contains(&shared_types::fold::name()));
        text = text.replace(&shared_types::fold::name(), "0-older");
        if !readable && table == Table::Snapshots {
            text = text.replace("\"steps\":", "\"steps\":7,\"was\":");
        }
        rows.push((table, key.clone(), Some(text.into_bytes())));
    }
    phone.store.commit(Batch { rows, ..Batch::default() }).await.unwrap();
}

#[test]
fn an_updated_app_shows_what_it_has_and_fetches_a_snapshot_of_its_own() {
    run(|world, clock| async move {
        let (_one, first) = long_job(&world).await;
        let (two, second) = newcomer(&world).await;
        second.change(job(1), vec![note("mine")]).await.unwrap();
        second.settle(&clock).await;
        drop(second);
        of_another_version(&two, true).await;
        two.offline(true);
        let second = two.tab().await;
        let id = job(1).job().unwrap();
        assert_eq!(*second.job(SHOP, id).await.unwrap(), world.server.fold(job(1)), "offline too");
        second.change(job(1), vec![note("offline")]).await.unwrap();
        first.change(job(1), vec![part("meanwhile")]).await.unwrap();
        first.settle(&clock).await;
        two.offline(false);
        two.wire.sent.borrow_mut().clear();
        shows_the_log(&world, &second).await;
        assert_eq!((asked(&two, "/snapshot"), asked(&two, "since=0")), (1, 0));
        drop(second);
        let second = two.tab().await;
        shows_the_log(&world, &second).await;
        assert_eq!(asked(&two, "/snapshot"), 1, "once is enough");
        // Its own are still here one by one.
        let backup = crate::world::server::Durable::default();
        world.server.restore(&backup, true);
        second.settle(&clock).await;
        first.settle(&clock).await;
        assert_eq!(world.server.log(job(1)).len() as u128, LONG + 3);
    });
}

#[test]
fn an_updated_app_whose_server_is_older_fetches_the_history() {
    for readable in [true, false] {
        run(move |world, _| async move {
            let _first = long_job(&world).await;
            let (two, second) = newcomer(&world).await;
            drop(second);
            of_another_version(&two, readable).await;
            world.server.state.borrow_mut().snapshots = Some(("0-older".to_owned(), 0));
            let second = two.tab().await;
            shows_the_log(&world, &second).await;
            assert!(second.history(job(1)).await.unwrap().is_whole());
            assert_eq!(logged(&two).await as u128, LONG);
            drop(second);
            shows_the_log(&world, &two.tab().await).await;
        });
    }
}

#[test]
fn thumbnails_of_a_job_opened_by_its_state_come_too() {
    run(|world, clock| async move {
        let (_one, first) = long_job(&world).await;
        let (_, digest, _) = first.add_photo(job(1), crate::photos::jpeg(50_000, 1)).await.unwrap();
        first.settle(&clock).await;
        let (two, second) = newcomer(&world).await;
        assert_eq!(asked(&two, "/snapshot"), 1);
        second.settle(&clock).await;
        assert_eq!(asked(&two, &format!("{digest}?size=thumb")), 1);
    });
}

/// What is in the state alone has no link: it is asked for, once.
#[test]
fn a_log_opened_by_its_state_that_is_as_long_as_before_with_another_content_is_noticed() {
    run(|world, clock| async move {
        let (_one, first) = long_job(&world).await;
        let (two, second) = newcomer(&world).await;
        assert_eq!(asked(&two, "/head"), 1);
        let backup = world.server.backup();
        second.change(job(1), vec![note("lost")]).await.unwrap();
        second.settle(&clock).await;
        world.server.restore(&backup, false);
        first.change(job(1), vec![part("in its place")]).await.unwrap();
        first.settle(&clock).await;
        shows_the_log(&world, &second).await;
        shows_the_log(&world, &first).await;
        assert_eq!(world.server.fold(job(1)).notes.len(), 1, "nothing is lost");
        assert_eq!(world.server.log(job(1)).len() as u128, LONG + 2);
    });
}
