//! What a job took off the shelf follows its lines: offline, after undo, on another phone.

use shared_types::body::{Known, On, OnStep};
use shared_types::ids::{HardwareId, LogId, StepId, StockId};
use shared_types::job::HardwarePatch;
use shared_types::shelf::Balance;
use shared_types::shop::StockPatch;
use uuid::Uuid;

use crate::world::{SHOP, Tab, World, job, step, titled};

const ITEM: StockId = StockId(Uuid::from_u128(0x57));

fn line(number: u128, set: HardwarePatch) -> Known {
    Known::Hardware(OnStep {
        id: HardwareId(Uuid::from_u128(number)),
        step: Some(StepId(Uuid::from_u128(7))),
        set,
    })
}

fn used(number: u128, quantity: f64) -> Known {
    line(
        number,
        HardwarePatch { stock: Some(Some(ITEM)), quantity: Some(Some(quantity)), ..HardwarePatch::default() },
    )
}

/// What is left of the item, as this phone sees it.
async fn left(tab: &Tab) -> Option<f64> {
    let rows = tab.jobs().await.unwrap();
    let taken = rows.iter().flat_map(|row| &row.summary.taken);
    let taken: Vec<_> =
        taken.filter(|(stock, _)| *stock == ITEM).map(|(_, quantity)| quantity.as_str()).collect();
    Balance::of(&tab.shop(SHOP).await.unwrap().stock[&ITEM], taken).left()
}

#[test]
fn what_is_left_follows_every_job_without_a_network_and_on_another_phone() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, tab) = world.signed_in("mech").await;
        let received = StockPatch { quantity: Some(Some(100.0)), ..StockPatch::default() };
        tab.change(LogId::Shop(SHOP), vec![Known::Stock(On { id: ITEM, set: received })]).await.unwrap();
        tab.settle(&clock).await;
        phone.offline(true);

        tab.change(job(1), vec![titled("One"), step(7, "Rivet"), used(1, 12.0)]).await.unwrap();
        tab.change(job(2), vec![titled("Two"), step(7, "Rivet"), used(2, 30.0)]).await.unwrap();
        assert_eq!(left(&tab).await, Some(58.0));
        let undo = tab.change(job(2), vec![used(2, 40.0)]).await.unwrap();
        assert_eq!(left(&tab).await, Some(48.0), "a line that is altered counts once");
        tab.change(job(2), undo).await.unwrap();
        assert_eq!(left(&tab).await, Some(58.0), "what is taken back is back on the shelf");
        let out = HardwarePatch { retired: Some(true), ..HardwarePatch::default() };
        tab.change(job(1), vec![line(1, out)]).await.unwrap();
        assert_eq!(left(&tab).await, Some(70.0));
        drop(tab);
        let tab = phone.tab().await;
        assert_eq!(left(&tab).await, Some(70.0), "after a cold start");

        phone.offline(false);
        tab.settle(&clock).await;
        let (_other, second) = world.signed_in("insp").await;
        second.settle(&clock).await;
        assert_eq!(left(&second).await, Some(70.0));
    });
}
