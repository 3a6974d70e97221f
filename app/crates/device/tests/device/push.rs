//! The outbox on a bad line: nothing leaves it but by an answer that names it.

use device::{Batch, LocalStore as _, SyncLine, Table, TrayId};
use shared_types::api::RefusalReason;

use crate::world::{Fault, Tab, World, job, part, step, titled};

/// Makes a hundred changes offline.
async fn hundred(tab: &Tab) {
    tab.change(job(1), vec![titled("Hundred")]).await.unwrap();
    for number in 1..100 {
        tab.change(job(1), vec![step(number, &format!("step {number:03}"))]).await.unwrap();
    }
}

fn each_once(world: &World, expected: usize) {
    let mut ids: Vec<_> =
        world.server.log(job(1)).iter().map(|logged| logged.change.read().unwrap().id).collect();
    assert_eq!(ids.len(), expected);
    ids.sort();
    ids.dedup();
    assert_eq!(ids.len(), expected);
}

#[test]
fn lost_answers_and_doubled_requests_leave_each_change_in_the_log_once() {
    for fault in
        [Fault::AnswerLost, Fault::Lost, Fault::Twice, Fault::Silence, Fault::Portal, Fault::Status(503)]
    {
        let world = World::new();
        let clock = world.clock.clone();
        clock.clone().run(async move {
            let (phone, tab) = world.signed_in("mech").await;
            hundred(&tab).await;
            let mut chance = 1_u32;
            phone.wire.rule(move |_| {
                chance = chance.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                (chance >> 31 == 1).then_some(fault)
            });
            tab.settle(&clock).await;
            each_once(&world, 100);
            assert_eq!(tab.unsent_work().await.unwrap().changes, 0);
            let (_other, second) = world.signed_in("mech").await;
            second.settle(&clock).await;
            let job_id = job(1).job().unwrap();
            let (shop, folded) = (job(1).shop(), world.server.fold(job(1)));
            assert_eq!(*second.job(shop, job_id).await.unwrap(), folded);
            assert_eq!(*tab.job(shop, job_id).await.unwrap(), folded, "after {fault:?}");
        });
    }
}

#[test]
fn one_refused_in_the_middle_of_a_hundred_goes_to_the_tray_and_the_rest_goes_on() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (_phone, tab) = world.signed_in("mech").await;
        hundred(&tab).await;
        world.server.state.borrow_mut().refuses = Some("step 050".to_owned());
        tab.settle(&clock).await;
        each_once(&world, 99);
        let state = tab.sync_state();
        assert_eq!((state.changes_to_send, state.refused), (0, 1));
        let tray = tab.tray().await.unwrap();
        assert_eq!(tray.len(), 1);
        assert_eq!(tray[0].reason, RefusalReason::NotPermitted);
        let TrayId::Change(id) = tray[0].id else { panic!("a change was refused") };
        let (shop, job_id) = (job(1).shop(), job(1).job().unwrap());
        let shown = tab.job(shop, job_id).await.unwrap();
        assert_eq!(shown.steps.len(), 98, "what was refused is not shown as if it were there");
        assert_eq!(*shown, world.server.fold(job(1)));

        // Dropped and taken back.
        tab.drop_refused(tray[0].id, true).await.unwrap();
        assert_eq!(tab.sync_state().refused, 0);
        tab.drop_refused(tray[0].id, false).await.unwrap();
        assert_eq!(tab.sync_state().refused, 1);
        let exported = tab.export_refused(tray[0].id).await.unwrap();
        assert!(exported.to_string().contains("step 050"));

        // Tried again as it is: refused again. Corrected: taken.
        tab.retry_refused(tray[0].id).await.unwrap();
        tab.settle(&clock).await;
        let tray = tab.tray().await.unwrap();
        assert_eq!(tray.len(), 1);
        assert_ne!(tray[0].id, TrayId::Change(id), "a new change");
        let TrayId::Change(id) = tray[0].id else { panic!("a change was refused") };
        tab.correct_refused(id, step(50, "step fifty")).await.unwrap();
        tab.settle(&clock).await;
        assert!(tab.tray().await.unwrap().is_empty());
        each_once(&world, 100);
    });
}

#[test]
fn no_status_but_an_answer_by_name_empties_the_outbox() {
    for status in [400, 403, 404, 405, 408, 409, 413, 422, 429, 500, 502, 503, 507] {
        let world = World::new();
        let clock = world.clock.clone();
        clock.clone().run(async move {
            let (phone, tab) = world.signed_in("mech").await;
            tab.change(job(1), vec![titled("One"), part("two")]).await.unwrap();
            tab.change(job(2), vec![titled("Other")]).await.unwrap();
            // This job's log alone is in trouble.
            let path = format!("{}/changes", job(1).job().unwrap());
            phone.wire.rule(move |request| request.path.contains(&path).then_some(Fault::Status(status)));
            tab.sync_once().await;
            let (waiting, tray) = (tab.waiting(10).await.unwrap(), tab.tray().await.unwrap());
            let held = waiting.iter().filter(|waiting| waiting.log == job(1)).count();
            assert_eq!(held + tray.len(), 2, "nothing is lost at {status}");
            if (400..500).contains(&status) && ![408, 429].contains(&status) {
                assert_eq!(world.server.log(job(2)).len(), 1, "the other job goes on at {status}");
            }
            phone.wire.mend();
            for item in tray {
                tab.retry_refused(item.id).await.unwrap();
            }
            tab.settle(&clock).await;
            assert_eq!(
                (world.server.log(job(1)).len(), world.server.log(job(2)).len()),
                (2, 1),
                "at {status}"
            );
        });
    }
}

#[test]
fn a_log_that_takes_nothing_says_why_and_is_tried_again() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, tab) = world.signed_in("mech").await;
        tab.change(job(1), vec![titled("One")]).await.unwrap();
        phone.wire.fail("/changes", 100, Fault::Status(404));
        tab.sync_once().await;
        assert_eq!(tab.sync_state().line, SyncLine::Problem("told to".into()));
        let waiting = tab.waiting(10).await.unwrap();
        assert_eq!(waiting[0].why.as_deref(), Some("told to"));
        phone.wire.mend();
        tab.settle(&clock).await;
    });
}

#[test]
fn a_push_that_is_too_large_is_split_and_one_bad_change_is_found() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, tab) = world.signed_in("mech").await;
        hundred(&tab).await;
        // The server chokes on any push that holds step 77, and on any of more than 20 changes.
        phone.wire.rule(|request| {
            let device::Body::Json(text) = &request.body else { return None };
            let many = text.matches("signature").count() > 20;
            (many || text.contains("step 077")).then_some(Fault::Status(if many { 413 } else { 400 }))
        });
        tab.settle(&clock).await;
        each_once(&world, 99);
        let tray = tab.tray().await.unwrap();
        assert_eq!(tray.len(), 1);
        assert_eq!(tray[0].reason, RefusalReason::Malformed);
    });
}

#[test]
fn an_overloaded_server_is_left_alone_as_long_as_it_asks() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, tab) = world.signed_in("mech").await;
        tab.change(job(1), vec![titled("One")]).await.unwrap();
        phone.wire.fail("/changes", 1, Fault::Status(429));
        let runner = tab.clone();
        let started = clock.now();
        let run = async move { runner.run().await };
        let watch = async {
            while tab.sync_state().line != SyncLine::AllSent {
                clock.sleep(100).await;
            }
        };
        futures::future::select(Box::pin(run), Box::pin(watch)).await;
        let waited = clock.now() - started;
        assert!((7_000..10_000).contains(&waited), "asked for 7 s, waited {waited} ms");
    });
}

#[test]
fn others_see_how_much_is_still_on_the_phone() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (_phone, tab) = world.signed_in("mech").await;
        hundred(&tab).await;
        tab.settle(&clock).await;
        assert_eq!(world.server.state.borrow().pending_seen, 100);
    });
}

#[test]
fn one_log_that_the_server_stumbles_over_keeps_neither_the_other_logs_nor_their_photos() {
    for status in [500, 502, 503, 504, 507] {
        let world = World::new();
        let clock = world.clock.clone();
        clock.clone().run(async move {
            let (_other, second) = world.signed_in("mech").await;
            second.change(job(3), vec![titled("By another")]).await.unwrap();
            second.settle(&clock).await;
            let (phone, tab) = world.signed_in("mech").await;
            tab.change(job(1), vec![titled("Stumbles")]).await.unwrap();
            tab.change(job(2), vec![titled("Goes on")]).await.unwrap();
            let photo = crate::photos::jpeg(300_000, 1);
            let (_, digest, _) = tab.add_photo(job(2), photo).await.unwrap();
            let path = format!("{}/changes", job(1).job().unwrap());
            let (tries, fails) = (std::rc::Rc::new(std::cell::Cell::new(0)), std::rc::Rc::default());
            let (count, fail) =
                (std::rc::Rc::clone(&tries), std::rc::Rc::<std::cell::Cell<bool>>::clone(&fails));
            fail.set(true);
            phone.wire.rule(move |request| {
                let met = fails.get() && request.path.ends_with(&path);
                count.set(count.get() + u32::from(met));
                met.then_some(Fault::Status(status))
            });
            let runner = tab.clone();
            let story = async {
                clock.sleep(20_000).await;
                assert_eq!(world.server.log(job(2)).len(), 2, "the other log went on at {status}");
                assert!(world.server.photo(digest).is_some(), "and its photo");
                assert_eq!(tab.jobs().await.unwrap().len(), 3, "and what others made came");
                let waiting = tab.waiting(10).await.unwrap();
                assert_eq!((waiting.len(), waiting[0].why.as_deref()), (1, Some("told to")));
                assert!(matches!(tab.sync_state().line, SyncLine::Problem(_)));
                // Work of other logs goes out at once, and does not wait for this one.
                tab.change(job(2), vec![part("meanwhile")]).await.unwrap();
                clock.sleep(500).await;
                assert_eq!(world.server.log(job(2)).len(), 3);
                clock.sleep(600_000).await;
                let tried = tries.get();
                assert!((10..80).contains(&tried), "less and less often, not {tried} times in ten minutes");
                fail.set(false);
                clock.sleep(60_000).await;
                assert_eq!(world.server.log(job(1)).len(), 1, "by itself");
                assert_eq!(tab.sync_state().line, SyncLine::AllSent);
            };
            futures::future::select(Box::pin(async move { runner.run().await }), Box::pin(story)).await;
        });
    }
}

#[test]
fn a_server_that_takes_nothing_is_not_asked_for_every_log() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, tab) = world.signed_in("mech").await;
        for number in 1..30 {
            tab.change(job(number), vec![titled("One of many")]).await.unwrap();
        }
        phone.wire.fail("", u32::MAX, Fault::Status(500));
        phone.wire.sent.borrow_mut().clear();
        tab.sync_once().await;
        assert_eq!(phone.wire.sent.borrow().len(), 3, "{:?}", phone.wire.sent.borrow());
        phone.wire.mend();
        tab.kick();
        tab.settle(&clock).await;
    });
}

#[test]
fn a_row_that_can_t_be_read_is_put_aside_and_everything_else_goes_on() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, tab) = world.signed_in("mech").await;
        phone.offline(true);
        tab.change(job(1), vec![titled("Before"), part("whole")]).await.unwrap();
        tab.change(job(2), vec![titled("Other")]).await.unwrap();
        let rows = phone.store.rows(Table::Outbox, "", None, 10).await.unwrap();
        let user = rows[0].0.split('|').next().unwrap().to_owned();
        let mut batch = Batch::default();
        batch.rows.push((Table::Outbox, rows[0].0.clone(), Some(b"{\"text\":\"half".to_vec())));
        batch.rows.push((Table::Outbox, format!("{user}|nonsense"), Some(vec![0xff, 0xfe])));
        batch.rows.push((Table::Uploads, format!("{user}|{}|x", job(1)), Some(b"[]".to_vec())));
        phone.store.commit(batch).await.unwrap();
        drop(tab);
        let tab = phone.tab().await;
        // The job opens, the list is there, and so is the export.
        let shown = tab.job(job(1).shop(), job(1).job().unwrap()).await.unwrap();
        assert_eq!(shown.job.part.or_empty().0, "whole");
        assert_eq!(tab.waiting(10).await.unwrap().len(), 2);
        let mut file = Vec::new();
        tab.export_unsent(|piece| file.extend(piece)).await.unwrap();
        assert!(String::from_utf8(file).unwrap().contains("half"), "it is in the file as it was");
        phone.offline(false);
        tab.settle(&clock).await;
        assert_eq!((world.server.log(job(1)).len(), world.server.log(job(2)).len()), (1, 1));
        let tray = tab.tray().await.unwrap();
        assert_eq!(tray.len(), 3);
        let mut texts = Vec::new();
        for item in &tray {
            assert!(matches!(item.id, TrayId::Row(_)) && item.change.is_none());
            texts.push(String::from_utf8(tab.save_refused(item.id).await.unwrap().bytes).unwrap());
            assert!(tab.retry_refused(item.id).await.is_err(), "nobody can send it");
        }
        assert!(texts.iter().any(|text| text.contains("half")), "{texts:?}");
        assert!(texts.iter().any(|text| text.contains("base64://4=")), "{texts:?}");
        assert_eq!(tab.sync_state().refused, 3);
        tab.drop_refused(tray[0].id, true).await.unwrap();
        assert_eq!(tab.sync_state().refused, 2);
    });
}
