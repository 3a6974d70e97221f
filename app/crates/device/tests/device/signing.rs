//! What signing asks of a device: that all of the job is sent first, and that what was taken back stays so.

use std::pin::pin;

use futures::future::select;
use shared_types::body::{Known, On};
use shared_types::entity::Entity as _;
use shared_types::ids::SignatureId;
use shared_types::signature::{Signature, SignaturePatch};

use crate::world::{SHOP, World, job, part, titled};

#[test]
fn a_job_is_caught_up_with_once_all_that_was_made_here_is_sent() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, tab) = world.signed_in("mech").await;
        let story = async {
            tab.change(job(1), vec![titled("One")]).await.unwrap();
            assert!(tab.caught_up(job(1), false, 3_000).await.unwrap());
            assert_eq!(world.server.log(job(1)).len(), 1);

            phone.offline(true);
            tab.change(job(1), vec![part("tip")]).await.unwrap();
            assert!(!tab.caught_up(job(1), false, 3_000).await.unwrap(), "nothing gets out");
            phone.offline(false);
            assert!(tab.caught_up(job(1), false, 3_000).await.unwrap());
            assert_eq!(world.server.log(job(1)).len(), 2);
            assert!(!tab.caught_up(job(1), true, 3_000).await.unwrap(), "there is no more");

            // Somebody else recorded something: it is fetched.
            let (_other, second) = world.signed_in("mech").await;
            second.settle(&clock).await;
            second.change(job(1), vec![titled("Two")]).await.unwrap();
            second.settle(&clock).await;
            let id = job(1).job().unwrap();
            if tab.job(SHOP, id).await.unwrap().job.title.or_empty().0 != "Two" {
                assert!(tab.caught_up(job(1), true, 3_000).await.unwrap());
            }
            assert_eq!(tab.job(SHOP, id).await.unwrap().job.title.or_empty().0, "Two");
        };
        select(pin!(tab.run()), pin!(story)).await;
    });
}

#[test]
fn a_signature_that_was_taken_back_offers_no_way_back_into_use() {
    let world = World::new();
    world.clock.clone().run(async move {
        let (_phone, tab) = world.signed_in("mech").await;
        tab.change(job(1), vec![titled("One")]).await.unwrap();
        let id = SignatureId::default();
        let set = SignaturePatch { statement: Some("I did it.".into()), ..SignaturePatch::default() };
        let undo = tab.change(job(1), vec![Known::Signature(On { id, set })]).await.unwrap();
        let retired = Known::Signature(On { id, set: Signature::retirement(true) });
        assert_eq!(undo, [retired]);
        assert_eq!(tab.change(job(1), undo).await.unwrap(), []);
        let state = tab.job(SHOP, job(1).job().unwrap()).await.unwrap();
        assert!(state.signatures[&id].is_retired());
        assert_eq!(state.signatures[&id].statement.or_empty().0, "I did it.");
    });
}
