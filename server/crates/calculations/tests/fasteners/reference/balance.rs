//! Weight and balance: sums of AC 43.13-1B chapter 10.

use serde_json::{Value, json};

use super::super::{calc, number};
use super::{Found, Row, found, holds};

const KIND: &str = "weight-balance";

fn of(weight: &str, arm: &str, items: &Value) -> Value {
    calc(KIND, &json!({ "weight": weight, "arm": arm, "items": items }))
}

pub fn balance(row: &Row) -> Vec<Found> {
    match row.id.as_str() {
        // A loading is worked out like a change: what is put in has a weight and an arm.
        "WB-F1010" => {
            let result = calc(
                KIND,
                &json!({
                    "weight": "1169 lb", "arm": "10.6 in", "moment": "12391 lb in",
                    "items": [
                        { "change": "installed", "name": "oil", "weight": "17 lb", "arm": "-49 in" },
                        { "change": "installed", "name": "pilot", "weight": "170 lb", "arm": "16 in" },
                        { "change": "installed", "name": "fuel", "weight": "83 lb", "arm": "22 in" },
                    ],
                    "forward_limit": "8.5 in",
                }),
            );
            let [weight, moment, arm] = [row.numbers()[0], row.numbers()[1], row.numbers()[2]];
            vec![
                found(KIND, number(&result, "/weight"), weight, 1e-6),
                found(KIND, number(&result, "/moment"), moment, 1e-6),
                found(KIND, number(&result, "/arm"), arm, 0.05),
                holds(KIND, result["verdict"] == "within"),
            ]
        }
        "WB-REPAIR" => {
            let added =
                json!([{ "change": "installed", "name": "repair", "weight": "2.5 lb", "arm": "-20 in" }]);
            let result = of("1169 lb", "10.6 in", &added);
            vec![found(KIND, number(&result, "/arm"), row.number(), 0.0005)]
        }
        "WB-NEG-1" => negligible("1169 lb", "1 lb", "1.1 lb"),
        "WB-NEG-2" => negligible("5000 lb", "2 lb", "2.1 lb"),
        "WB-NEG-3" => negligible("50001 lb", "5 lb", "5.1 lb"),
        _ => panic!("no check for {row:?}"),
    }
}

fn negligible(aircraft: &str, just: &str, over: &str) -> Vec<Found> {
    let says = |weight: &str| {
        let added = json!([{ "change": "installed", "name": "item", "weight": weight, "arm": "10 in" }]);
        of(aircraft, "10 in", &added)["negligible_weight"] == true
    };
    vec![holds(KIND, says(just)), holds(KIND, !says(over))]
}
