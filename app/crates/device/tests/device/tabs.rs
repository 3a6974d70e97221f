//! Two tabs of one phone: both live, one sends.

use std::cell::RefCell;
use std::rc::Rc;

use device::{Event, SyncLine};

use crate::world::{SHOP, World, job, part, step, titled};

#[test]
fn two_tabs_write_at_once_and_every_change_arrives_once_in_one_chain() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, first) = world.signed_in("mech").await;
        let second = phone.tab().await;
        assert_eq!(second.me(), first.me());
        let running = {
            let (first, second) = (first.clone(), second.clone());
            async move { futures::join!(first.run(), second.run()) }
        };
        let story = async {
            let by_first = async {
                for number in 0..60 {
                    first.change(job(1), vec![step(number, "first tab")]).await.unwrap();
                }
            };
            let by_second = async {
                for number in 100..160 {
                    second.change(job(1), vec![step(number, "second tab")]).await.unwrap();
                }
            };
            futures::join!(by_first, by_second);
            clock.sleep(5_000).await;
        };
        futures::future::select(Box::pin(running), Box::pin(story)).await;
        let logged = world.server.log(job(1));
        assert_eq!(logged.len(), 120);
        let mut previous = None;
        for entry in &logged {
            let change = entry.change.read().unwrap();
            assert_eq!(change.previous, previous, "one chain, no fork");
            previous = Some(entry.change.digest());
        }
        let folded = world.server.fold(job(1));
        for tab in [&first, &second] {
            assert_eq!(*tab.job(SHOP, job(1).job().unwrap()).await.unwrap(), folded);
            assert_eq!(tab.sync_state().line, SyncLine::AllSent);
        }
    });
}

#[test]
fn what_one_tab_does_the_other_is_told() {
    let world = World::new();
    world.clock.clone().run(async move {
        let (phone, first) = world.signed_in("mech").await;
        let second = phone.tab().await;
        let heard = Rc::new(RefCell::new(Vec::new()));
        let ear = Rc::clone(&heard);
        let listening = second.listen(move |event| ear.borrow_mut().push(event.clone()));
        first.change(job(1), vec![titled("One")]).await.unwrap();
        assert!(heard.borrow().contains(&Event::Log(job(1))));
        assert!(heard.borrow().contains(&Event::Jobs));
        let id = job(1).job().unwrap();
        assert_eq!(second.job(SHOP, id).await.unwrap().job.title.or_empty().0, "One");
        first.change(job(1), vec![part("two")]).await.unwrap();
        assert_eq!(second.job(SHOP, id).await.unwrap().job.part.or_empty().0, "two");
        first.sign_in("insp", "secret", "phone").await.unwrap();
        assert_eq!(second.me().unwrap().login, "insp");
        assert!(second.jobs().await.unwrap().is_empty());
        drop(listening);
        let told = heard.borrow().len();
        first.sign_in("mech", "secret", "phone").await.unwrap();
        assert_eq!(heard.borrow().len(), told, "nobody listens any more");
    });
}

#[test]
fn when_the_sending_tab_is_closed_the_other_one_sends() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, first) = world.signed_in("mech").await;
        let second = phone.tab().await;
        let runner = first.clone();
        let mut sending = Box::pin(async move { runner.run().await });
        let runner = second.clone();
        let waiting = async move { runner.run().await };
        let story = async {
            let pause = Box::pin(clock.sleep(2_000));
            if let futures::future::Either::Left(_) = futures::future::select(&mut sending, pause).await {
                panic!("the loop never ends");
            }
            drop(sending);
            drop(first);
            second.change(job(1), vec![titled("By the other")]).await.unwrap();
            clock.sleep(2_000).await;
            assert_eq!(world.server.log(job(1)).len(), 1);
        };
        futures::future::select(Box::pin(waiting), Box::pin(story)).await;
    });
}

#[test]
fn without_locks_both_tabs_send_and_each_change_arrives_once() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, first) = world.signed_in("mech").await;
        phone.shared.no_locks.set(true);
        let second = phone.tab().await;
        let running = {
            let (first, second) = (first.clone(), second.clone());
            async move { futures::join!(first.run(), second.run()) }
        };
        let story = async {
            for number in 0..40 {
                first.change(job(1), vec![step(number, "first tab")]).await.unwrap();
                second.change(job(1), vec![step(100 + number, "second tab")]).await.unwrap();
            }
            first.add_photo(job(1), crate::photos::jpeg(2_000_000, 1)).await.unwrap();
            clock.sleep(120_000).await;
        };
        futures::future::select(Box::pin(running), Box::pin(story)).await;
        assert_eq!(world.server.log(job(1)).len(), 81);
        let folded = world.server.fold(job(1));
        for tab in [&first, &second] {
            assert_eq!(*tab.job(SHOP, job(1).job().unwrap()).await.unwrap(), folded);
            assert!(tab.unsent_work().await.unwrap().is_empty());
        }
    });
}

#[test]
fn a_tab_opened_later_is_told_where_sync_stands() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, first) = world.signed_in("mech").await;
        let runner = first.clone();
        let story = async {
            clock.sleep(2_000).await;
            let second = phone.tab().await;
            assert_eq!(second.sync_state().line, SyncLine::AllSent);
        };
        futures::future::select(Box::pin(async move { runner.run().await }), Box::pin(story)).await;
    });
}
