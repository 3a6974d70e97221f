//! What went into a job, and what that cost by the shelf's prices. Nothing here touches the screen.

use shared_types::entity::Entity as _;
use shared_types::ids::{StepId, StockId};
use shared_types::job::JobState;
use shared_types::quantity::tidy;
use shared_types::shelf::{amount, written};
use shared_types::shop::{ShopState, Stock};

/// Hardware or material that went in.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Used {
    /// The step it went in on, by its title; empty for none.
    pub step: String,
    /// Part number or designation.
    pub name: String,
    /// In words.
    pub description: String,
    /// How much, as it was written.
    pub quantity: String,
    /// Batch or lot.
    pub batch: String,
    /// What it came with.
    pub source_document: String,
    /// What it cost.
    pub cost: Cost,
}

/// What a line cost, or why that can't be said.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Cost {
    /// It was not taken from the shelf.
    #[default]
    NotFromShelf,
    /// Its item has no price.
    NoPrice,
    /// Its quantity says nothing in the unit that the price is for.
    NotCounted(Price),
    /// So much.
    Known(Price, f64),
}

/// The price of one unit of an item.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Price {
    /// How much.
    pub one: f64,
    /// Of what: `each`, `kg`.
    pub unit: String,
    /// In which currency, as the shop enters it.
    pub currency: String,
}

impl Cost {
    fn of(stock: Option<&Stock>, quantity: &str) -> Self {
        let Some(stock) = stock else { return Self::NotFromShelf };
        let Some(one) = stock.price.or_empty() else { return Self::NoPrice };
        let unit = stock.unit.or_empty().0.trim().to_owned();
        let price = Price { one, unit, currency: stock.currency.or_empty().0.trim().to_owned() };
        match amount(quantity, &price.unit) {
            Some(amount) => Self::Known(price, tidy(amount * one)),
            None => Self::NotCounted(price),
        }
    }

    /// Why there is no figure; nothing when there is one.
    #[must_use]
    pub const fn why_not(&self) -> Option<&'static str> {
        match self {
            Self::NotFromShelf => Some("not from the shelf"),
            Self::NoPrice => Some("no price on the shelf"),
            Self::NotCounted(_) => Some("quantity not in the price's unit"),
            Self::Known(..) => None,
        }
    }
}

/// The hardware that went into a job, in the order of its steps.
#[must_use]
pub fn hardware(job: &JobState, shop: &ShopState) -> Vec<Used> {
    let lines = job.hardware.values().filter(|line| !line.it.is_retired());
    let used = lines.map(|line| {
        let it = &line.it;
        let quantity = it.quantity.or_empty().map(written).unwrap_or_default();
        let used = Used {
            name: it.part_number.or_empty().0,
            description: it.description.or_empty().0,
            batch: it.batch.or_empty().0,
            source_document: it.source_document.or_empty().0,
            cost: Cost::of(item(shop, it.stock.or_empty()), &quantity),
            quantity,
            ..Used::default()
        };
        (line.step, used)
    });
    in_order(job, used.collect())
}

/// The materials that went into a job, in the order of its steps.
#[must_use]
pub fn materials(job: &JobState, shop: &ShopState) -> Vec<Used> {
    let lines = job.materials.values().filter(|line| !line.it.is_retired());
    let used = lines.map(|line| {
        let it = &line.it;
        let quantity = it.quantity.or_empty().0;
        let used = Used {
            name: it.name.or_empty().0,
            description: it.kind.or_empty().word().to_owned(),
            batch: it.batch.or_empty().0,
            source_document: it.source_document.or_empty().0,
            cost: Cost::of(item(shop, it.stock.or_empty()), &quantity),
            quantity,
            ..Used::default()
        };
        (line.step, used)
    });
    in_order(job, used.collect())
}

fn item(shop: &ShopState, id: Option<StockId>) -> Option<&Stock> {
    shop.stock.get(&id?)
}

/// Lines of steps taken out of use went in nowhere: they are left out, as on the shelf.
fn in_order(job: &JobState, lines: Vec<(Option<StepId>, Used)>) -> Vec<Used> {
    let steps = job.steps_in_order();
    let mut placed: Vec<(usize, Used)> = Vec::new();
    for (step, line) in lines {
        match step.map(|step| (step, steps.iter().position(|(id, _)| *id == step))) {
            None => placed.push((usize::MAX, line)),
            Some((_, Some(at))) => placed.push((at, Used { step: steps[at].1.title.or_empty().0, ..line })),
            Some((step, None)) if job.steps.contains_key(&step) => {}
            Some((_, None)) => placed.push((usize::MAX, line)),
        }
    }
    placed.sort_by_key(|(at, _)| *at);
    placed.into_iter().map(|(_, line)| line).collect()
}

/// Sums in each currency by itself: they are never added across. The first one used comes first.
#[must_use]
pub fn sums<'a>(lines: impl IntoIterator<Item = &'a Used>) -> Vec<(String, f64)> {
    let mut sums: Vec<(String, f64)> = Vec::new();
    for line in lines {
        if let Cost::Known(price, cost) = &line.cost {
            match sums.iter_mut().find(|(currency, _)| *currency == price.currency) {
                Some((_, sum)) => *sum = tidy(*sum + cost),
                None => sums.push((price.currency.clone(), *cost)),
            }
        }
    }
    sums
}

/// An amount of money: two decimals, and the currency as the shop enters it.
#[must_use]
pub fn money(amount: f64, currency: &str) -> String {
    let currency = if currency.is_empty() { "(no currency entered)" } else { currency };
    format!("{amount:.2} {currency}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::entity;
    use shared_types::ids::{HardwareId, MaterialId};
    use shared_types::job::{HardwarePatch, MaterialPatch, StepPatch};
    use shared_types::on_step::OnStep;
    use shared_types::order::OrderKey;
    use shared_types::shop::StockPatch;
    use uuid::Uuid;

    fn shop() -> ShopState {
        let mut shop = ShopState::default();
        let items = [
            (1, "each", Some(0.35), "EUR"),
            (2, "kg", Some(48.0), "EUR"),
            (3, "", Some(2.0), "USD"),
            (4, "", None, "EUR"),
        ];
        for (n, unit, price, currency) in items {
            let set = StockPatch {
                unit: Some(unit.into()),
                price: Some(price),
                currency: Some(currency.into()),
                ..StockPatch::default()
            };
            shop.stock.insert(StockId(Uuid::from_u128(n)), entity(&set));
        }
        shop
    }

    fn job() -> JobState {
        let step = |n: u128| StepId(Uuid::from_u128(n));
        let mut job = JobState::default();
        for (n, title, order, retired) in
            [(1, "Drill", "82", false), (2, "Survey", "81", false), (3, "Gone", "83", true)]
        {
            let set = StepPatch {
                title: Some(title.into()),
                order: Some(OrderKey(order.to_owned())),
                retired: Some(retired),
                ..StepPatch::default()
            };
            job.steps.insert(step(n), entity(&set));
        }
        let rivets = [
            (1, Some(1), Some(12.0)),
            (1, Some(3), Some(2.0)),
            (2, Some(4), Some(1.0)),
            (3, Some(1), Some(99.0)),
            (2, None, Some(5.0)),
        ];
        for (n, (on, stock, quantity)) in (0_u128..).zip(rivets) {
            let stock = stock.map(|stock| StockId(Uuid::from_u128(stock)));
            let set = HardwarePatch {
                part_number: Some(format!("P{n}").into()),
                stock: Some(stock),
                quantity: Some(quantity),
                ..HardwarePatch::default()
            };
            job.hardware
                .insert(HardwareId(Uuid::from_u128(n)), OnStep { step: Some(step(on)), it: entity(&set) });
        }
        for (n, quantity) in [(0_u128, "120 g"), (1, "a cup")] {
            let stock = Some(StockId(Uuid::from_u128(2)));
            let set = MaterialPatch {
                stock: Some(stock),
                quantity: Some(quantity.into()),
                ..MaterialPatch::default()
            };
            job.materials.insert(MaterialId(Uuid::from_u128(n)), OnStep { step: None, it: entity(&set) });
        }
        job
    }

    #[test]
    fn lines_stand_in_the_order_of_their_steps_and_say_what_they_cost() {
        let (job, shop) = (job(), shop());
        let hardware = hardware(&job, &shop);
        let shown: Vec<_> =
            hardware.iter().map(|it| (it.step.as_str(), it.name.as_str(), it.cost.why_not())).collect();
        assert_eq!(
            shown,
            [
                ("Survey", "P2", Some("no price on the shelf")),
                ("Survey", "P4", Some("not from the shelf")),
                ("Drill", "P0", None),
                ("Drill", "P1", None),
            ]
        );
        let materials = materials(&job, &shop);
        assert_eq!(
            materials[0].cost,
            Cost::Known(Price { one: 48.0, unit: "kg".into(), currency: "EUR".into() }, 5.76)
        );
        assert_eq!(materials[1].cost.why_not(), Some("quantity not in the price's unit"));
        let sums = sums(hardware.iter().chain(&materials));
        assert_eq!(
            sums,
            [("EUR".to_owned(), 9.96), ("USD".to_owned(), 4.0)],
            "never added across currencies"
        );
    }

    #[test]
    fn money_has_its_currency() {
        assert_eq!(money(9.956, "EUR"), "9.96 EUR");
        assert_eq!(money(0.0, ""), "0.00 (no currency entered)");
    }
}
