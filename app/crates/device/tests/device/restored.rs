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
