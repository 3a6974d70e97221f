//! A server that was restored from a backup: what it lost comes back from the phones, with nobody's help.

use crate::world::{SHOP, Tab, World, job, part, step, titled};

async fn same_everywhere(world: &World, tabs: &[&Tab]) {
    for _ in 0..3 {
        for tab in tabs {
            tab.settle(&world.clock).await;
        }
    }
    let folded = world.server.fold(job(1));
    for tab in tabs {
        assert_eq!(*tab.job(SHOP, job(1).job().unwrap()).await.unwrap(), folded);
    }
}

#[test]
fn phones_push_again_what_the_server_lost() {
    for new_epoch in [true, false] {
        let world = World::new();
        let clock = world.clock.clone();
        clock.clone().run(async move {
            let (_one, first) = world.signed_in("mech").await;
            let (_two, second) = world.signed_in("mech").await;
            first.change(job(1), vec![titled("Night"), part("before the backup")]).await.unwrap();
            same_everywhere(&world, &[&first, &second]).await;
            let backup = world.server.backup();
            for number in 0..20 {
                first.change(job(1), vec![step(number, "by the first")]).await.unwrap();
                second.change(job(1), vec![step(100 + number, "by the second")]).await.unwrap();
            }
            second.change(job(2), vec![titled("Whole job after the backup")]).await.unwrap();
            same_everywhere(&world, &[&first, &second]).await;
            let acknowledged: Vec<_> =
                world.server.log(job(1)).into_iter().map(|logged| logged.change.text).collect();
            assert_eq!(acknowledged.len(), 42);

            world.server.restore(&backup, new_epoch);
            // Somebody works on before the phones notice.
            let (_three, third) = world.signed_in("mech").await;
            third.change(job(1), vec![part("after the restore")]).await.unwrap();
            third.settle(&clock).await;
            second.change(job(1), vec![part("not yet sent")]).await.unwrap();
            same_everywhere(&world, &[&first, &second, &third]).await;
            let now: Vec<_> = world.server.log(job(1)).into_iter().map(|logged| logged.change.text).collect();
            assert_eq!(now.len(), 44, "each once, new epoch {new_epoch}");
            assert!(acknowledged.iter().all(|text| now.contains(text)), "to the letter");
            assert_eq!(world.server.log(job(2)).len(), 1);
            assert_eq!(first.unsent_work().await.unwrap().changes, 0);
        });
    }
}

#[test]
fn a_log_that_forked_unnoticed_is_noticed_by_its_last_change() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (_one, first) = world.signed_in("mech").await;
        let (_two, second) = world.signed_in("mech").await;
        first.change(job(1), vec![titled("Common")]).await.unwrap();
        same_everywhere(&world, &[&first, &second]).await;
        let backup = world.server.backup();
        first.change(job(1), vec![part("lost")]).await.unwrap();
        first.settle(&clock).await;
        // Same epoch, and as long as before or longer: only the content tells.
        world.server.restore(&backup, false);
        second.change(job(1), vec![step(1, "one"), step(2, "two")]).await.unwrap();
        second.settle(&clock).await;
        same_everywhere(&world, &[&first, &second]).await;
        assert_eq!(world.server.log(job(1)).len(), 4);
    });
}

#[test]
fn a_lost_phone_s_changes_are_kept_by_the_others_and_leave_with_them_as_a_file() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (_one, first) = world.signed_in("mech").await;
        let (_two, second) = world.signed_in("insp").await;
        first.change(job(1), vec![titled("Common")]).await.unwrap();
        same_everywhere(&world, &[&first, &second]).await;
        let backup = world.server.backup();
        first.change(job(1), vec![part("only in the second one's memory")]).await.unwrap();
        same_everywhere(&world, &[&first, &second]).await;
        world.server.restore(&backup, true);
        // The first phone is gone for ever.
        second.settle(&clock).await;
        let folded = world.server.fold(job(1));
        assert_eq!(*second.job(SHOP, job(1).job().unwrap()).await.unwrap(), folded);
        let mut file = Vec::new();
        second.export_unsent(|piece| file.extend(piece)).await.unwrap();
        assert!(String::from_utf8(file).unwrap().contains("only in the second one's memory"));
        // Should it come back after all, nothing is kept apart any longer.
        first.settle(&clock).await;
        second.settle(&clock).await;
        let mut file = Vec::new();
        second.export_unsent(|piece| file.extend(piece)).await.unwrap();
        assert!(!String::from_utf8(file).unwrap().contains("only in the second one's memory"));
    });
}

#[test]
fn photos_that_went_with_the_backup_are_sent_again() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (_one, first) = world.signed_in("mech").await;
        first.change(job(1), vec![titled("Photos")]).await.unwrap();
        first.settle(&clock).await;
        let backup = world.server.backup();
        let (_, digest, _) = first.add_photo(job(1), crate::photos::jpeg(900_000, 1)).await.unwrap();
        first.settle(&clock).await;
        assert!(world.server.photo(digest).is_some());
        world.server.restore(&backup, true);
        assert!(world.server.photo(digest).is_none());
        first.settle(&clock).await;
        assert!(world.server.photo(digest).is_some());
        assert!(first.is_on_server(digest).await.unwrap());
    });
}

#[test]
fn a_restore_in_the_middle_of_fetching_anew_starts_that_over() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (one, first) = world.signed_in("mech").await;
        for number in 0..60 {
            first.change(job(1), vec![step(number, "step")]).await.unwrap();
        }
        first.settle(&clock).await;
        let backup = world.server.backup();
        for number in 60..120 {
            first.change(job(1), vec![step(number, "step")]).await.unwrap();
        }
        first.settle(&clock).await;
        world.server.state.borrow_mut().page = 10;
        world.server.restore(&backup, true);
        let (server, mut pages) = (world.server.clone(), 0);
        one.wire.rule(move |request| {
            pages += u32::from(request.path.contains("since="));
            if pages == 4 {
                pages += 1;
                server.restore(&backup, true);
            }
            None
        });
        first.settle(&clock).await;
        first.settle(&clock).await;
        assert_eq!(world.server.log(job(1)).len(), 120);
        assert_eq!(*first.job(SHOP, job(1).job().unwrap()).await.unwrap(), world.server.fold(job(1)));
    });
}

/// The database file was put back as it was: the epoch is the same, and the log as long as before.
#[test]
fn a_log_that_is_as_long_as_before_with_another_content_is_noticed() {
    // What the phone that lost something does meanwhile.
    for more in [0, 1, 3] {
        let world = World::new();
        let clock = world.clock.clone();
        clock.clone().run(async move {
            let (_one, first) = world.signed_in("mech").await;
            let (_two, second) = world.signed_in("mech").await;
            first.change(job(1), vec![titled("Common")]).await.unwrap();
            same_everywhere(&world, &[&first, &second]).await;
            let backup = world.server.backup();
            first.change(job(1), vec![step(1, "lost")]).await.unwrap();
            first.settle(&clock).await;
            world.server.restore(&backup, false);
            second.change(job(1), vec![step(2, "in its place")]).await.unwrap();
            second.settle(&clock).await;
            for number in 0..more {
                first.change(job(1), vec![step(10 + number, "not yet sent")]).await.unwrap();
            }
            same_everywhere(&world, &[&first, &second]).await;
            let folded = world.server.fold(job(1));
            assert_eq!(folded.steps.len() as u128, 2 + more, "nothing is lost");
            assert_eq!(world.server.log(job(1)).len() as u128, 3 + more, "each once");
        });
    }
}

#[test]
fn a_log_that_differs_in_its_middle_and_ends_alike_is_noticed() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (_one, first) = world.signed_in("mech").await;
        let (_two, second) = world.signed_in("mech").await;
        first.change(job(1), vec![titled("Common")]).await.unwrap();
        same_everywhere(&world, &[&first, &second]).await;
        let backup = world.server.backup();
        first.change(job(1), vec![step(1, "lost")]).await.unwrap();
        first.settle(&clock).await;
        second.change(job(1), vec![step(2, "lost and sent again")]).await.unwrap();
        same_everywhere(&world, &[&second, &first]).await;
        world.server.restore(&backup, false);
        let (_three, third) = world.signed_in("mech").await;
        third.change(job(1), vec![step(3, "in its place")]).await.unwrap();
        third.settle(&clock).await;
        second.settle(&clock).await;
        same_everywhere(&world, &[&second, &first, &third]).await;
        assert_eq!(world.server.log(job(1)).len(), 4);
    });
}

#[test]
fn the_link_is_kept_through_pushes_and_pulls_and_fetches_nothing_anew() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (one, first) = world.signed_in("mech").await;
        let (two, second) = world.signed_in("mech").await;
        world.server.state.borrow_mut().page = 7;
        for round in 0..10 {
            for number in 0..5 {
                first.change(job(1), vec![step(round * 5 + number, "first")]).await.unwrap();
                second.change(job(1), vec![step(100 + round * 5 + number, "second")]).await.unwrap();
            }
            one.wire.fail("/changes", 1, crate::world::Fault::AnswerLost);
            same_everywhere(&world, &[&first, &second]).await;
        }
        for phone in [&one, &two] {
            let anew = phone.wire.sent.borrow().iter().filter(|sent| sent.ends_with("since=0")).count();
            assert!(anew <= 1, "from the beginning once, at first, not {anew} times");
            let asked = phone.wire.sent.borrow().iter().filter(|sent| sent.ends_with("/head")).count();
            assert_eq!(asked, 0, "it follows from what is here");
        }
    });
}

/// Its place was acknowledged, but others' changes before it were not fetched yet.
#[test]
fn an_own_change_far_ahead_of_what_was_fetched_is_missed_too() {
    for others in [0, 1, 2, 3] {
        let world = World::new();
        let clock = world.clock.clone();
        clock.clone().run(async move {
            let (one, first) = world.signed_in("mech").await;
            let (_two, second) = world.signed_in("mech").await;
            first.change(job(1), vec![titled("Common")]).await.unwrap();
            same_everywhere(&world, &[&first, &second]).await;
            second.change(job(1), vec![step(1, "not seen by the first")]).await.unwrap();
            second.settle(&clock).await;
            let backup = world.server.backup();
            // The push goes through, and nothing else.
            let mut pushed = false;
            one.wire.rule(move |request| {
                let push = request.method == device::Method::Post && request.path.ends_with("/changes");
                let fault = (pushed || !push).then_some(crate::world::Fault::Lost);
                pushed |= push;
                fault
            });
            first.change(job(1), vec![step(2, "acknowledged")]).await.unwrap();
            first.sync_once().await;
            assert_eq!(world.server.log(job(1)).len(), 3);
            world.server.restore(&backup, false);
            for number in 0..others {
                second.change(job(1), vec![step(10 + number, "after the restore")]).await.unwrap();
            }
            second.sync_once().await;
            one.wire.mend();
            same_everywhere(&world, &[&first, &second]).await;
            assert_eq!(world.server.log(job(1)).len() as u128, 3 + others, "nothing is lost");
        });
    }
}
