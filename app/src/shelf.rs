//! The shelf on this device: how each item stands, what fills a line in, and the search over the
//! shelf and the catalogue. Nothing here touches the screen.

pub mod catalogue;
pub mod index;

use std::collections::BTreeMap;
use std::sync::Arc;

use device::JobRow;
use leptos::prelude::*;
use serde_json::{Map, Value, json};
use shared_types::catalogue::{Group, Row};
use shared_types::entity::Entity as _;
use shared_types::ids::{ShopId, StockId};
use shared_types::job::MaterialKind;
use shared_types::shelf::Balance;
use shared_types::shop::{ShopState, Stock, StockKind};
use shared_types::status::is_expired;
use shared_types::text::ShortText;
use shared_types::time::Day;

use crate::clock;
use crate::store::use_store;
use index::{Entry, Index, What};

/// How every item of a shop stands.
pub type Balances = BTreeMap<StockId, Balance>;

/// Adds up what all jobs of a shop took of each item.
#[must_use]
pub fn balances(shop: ShopId, state: &ShopState, rows: &[JobRow]) -> Balances {
    let mut taken: BTreeMap<StockId, Vec<&str>> = BTreeMap::new();
    for row in rows.iter().filter(|row| row.shop == shop) {
        for (stock, quantity) in &row.summary.taken {
            taken.entry(*stock).or_default().push(quantity);
        }
    }
    let balance =
        |(id, stock): (&StockId, &Stock)| (*id, Balance::of(stock, taken.remove(id).unwrap_or_default()));
    state.stock.iter().map(balance).collect()
}

/// A shop's shelf, worked out anew when a line, a count or an item changes.
#[derive(Clone, Copy)]
pub struct Shelf {
    /// The shop's state.
    pub state: Signal<Arc<ShopState>>,
    /// How every item stands.
    pub balances: Memo<Arc<Balances>>,
    /// The items in use, to search in.
    pub index: Memo<Arc<Index>>,
}

/// The shelf of a shop, for the calling view.
#[must_use]
pub fn use_shelf(shop: ShopId) -> Shelf {
    let store = use_store();
    let (state, rows) = (store.shop(shop), store.rows());
    let standing = Memo::new(move |_| {
        let rows = rows.read();
        let rows = rows.here().map(|rows| rows.as_slice()).unwrap_or_default();
        Arc::new(balances(shop, &state.read(), rows))
    });
    let index = Memo::new(move |_| Arc::new(indexed(&state.read(), &standing.read(), clock::today())));
    Shelf { state, balances: standing, index }
}

impl Shelf {
    /// An item, if it is known here.
    #[must_use]
    pub fn item(self, id: StockId) -> Option<Stock> {
        self.state.read().stock.get(&id).cloned()
    }

    /// How an item stands; all zero for one that isn't known here.
    #[must_use]
    pub fn balance(self, id: StockId) -> Balance {
        self.balances.read().get(&id).cloned().unwrap_or_default()
    }
}

/// The items in use as an index; what is good and there comes before what isn't.
fn indexed(state: &ShopState, balances: &Balances, today: Day) -> Index {
    let in_use = state.stock.iter().filter(|(_, stock)| !stock.is_retired());
    Index::new(in_use.map(|(id, stock)| {
        let left = balances.get(id).and_then(Balance::left);
        let beside = [
            stock.description.or_empty().0,
            stock.batch.or_empty().0,
            stock.source_document.or_empty().0,
            stock.location.or_empty().0,
            if stock.kind.or_empty() == StockKind::Material { stock.material.or_empty().word() } else { "" }
                .to_owned(),
        ];
        Entry {
            what: What::Shelf(*id),
            name: stock.part_number.or_empty().0,
            beside: beside.join(" "),
            kind: Some(stock.kind.or_empty()),
            good: !is_expired(stock.expiry.or_empty(), today) && left.is_none_or(|left| left > 0.0),
        }
    }))
}

/// The kind of line that a row of the catalogue is used on; none for what is no thing on a shelf.
#[must_use]
pub const fn kind_of(group: Group) -> Option<StockKind> {
    match group {
        Group::Rivet | Group::Washer => Some(StockKind::Hardware),
        Group::Sheet | Group::Cloth | Group::Mat | Group::Resin | Group::Adhesive | Group::Core => {
            Some(StockKind::Material)
        }
        Group::Drill | Group::Alloy | Group::Fibre | Group::Ply => None,
    }
}

const fn material_of(group: Group) -> MaterialKind {
    match group {
        Group::Cloth | Group::Mat => MaterialKind::Cloth,
        Group::Resin => MaterialKind::Resin,
        Group::Adhesive => MaterialKind::Adhesive,
        Group::Core => MaterialKind::Core,
        _ => MaterialKind::Other,
    }
}

/// What fills a step's line in from a shelf item. Fields that the item doesn't say are emptied:
/// they would be those of an earlier pick.
#[must_use]
pub fn line_of_stock(id: StockId, stock: &Stock) -> Map<String, Value> {
    let mut line = json!({
        "batch": stock.batch.or_empty(),
        "source_document": stock.source_document.or_empty(),
        "expiry": stock.expiry.or_empty(),
        "stock": id,
    });
    match stock.kind.or_empty() {
        StockKind::Hardware => {
            line["part_number"] = json!(stock.part_number.or_empty());
            line["description"] = json!(stock.description.or_empty());
        }
        StockKind::Material => {
            let cure = stock.cure.or_empty().into_iter().next();
            line["kind"] = json!(stock.material.or_empty());
            line["name"] = json!(stock.part_number.or_empty());
            line["mix"] = json!(stock.mix.or_empty());
            line["pot_life_minutes"] = json!(stock.pot_life_minutes.or_empty());
            line["cure_hours"] = json!(cure.as_ref().map(|cure| cure.hours));
            line["cure_temperature"] = json!(cure.map(|cure| cure.temperature).unwrap_or_default());
        }
    }
    object(line)
}

/// What fills a step's line in from a row of the catalogue: the thing, not a batch of it.
#[must_use]
pub fn line_of_row(row: &Row) -> Map<String, Value> {
    let mut line = json!({ "batch": "", "source_document": "", "expiry": null, "stock": null });
    if kind_of(row.group) == Some(StockKind::Hardware) {
        line["part_number"] = json!(row.name);
        line["description"] = json!(one_line(&row.text));
    } else {
        line["kind"] = json!(material_of(row.group));
        line["name"] = json!(row.name);
        for field in ["mix", "cure_temperature"] {
            line[field] = json!("");
        }
        for field in ["pot_life_minutes", "cure_hours"] {
            line[field] = Value::Null;
        }
    }
    object(line)
}

/// What fills a new shelf item in from a row of the catalogue.
#[must_use]
pub fn stock_of_row(row: &Row) -> Map<String, Value> {
    let mut stock = json!({ "part_number": row.name, "description": one_line(&row.text) });
    if kind_of(row.group) == Some(StockKind::Material) {
        stock["material"] = json!(material_of(row.group));
    }
    object(stock)
}

/// As much of a row's words as one line takes.
fn one_line(text: &str) -> String {
    if text.chars().count() <= ShortText::MAX {
        return text.to_owned();
    }
    text.chars().take(ShortText::MAX - 1).chain(['…']).collect()
}

fn object(value: Value) -> Map<String, Value> {
    match value {
        Value::Object(map) => map,
        _ => Map::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::entity;
    use crate::entry::specs::{HARDWARE, MATERIAL, STOCK_HARDWARE, STOCK_MATERIAL};
    use shared_types::catalogue::Mark;
    use shared_types::shop::{Cure, StockPatch};

    fn resin() -> Stock {
        entity(&StockPatch {
            kind: Some(StockKind::Material),
            part_number: Some("laminating resin".into()),
            material: Some(MaterialKind::Resin),
            mix: Some("100 : 28 by weight".into()),
            cure: Some(vec![Cure { temperature: "23 °C".into(), hours: 24.0 }]),
            ..StockPatch::default()
        })
    }

    fn row(group: Group) -> Row {
        let (name, text, source) = ("A".to_owned(), "a".to_owned(), "s".to_owned());
        Row { group, name, also: String::new(), text, source, mark: Mark::Memory }
    }

    #[test]
    fn a_pick_sets_every_field_that_an_earlier_pick_may_have_set() {
        let fields = |map: Map<String, Value>| map.into_iter().map(|(field, _)| field).collect::<Vec<_>>();
        let material = line_of_stock(StockId::default(), &resin());
        assert_eq!(material["cure_hours"], json!(24.0));
        assert_eq!(material["kind"], json!("resin"));
        assert_eq!(fields(material), fields(line_of_row(&row(Group::Resin))));
        let hardware = line_of_stock(StockId::default(), &Stock::default());
        assert_eq!(fields(hardware), fields(line_of_row(&row(Group::Rivet))));
    }

    #[test]
    fn every_row_of_the_catalogue_can_be_put_on_the_shelf_and_on_a_line() {
        let catalogue = calculations::catalogue::listing::catalogue();
        for row in catalogue.rows.iter().filter(|row| kind_of(row.group).is_some()) {
            let hardware = kind_of(row.group) == Some(StockKind::Hardware);
            let line = if hardware { "hardware.v1" } else { "material.v1" };
            for (kind, set) in [("stock.v1", stock_of_row(row)), (line, line_of_row(row))] {
                let subject = crate::entry::Subject::new(kind, StockId::default());
                let set = set.iter().map(|(field, value)| (field.as_str(), value.clone()));
                let known = subject.setting(set).expect("a change of its kind");
                assert_eq!(known.problems(), [], "{}", row.name);
            }
        }
    }

    #[test]
    fn every_field_that_is_filled_in_is_one_of_the_form() {
        let known = |map: &Map<String, Value>, specs: &[crate::entry::Spec]| {
            map.keys().all(|field| specs.iter().any(|spec| spec.name == field))
        };
        assert!(known(&line_of_stock(StockId::default(), &resin()), MATERIAL));
        assert!(known(&line_of_row(&row(Group::Washer)), HARDWARE));
        assert!(known(&stock_of_row(&row(Group::Washer)), STOCK_HARDWARE));
        assert!(known(&stock_of_row(&row(Group::Core)), STOCK_MATERIAL));
    }
}
