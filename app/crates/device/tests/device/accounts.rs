//! Sessions that end, people who share a phone, roles that change.

use device::{CallError, LocalError, SignOutError, SyncLine, Unsent};
use shared_types::shop::Role;

use crate::world::{Fault, World, job, part, titled};

#[test]
fn an_access_token_that_ended_is_renewed_once_and_unseen() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, tab) = world.signed_in("mech").await;
        tab.change(job(1), vec![titled("One")]).await.unwrap();
        world.server.expire(false);
        phone.wire.sent.borrow_mut().clear();
        tab.settle(&clock).await;
        let refreshes = phone.wire.sent.borrow().iter().filter(|sent| sent.contains("refresh")).count();
        assert_eq!(refreshes, 1);
        // One that is about to end is renewed before it is used.
        clock.sleep(u32::try_from(crate::world::server::TOKEN_LIFE).unwrap() - 10_000).await;
        phone.wire.sent.borrow_mut().clear();
        tab.sync_once().await;
        assert!(phone.wire.sent.borrow()[0].contains("refresh"));
    });
}

#[test]
fn a_session_that_is_over_pauses_the_outbox_and_signing_in_sends_it() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, tab) = world.signed_in("mech").await;
        for number in 0..50 {
            tab.change(job(1), vec![part(&format!("part {number}"))]).await.unwrap();
        }
        world.server.expire(true);
        tab.sync_once().await;
        assert_eq!(tab.sync_state().line, SyncLine::SignInNeeded);
        tab.change(job(1), vec![part("work goes on")]).await.unwrap();
        assert_eq!(tab.sync_state().changes_to_send, 51);
        drop(tab);
        let tab = phone.tab().await;
        assert_eq!(tab.sync_state().changes_to_send, 51);
        assert!(matches!(tab.sign_in("mech", "wrong", "phone").await, Err(CallError::Refused(_))));
        tab.sign_in("mech", "secret", "phone").await.unwrap();
        tab.settle(&clock).await;
        assert_eq!(world.server.log(job(1)).len(), 51);
    });
}

#[test]
fn another_person_on_the_same_phone_neither_sends_nor_sees_the_first_one_s_work() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        world.server.add_person("second", "Second", &[Role::Mechanic]);
        let (phone, tab) = world.signed_in("mech").await;
        tab.change(job(1), vec![titled("Sent")]).await.unwrap();
        tab.settle(&clock).await;
        phone.offline(true);
        tab.change(job(2), vec![titled("First one's")]).await.unwrap();
        let device = tab.id();
        phone.offline(false);

        tab.sign_in("second", "secret", "phone").await.unwrap();
        assert_ne!(tab.id(), device, "one person, one device id");
        assert_eq!(tab.sync_state().changes_to_send, 0);
        tab.settle(&clock).await;
        assert!(world.server.log(job(2)).is_empty(), "nothing of the first one's was sent");
        let titles: Vec<_> = tab.jobs().await.unwrap().into_iter().map(|row| row.summary.title).collect();
        assert_eq!(titles, ["Sent"], "nor shown");
        let locked = tab.locked_work().await.unwrap();
        assert_eq!((locked[0].login.as_str(), locked[0].changes), ("mech", 1));

        tab.sign_in("mech", "secret", "phone").await.unwrap();
        assert_eq!(tab.id(), device);
        assert_eq!(tab.jobs().await.unwrap().len(), 1, "their own is listed before anything is fetched");
        tab.settle(&clock).await;
        assert_eq!(world.server.log(job(2)).len(), 1);
        assert!(tab.locked_work().await.unwrap().is_empty());
    });
}

#[test]
fn a_cookie_of_another_person_is_never_used_for_this_one_s_work() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, tab) = world.signed_in("mech").await;
        tab.change(job(1), vec![titled("Mine")]).await.unwrap();
        let (other, _second) = world.signed_in("insp").await;
        *phone.wire.cookie.borrow_mut() = other.wire.cookie.borrow().clone();
        world.server.expire(false);
        tab.sync_once().await;
        assert_eq!(tab.sync_state().line, SyncLine::SignInNeeded);
        assert!(world.server.log(job(1)).is_empty());
        assert_eq!(tab.sync_state().changes_to_send, 1);
    });
}

#[test]
fn signing_out_warns_of_unsent_work_and_never_deletes_it() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, tab) = world.signed_in("mech").await;
        tab.change(job(1), vec![titled("One")]).await.unwrap();
        let warned = tab.sign_out(Unsent::Warn).await;
        let Err(SignOutError::UnsentWork(work)) = warned else { panic!("{warned:?}") };
        assert_eq!(work.changes, 1);
        assert!(tab.me().is_some());
        phone.offline(true);
        tab.sign_out(Unsent::KeepLocked).await.unwrap();
        assert!(tab.me().is_none());
        assert!(tab.jobs().await.unwrap().is_empty());
        assert_eq!(tab.job(job(1).shop(), job(1).job().unwrap()).await.unwrap().job.created_title(), "");
        assert_eq!(tab.locked_work().await.unwrap()[0].changes, 1);
        assert_eq!(world.server.sessions(), 1, "the server could not be told");
        drop(tab);
        let tab = phone.tab().await;
        phone.offline(false);
        tab.sync_once().await;
        assert_eq!(world.server.sessions(), 0, "told as soon as there was contact");
        tab.sign_in("mech", "secret", "phone").await.unwrap();
        tab.settle(&clock).await;
        assert_eq!(world.server.log(job(1)).len(), 1);
        tab.sign_out(Unsent::Warn).await.unwrap();
        assert!(tab.locked_work().await.unwrap().is_empty());
    });
}

trait CreatedTitle {
    fn created_title(&self) -> String;
}

impl CreatedTitle for shared_types::job::Job {
    fn created_title(&self) -> String {
        self.title.or_empty().0
    }
}

#[test]
fn rights_withdrawn_while_offline_put_the_work_into_the_tray_and_a_new_role_is_learnt() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (_phone, tab) = world.signed_in("mech").await;
        tab.change(job(1), vec![titled("Late")]).await.unwrap();
        world.server.set_roles("mech", &[Role::Observer]);
        tab.settle(&clock).await;
        assert_eq!(tab.tray().await.unwrap().len(), 1);
        let refused = tab.change(job(1), vec![titled("Again")]).await;
        assert!(matches!(refused, Err(LocalError::Denied(_))), "the device knows the new role: {refused:?}");
        world.server.set_roles("mech", &[]);
        tab.sync_once().await;
        assert!(tab.me().unwrap().shops.is_empty());
        world.server.set_roles("mech", &[Role::Mechanic]);
        tab.sync_once().await;
        let item = tab.tray().await.unwrap()[0].id;
        tab.retry_refused(item).await.unwrap();
        tab.settle(&clock).await;
        assert_eq!(world.server.log(job(1)).len(), 1);
    });
}

#[test]
fn a_device_id_that_is_taken_by_another_key_is_given_up() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, tab) = world.signed_in("mech").await;
        tab.sign_out(Unsent::Warn).await.unwrap();
        phone.wire.fail("sign-in", 1, Fault::Status(409));
        let refused = tab.sign_in("mech", "secret", "phone").await;
        assert!(refused.is_err(), "409 without the code `conflict` is no such case");
        // The same store on another phone: the same id, another key.
        let mut copy = world.phone();
        copy.store = phone.store.clone();
        let copied = copy.tab().await;
        copied.sign_in("mech", "secret", "copied phone").await.unwrap();
        copied.change(job(1), vec![titled("From the copy")]).await.unwrap();
        copied.settle(&clock).await;
        assert_eq!(world.server.log(job(1)).len(), 1);
        assert!(copied.tray().await.unwrap().is_empty());
    });
}

#[test]
fn joining_makes_an_account_and_signs_in() {
    let world = World::new();
    world.clock.clone().run(async move {
        let tab = world.phone().tab().await;
        let me = tab.join("invitation", "new", "New Mechanic", "secret", "phone").await.unwrap();
        assert_eq!(me.name, "New Mechanic");
        assert_eq!(tab.me(), Some(me));
    });
}

#[test]
fn another_person_who_signs_in_during_an_upload_does_not_carry_it_on() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let other = world.server.add_person("second", "Second", &[Role::Mechanic]);
        let (_phone, tab) = world.signed_in("mech").await;
        tab.add_photo(job(1), crate::photos::jpeg(3_000_000, 1)).await.unwrap();
        let meanwhile = async {
            while tab.sync_state().bytes_sent == 0 {
                clock.sleep(10).await;
            }
            tab.sign_in("second", "secret", "phone").await.unwrap();
        };
        futures::join!(tab.sync_once(), meanwhile);
        tab.settle(&clock).await;
        let photographers = world.server.state.borrow().photographers.clone();
        assert!(!photographers.contains(&other) && !photographers.is_empty());
        assert_eq!(tab.locked_work().await.unwrap()[0].photos, 1);
    });
}

/// What a restored server lost, and this phone kept of somebody else's.
async fn kept_of_another(world: &World) -> (crate::world::Phone, crate::world::Tab, crate::world::Tab) {
    let clock = world.clock.clone();
    world.server.add_person("second", "Second", &[Role::Mechanic]);
    let (_gone, author) = world.signed_in("mech").await;
    author.change(job(1), vec![titled("Common")]).await.unwrap();
    author.settle(&clock).await;
    let backup = world.server.backup();
    author.change(job(1), vec![part("the last copy")]).await.unwrap();
    author.settle(&clock).await;
    let (phone, keeper) = world.signed_in("second").await;
    keeper.settle(&clock).await;
    world.server.restore(&backup, true);
    keeper.settle(&clock).await;
    (phone, keeper, author)
}

#[test]
fn signing_out_warns_of_what_others_lost_and_keeps_it() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, tab, author) = kept_of_another(&world).await;
        assert_eq!((tab.sync_state().strays, tab.strays().await.unwrap().len()), (1, 1));
        let warned = tab.sign_out(Unsent::Warn).await;
        let Err(SignOutError::UnsentWork(work)) = warned else { panic!("{warned:?}") };
        assert_eq!((work.changes, work.strays), (0, 1));
        tab.sign_out(Unsent::KeepLocked).await.unwrap();
        assert!(tab.strays().await.unwrap().is_empty(), "locked");
        // A person of another shop sees nothing of it.
        world.server.add_person("guest", "Guest", &[]);
        drop(tab);
        let tab = phone.tab().await;
        tab.sign_in("guest", "secret", "phone").await.unwrap();
        assert_eq!((tab.sync_state().strays, tab.strays().await.unwrap().len()), (0, 0));
        let mut file = Vec::new();
        tab.export_unsent(|piece| file.extend(piece)).await.unwrap();
        assert!(!String::from_utf8(file).unwrap().contains("the last copy"));
        tab.sign_in("second", "secret", "phone").await.unwrap();
        tab.settle(&clock).await;
        assert_eq!(tab.strays().await.unwrap().len(), 1, "still here");
        // Once its author's phone is back it is kept no longer.
        author.settle(&clock).await;
        tab.settle(&clock).await;
        assert_eq!(world.server.log(job(1)).len(), 2);
        assert_eq!((tab.sync_state().strays, tab.strays().await.unwrap().len()), (0, 0));
        tab.sign_out(Unsent::Warn).await.unwrap();
    });
}

#[test]
fn what_another_s_device_kept_is_sent_by_its_author_from_a_file() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (_phone, keeper, _gone) = kept_of_another(&world).await;
        let mut file = Vec::new();
        keeper.export_strays(|piece| file.extend(piece)).await.unwrap();
        let import = |tab: crate::world::Tab, file: Vec<u8>| async move {
            let mut import = tab.import_unsent();
            import.feed(&file).await?;
            import.finish().await
        };
        let (_third, stranger) = world.signed_in("insp").await;
        let refused = import(stranger, file.clone()).await;
        assert_eq!(refused, Err(device::ImportError::Another { login: "second".into() }));
        let (_new, author) = world.signed_in("mech").await;
        author.settle(&clock).await;
        assert_eq!(import(author.clone(), file.clone()).await.unwrap().changes, 1);
        assert_eq!(import(author.clone(), file).await.unwrap().already_here, 1, "once");
        author.settle(&clock).await;
        let folded = world.server.fold(job(1));
        assert_eq!(folded.job.part.or_empty().0, "the last copy");
        let change = world.server.log(job(1)).pop().unwrap().change.read().unwrap();
        assert_eq!(Some(change.author), author.me().map(|me| shared_types::ids::Author::Person(me.user)));
    });
}
