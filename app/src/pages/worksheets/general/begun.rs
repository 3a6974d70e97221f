//! What a new worksheet begins with: a weight-and-balance sheet with the aircraft's figures.

use leptos::prelude::*;
use serde_json::{Map, Value, json};
use shared_types::ids::AircraftId;
use shared_types::shop::AircraftFigures;
use shared_types::text::ShortText;

use super::Place;
use crate::pages::parts::of_job;
use crate::record::closing::WEIGHT_BALANCE;
use crate::store::use_store;

/// An input to begin with, and where it comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Begun {
    pub input: Value,
    pub said: String,
}

/// What a sheet of this kind begins with. Once it is known it stays: what somebody enters for the aircraft
/// meanwhile must not disturb what is typed.
pub fn use_begun(place: Place, kind: &str, is_new: bool) -> Memo<Option<Begun>> {
    let store = use_store();
    let wanted = is_new && kind == WEIGHT_BALANCE;
    let aircraft = of_job(store.job(place.shop, place.job), |state| state.job.aircraft.or_empty());
    let shop = store.shop(place.shop);
    Memo::new(move |before: Option<&Option<Begun>>| {
        let figures = |id: AircraftId| of_figures(shop.read().figures.get(&id)?);
        let now = || aircraft.get().filter(|_| wanted).and_then(figures);
        before.cloned().flatten().or_else(now)
    })
}

/// The input that an aircraft's figures make; nothing where its weight is not known.
fn of_figures(figures: &AircraftFigures) -> Option<Begun> {
    if figures.empty_weight.or_empty().is_empty() {
        return None;
    }
    let fields = [
        ("weight", &figures.empty_weight),
        ("arm", &figures.empty_arm),
        ("datum", &figures.datum),
        ("maximum_weight", &figures.maximum_weight),
        ("forward_limit", &figures.forward_limit),
        ("aft_limit", &figures.aft_limit),
    ];
    let mut input: Map<String, Value> = Map::new();
    for (name, field) in fields {
        let text: ShortText = field.or_empty();
        if !text.is_empty() {
            input.insert(name.to_owned(), json!(text));
        }
    }
    let on = figures.weighed_on.or_empty().map(|day| format!(" of {day}")).unwrap_or_default();
    let source = figures.source.or_empty();
    let source = if source.is_empty() { String::new() } else { format!(", {source}") };
    let said =
        format!("Begun with the aircraft's figures{on}{source}. Check them against its weighing report.");
    Some(Begun { input: Value::Object(input), said })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::entity;
    use shared_types::shop::AircraftFiguresPatch;

    #[test]
    fn a_sheet_begins_with_what_is_known_and_says_where_it_is_from() {
        let patch = AircraftFiguresPatch {
            empty_weight: Some("1169 lb".into()),
            empty_arm: Some("10.6 in".into()),
            source: Some("weighing report 7".into()),
            ..AircraftFiguresPatch::default()
        };
        let begun = of_figures(&entity(&patch)).unwrap();
        assert_eq!(begun.input, json!({ "weight": "1169 lb", "arm": "10.6 in" }));
        assert!(begun.said.contains("weighing report 7"), "{}", begun.said);
        assert_eq!(of_figures(&AircraftFigures::default()), None);
    }
}
