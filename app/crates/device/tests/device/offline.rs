//! Work without a network, and what is there when the app is opened again.

use device::{LocalError, SyncLine};
use shared_types::body::Known;
use shared_types::job::JobPatch;
use shared_types::rules::Denied;

use crate::world::{World, job, part, step, titled};

#[test]
fn what_was_made_offline_is_there_after_a_cold_start_and_goes_out_when_there_is_contact() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, tab) = world.signed_in("mech").await;
        phone.offline(true);
        let log = job(1);
        tab.change(log, vec![titled("Tip fairing"), part("flange"), step(7, "Strip paint")]).await.unwrap();
        tab.sync_once().await;
        assert_eq!(tab.sync_state().line, SyncLine::Offline);
        drop(tab);

        let tab = phone.tab().await;
        assert_eq!(tab.me().unwrap().login, "mech");
        let jobs = tab.jobs().await.unwrap();
        assert_eq!(jobs.len(), 1);
        assert_eq!((jobs[0].summary.title.as_str(), jobs[0].unsent_changes), ("Tip fairing", 3));
        let state = tab.job(jobs[0].shop, jobs[0].job).await.unwrap();
        assert_eq!(state.job.part.or_empty().0, "flange");
        assert_eq!(state.steps.len(), 1);
        assert_eq!(tab.sync_state().changes_to_send, 3);

        phone.offline(false);
        tab.settle(&clock).await;
        assert_eq!(tab.jobs().await.unwrap()[0].unsent_changes, 0);
        let logged = world.server.log(log);
        assert_eq!(logged.len(), 3);
        // Each change names the one before it.
        let second = logged[1].change.read().unwrap();
        assert_eq!(second.previous, Some(logged[0].change.digest()));
        assert_eq!(*tab.job(jobs[0].shop, jobs[0].job).await.unwrap(), world.server.fold(log));
    });
}

#[test]
fn undo_takes_changes_back_in_the_reverse_order() {
    let world = World::new();
    world.clock.clone().run(async move {
        let (_phone, tab) = world.signed_in("mech").await;
        let log = job(1);
        tab.change(log, vec![titled("First")]).await.unwrap();
        let undo = tab.change(log, vec![titled("Second"), titled("Third"), step(7, "Strip")]).await.unwrap();
        let redo = tab.change(log, undo).await.unwrap();
        let (shop, id) = (log.shop(), log.job().unwrap());
        let state = tab.job(shop, id).await.unwrap();
        assert_eq!(state.job.title.or_empty().0, "First");
        assert!(state.steps_in_order().is_empty(), "a step added is taken out of use");
        tab.change(log, redo).await.unwrap();
        let state = tab.job(shop, id).await.unwrap();
        assert_eq!(state.job.title.or_empty().0, "Third");
        assert_eq!(state.steps_in_order().len(), 1);
    });
}

#[test]
fn what_the_server_would_refuse_is_refused_at_once_with_the_field_and_saves_nothing() {
    let world = World::new();
    world.clock.clone().run(async move {
        let (_phone, inspector) = world.signed_in("insp").await;
        let refused = inspector.change(job(1), vec![titled("Mine")]).await;
        assert!(matches!(refused, Err(LocalError::Denied(Denied::Role(_)))), "{refused:?}");

        let (_phone, tab) = world.signed_in("mech").await;
        let long = "x".repeat(500);
        let refused = tab.change(job(1), vec![part("fine"), titled(&long)]).await;
        let Err(LocalError::OutOfLimits(problems)) = &refused else { panic!("{refused:?}") };
        assert_eq!(problems[0].field, "title");
        let in_shop = tab.change(shared_types::ids::LogId::Shop(crate::world::SHOP), vec![titled("x")]).await;
        assert!(matches!(in_shop, Err(LocalError::Denied(Denied::WrongLog))), "{in_shop:?}");
        assert_eq!(tab.sync_state().changes_to_send, 0);
        assert!(tab.jobs().await.unwrap().is_empty());

        let nobody = world.phone().tab().await;
        assert_eq!(nobody.change(job(1), vec![titled("x")]).await, Err(LocalError::NotSignedIn));
    });
}

#[test]
fn a_change_that_is_too_long_to_be_sent_is_refused() {
    let world = World::new();
    world.clock.clone().run(async move {
        let (_phone, tab) = world.signed_in("mech").await;
        // Within each field's limit, but beyond what one change may carry.
        let wide = "\u{1F6E9}".repeat(9_000);
        let set = JobPatch {
            discrepancy: Some(wide.as_str().into()),
            closing_statement: Some(wide.as_str().into()),
            ..JobPatch::default()
        };
        let refused = tab.change(job(1), vec![Known::Job(shared_types::body::The { set })]).await;
        assert!(matches!(refused, Err(LocalError::TooLong { .. })), "{refused:?}");
    });
}

#[test]
fn drafts_survive_a_killed_tab_and_are_one_person_s() {
    let world = World::new();
    world.clock.clone().run(async move {
        let (phone, tab) = world.signed_in("mech").await;
        tab.keep_draft("job/1/note", "half a sent").await.unwrap();
        drop(tab);
        let tab = phone.tab().await;
        assert_eq!(tab.draft("job/1/note").await.unwrap().as_deref(), Some("half a sent"));
        tab.sign_in("insp", "secret", "phone").await.unwrap();
        assert_eq!(tab.draft("job/1/note").await.unwrap(), None);
        tab.sign_in("mech", "secret", "phone").await.unwrap();
        tab.keep_draft("job/1/note", "").await.unwrap();
        assert_eq!(tab.draft("job/1/note").await.unwrap(), None);
    });
}

#[test]
fn a_store_that_was_emptied_is_noticed() {
    let world = World::new();
    world.clock.clone().run(async move {
        let (mut phone, tab) = world.signed_in("mech").await;
        phone.offline(true);
        tab.change(job(1), vec![titled("Lost"), part("for ever")]).await.unwrap();
        let id = tab.id();
        drop(tab);
        phone.store = crate::world::store::Rows::default();
        phone.offline(false);
        let tab = phone.tab().await;
        assert_eq!(tab.lost_work(), Some(2));
        assert_eq!(tab.me(), None);
        tab.sign_in("mech", "secret", "phone").await.unwrap();
        assert_ne!(tab.id(), id, "an emptied phone is another device");
    });
}
