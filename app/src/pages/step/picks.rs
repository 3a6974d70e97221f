//! Quick entry: what was used before is offered again, and one tap fills the fields.

use std::collections::BTreeSet;

use serde_json::{Map, Value};
use shared_types::entity::Entity;
use shared_types::job::JobState;
use shared_types::shop::{ShopState, StockKind};

use crate::shelf::line_of_stock;

/// How many picks are offered.
const MOST: usize = 6;

/// Something used before, and the values it fills in.
#[derive(Clone, Debug, PartialEq)]
pub struct Pick {
    /// What is on the button.
    pub label: String,
    /// Field and value.
    pub values: Map<String, Value>,
}

impl Pick {
    /// Takes some of an entity's values; `None` when the one it is named by is empty.
    fn of(content: &Map<String, Value>, fields: &[&str], named_by: &str, beside: &str) -> Option<Self> {
        let text = |field: &str| content.get(field).and_then(Value::as_str).unwrap_or("").trim().to_owned();
        let (name, beside) = (text(named_by), text(beside));
        if name.is_empty() {
            return None;
        }
        let kept = |(field, _): &(&String, &Value)| fields.contains(&field.as_str());
        let values =
            content.iter().filter(kept).map(|(field, value)| (field.clone(), value.clone())).collect();
        Some(Self { label: if beside.is_empty() { name } else { format!("{name} · {beside}") }, values })
    }
}

const HARDWARE: &[&str] = &["part_number", "description", "batch", "source_document", "expiry", "stock"];
const MATERIAL: &[&str] = &[
    "kind",
    "name",
    "batch",
    "source_document",
    "expiry",
    "mix",
    "pot_life_minutes",
    "cure_hours",
    "cure_temperature",
    "stock",
];
const TOOL: &[&str] = &["name", "identifier", "calibration_due"];
const READING: &[&str] = &["label", "unit", "minimum", "maximum", "limit_source", "tool"];

/// Hardware used on this job, latest first, then what is on the shop's shelf.
#[must_use]
pub fn hardware(state: &JobState, shop: &ShopState) -> Vec<Pick> {
    let used = state.hardware.values().rev().map(|line| line.it.content());
    let used = used.filter_map(|content| Pick::of(&content, HARDWARE, "part_number", "batch"));
    first_different(used.chain(shelf(shop, StockKind::Hardware, "part_number", HARDWARE)))
}

/// Materials used on this job, latest first, then what is on the shop's shelf.
#[must_use]
pub fn materials(state: &JobState, shop: &ShopState) -> Vec<Pick> {
    let used = state.materials.values().rev().map(|line| line.it.content());
    let used = used.filter_map(|content| Pick::of(&content, MATERIAL, "name", "batch"));
    first_different(used.chain(shelf(shop, StockKind::Material, "name", MATERIAL)))
}

/// Tools used on this job, latest first, then the shop's.
#[must_use]
pub fn tools(state: &JobState, shop: &ShopState) -> Vec<Pick> {
    let used = state.tools.values().rev().map(|it| it.it.content());
    let own = shop.tools.values().filter(|tool| !tool.is_retired()).map(Entity::content);
    first_different(used.chain(own).filter_map(|content| Pick::of(&content, TOOL, "name", "identifier")))
}

/// Readings taken on this job, latest first: the same again at the next hole.
#[must_use]
pub fn readings(state: &JobState) -> Vec<Pick> {
    let taken = state.readings.values().rev().map(|it| it.it.content());
    first_different(taken.filter_map(|content| Pick::of(&content, READING, "label", "tool")))
}

/// What is on the shelf, under the field names of a line.
fn shelf<'a>(
    shop: &'a ShopState,
    kind: StockKind,
    name: &'static str,
    fields: &'static [&'static str],
) -> impl Iterator<Item = Pick> + 'a {
    let stock = shop.stock.iter().filter(move |(_, it)| !it.is_retired() && it.kind.or_empty() == kind);
    stock.filter_map(move |(id, it)| Pick::of(&line_of_stock(*id, it), fields, name, "batch"))
}

fn first_different(picks: impl Iterator<Item = Pick>) -> Vec<Pick> {
    let mut seen = BTreeSet::new();
    picks.filter(|pick| seen.insert(pick.label.clone())).take(MOST).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::entity;
    use serde_json::json;
    use shared_types::ids::{HardwareId, StockId};
    use shared_types::job::HardwarePatch;
    use shared_types::on_step::OnStep;
    use shared_types::shop::StockPatch;
    use uuid::Uuid;

    #[test]
    fn what_was_used_last_comes_first_and_the_shelf_after_it() {
        let mut state = JobState::default();
        for (number, batch) in [(1, "A"), (2, "B"), (3, "A")] {
            let patch = HardwarePatch {
                part_number: Some("rivet 4-4".into()),
                batch: Some(batch.into()),
                quantity: Some(Some(12.0)),
                ..HardwarePatch::default()
            };
            let it = OnStep { step: None, it: entity(&patch) };
            state.hardware.insert(HardwareId(Uuid::from_u128(number)), it);
        }
        let mut shop = ShopState::default();
        let patch = StockPatch { part_number: Some("washer 3".into()), ..StockPatch::default() };
        shop.stock.insert(StockId::default(), entity(&patch));

        let picks = hardware(&state, &shop);
        let labels: Vec<_> = picks.iter().map(|pick| pick.label.as_str()).collect();
        assert_eq!(labels, ["rivet 4-4 · A", "rivet 4-4 · B", "washer 3"]);
        assert_eq!(picks[0].values.get("quantity"), None, "the quantity is this step's own");
        assert_eq!(picks[2].values["part_number"], json!("washer 3"));
        assert_eq!(picks[2].values["stock"], json!(StockId::default()));
    }
}
