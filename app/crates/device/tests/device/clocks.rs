//! Phones with wrong clocks.

use crate::world::{NOON, SHOP, World, job, part, titled};

const YEAR: i64 = 31_536_000_000;

#[test]
fn a_phone_a_year_off_loses_nothing_and_wins_nothing_for_ever() {
    for skew in [YEAR, -YEAR, -NOON] {
        let world = World::new();
        let clock = world.clock.clone();
        clock.clone().run(async move {
            let (right, first) = world.signed_in("mech").await;
            let wrong = world.phone();
            wrong.shared.skew.set(skew);
            let second = wrong.tab().await;
            second.sign_in("mech", "secret", "phone").await.unwrap();
            // Cold start offline: the correction by the server's clock is not known.
            drop(second);
            wrong.offline(true);
            let second = wrong.tab().await;
            second.change(job(1), vec![titled("Made with a wrong clock"), part("wrong")]).await.unwrap();
            wrong.offline(false);
            second.settle(&clock).await;
            let id = job(1).job().unwrap();
            assert_eq!(*second.job(SHOP, id).await.unwrap(), world.server.fold(job(1)), "with {skew}");

            clock.sleep(600_000).await;
            first.settle(&clock).await;
            first.change(job(1), vec![part("later, by a right clock")]).await.unwrap();
            first.settle(&clock).await;
            second.settle(&clock).await;
            assert_eq!(second.job(SHOP, id).await.unwrap().job.part.or_empty().0, "later, by a right clock");
            // An edit after having seen it wins, though the clock is wrong.
            second.change(job(1), vec![part("after that")]).await.unwrap();
            second.settle(&clock).await;
            first.settle(&clock).await;
            let states = (first.job(SHOP, id).await.unwrap(), second.job(SHOP, id).await.unwrap());
            assert_eq!(states.0, states.1);
            assert_eq!(states.0.job.part.or_empty().0, "after that");
            // With the server's clock known, new stamps are right ones.
            let last = world.server.log(job(1)).last().unwrap().change.read().unwrap();
            assert!((last.stamp.0.0 - clock.now()).abs() < 600_000, "{} with {skew}", last.stamp.0);
            drop(right);
        });
    }
}
