//! Drills, hole limits, deburring, countersinks, replacement.

use serde_json::{Value, json};
use shared_types::quantity::{Length, Measure};

use super::{Found, Row, found, holds, inches, line};
use crate::{calc, number, text};

const HOLE: &str = "hole";

pub fn hole(row: &Row) -> Vec<Found> {
    if row.id.starts_with("DRILL-") {
        let name = row.inputs.replace("letter ", "").replace("Letter ", "");
        let drill = Length::parse(&name).unwrap().si() / 0.0254;
        return vec![found("lengths and drills", drill, row.number(), 1e-12)];
    }
    match row.id.as_str() {
        "DEBURR-MAX" => vec![deburr(0.04, 0.004), deburr(0.5, 0.032)],
        // Its drills for strength are the handbook's.
        "HOLE-AC" => {
            let result = calc(HOLE, &json!({ "diameter": "1/8", "drills": "strength" }));
            let source = line(&result, "drill")["source"].to_string();
            vec![holds(HOLE, source.contains(&row.value))]
        }
        "HOLE-ANGLE" => {
            let result = calc(HOLE, &json!({ "diameter": "1/8" }));
            let cautions = result["cautions"].to_string();
            vec![holds(
                HOLE,
                cautions.contains("square to the surface") && cautions.contains("punch through"),
            )]
        }
        "DEBURR-EX" => vec![deburr(row.input("t="), row.number())],
        _ => {
            let series = match row.id.as_str() {
                id if id.starts_with("HOLE-P40") => "tight",
                id if id.starts_with("HOLE-HDBK") => "strength",
                _ => "shop",
            };
            let result = calc(HOLE, &json!({ "diameter": inches(row.input("D=")), "drills": series }));
            if row.id.starts_with("HOLE-47196") {
                let ends = row.numbers();
                return vec![
                    found(HOLE, number(&result, "/hole_min"), ends[0], 0.0),
                    found(HOLE, number(&result, "/hole_max"), ends[1], 0.0),
                ];
            }
            let (name, size) = row.value.split_once(" (").unwrap();
            let name = name.trim_start_matches("No. ");
            let drill = text(&result, "/drill").trim_start_matches('#');
            vec![
                holds(HOLE, drill == name),
                found(HOLE, number(&result, "/drill_diameter"), super::leading(size), 0.0),
            ]
        }
    }
}

fn deburr(t: f64, expected: f64) -> Found {
    let input = json!({ "diameter": "1/8", "layers": [{ "thickness": inches(t) }] });
    let result = calc(HOLE, &input);
    let depth = line(&result, "deepest deburring chamfer")["value"]["value"].as_f64().unwrap();
    found(HOLE, depth, expected, 1e-12)
}

fn seat(diameter: f64, t: f64, method: &str, rule: &str) -> Value {
    calc(
        "countersink",
        &json!({
            "diameter": inches(diameter), "layer": { "material": "2024-T3", "thickness": inches(t) },
            "method": method, "rule": rule,
        }),
    )
}

pub fn countersink(row: &Row) -> Vec<Found> {
    const KIND: &str = "countersink";
    let least = |rule: &str| {
        let result = seat(row.input("D="), 0.08, "machine", rule);
        vec![found(KIND, number(&result, "/min_thickness"), row.number(), 0.0)]
    };
    match row.id.as_str() {
        id if id.starts_with("CSK-MIN-TM") => least("army-table"),
        id if id.starts_with("CSK-MIN-SHOP") => least("shop"),
        id if id.starts_with("CSK-DIA-TM") => {
            let result = seat(row.input("D="), 0.08, "machine", "shop");
            vec![
                found(KIND, number(&result, "/surface_diameter_min"), row.numbers()[0], 0.0),
                found(KIND, number(&result, "/surface_diameter_max"), row.numbers()[1], 0.0),
            ]
        }
        id if id.starts_with("CSK-STR") => flush(row),
        "CSK-P40-MIN" => {
            let result = seat(0.125, 0.08, "machine", "older");
            vec![found(KIND, number(&result, "/min_thickness"), row.number(), 0.0)]
        }
        "CSK-RULE" => {
            let result = seat(0.125, 0.08, "machine", "head-height");
            let thin = seat(0.125, 0.040, "machine", "head-height");
            vec![
                found(KIND, number(&result, "/min_thickness"), number(&result, "/depth"), 1e-9),
                holds(KIND, text(&thin, "/verdict") == "outside" && thin["knife_edge"] == json!(true)),
            ]
        }
        "DIMPLE-MAX" => {
            let result = seat(0.125, 0.032, "dimple", "shop");
            vec![found(KIND, number(&result, "/max_thickness"), row.number(), 0.0)]
        }
        _ => panic!("no check for {row:?}"),
    }
}

fn flush(row: &Row) -> Vec<Found> {
    const KIND: &str = "rivet-strength";
    let strength = |seat: &str| {
        calc(
            KIND,
            &json!({
                "alloy": "AD", "diameter": "3/32", "head": "countersunk", "seat": seat,
                "layers": [{ "material": "2024-T3", "thickness": inches(row.input("t=")), "edge": "0.25" }],
            }),
        )
    };
    let key = if row.id.ends_with("-U") { "/shear" } else { "/flush_yield" };
    ["dimple", "machine"]
        .iter()
        .zip(row.numbers())
        .map(|(seat, expected)| found(KIND, number(&strength(seat), key), expected, 1e-6))
        .collect()
}

fn worn(diameter: &str, measured: &str) -> Value {
    calc(HOLE, &json!({ "diameter": diameter, "measured": measured, "edge": "1 in", "pitch": "2 in" }))
}

pub fn replacement(row: &Row) -> Vec<Found> {
    match row.id.as_str() {
        "REP-NEXT" => {
            let result = worn("1/8", "0.140");
            vec![
                holds(HOLE, text(&result, "/action") == "go-up"),
                found(HOLE, number(&result, "/new_diameter"), 5.0 / 32.0, 0.0),
            ]
        }
        "REP-STEP" => [
            ("3/32", "0.110", 1.0 / 32.0),
            ("1/8", "0.140", 1.0 / 32.0),
            ("5/32", "0.170", 1.0 / 32.0),
            ("1/4", "0.270", 1.0 / 16.0),
            ("5/16", "0.335", 1.0 / 16.0),
        ]
        .map(|(old, measured, step)| {
            let old_inches = super::leading(old);
            let new = number(&worn(old, measured), "/new_diameter");
            found(HOLE, new - old_inches, step, 1e-12)
        })
        .into(),
        "REP-5056" => says("B", "only alloy used in magnesium structure"),
        "REP-ICE" => [says("D", "within 20 minutes"), says("DD", "delays ageing 24 hours")].concat(),
        "REP-LIMIT" => [(20, 3, true), (20, 4, false), (100, 9, true), (100, 10, false)]
            .map(|(rivets, oversize, allowed)| {
                let result = calc(
                    HOLE,
                    &json!({
                        "diameter": "1/8", "measured": "0.140",
                        "pattern": { "rivets": rivets, "oversize": oversize },
                    }),
                );
                let goes = text(&result, "/action") == "go-up";
                holds(HOLE, goes == allowed)
            })
            .into(),
        "REP-2117-2017" => substitution(&[
            ("D", "3/16", "AD", "1/4", true),
            ("D", "1/8", "AD", "1/8", false),
            ("D", "1/4", "AD", "5/16", false),
        ]),
        "REP-2117-2024" => substitution(&[
            ("DD", "5/32", "AD", "3/16", true),
            ("DD", "3/16", "AD", "1/4", false),
            ("DD", "1/8", "AD", "1/8", false),
        ]),
        "REP-NAVY" => substitution(&[("D", "1/8", "AD", "5/32", true), ("DD", "1/8", "AD", "5/32", true)]),
        "REP-FAA" => substitution(&[("DD", "1/8", "D", "5/32", true), ("DD", "1/8", "D", "1/8", false)]),
        // Only where size or number makes up the loss: a person decides.
        "REP-WEAKER" => substitution(&[("AD", "1/8", "B", "5/32", false)]),
        "REP-1100" | "REP-1100-NAVY" => {
            substitution(&[("AD", "1/8", "A", "5/32", false), ("B", "1/8", "A", "3/16", false)])
        }
        _ => panic!("no check for {row:?}"),
    }
}

/// A part number's cautions say it.
fn says(alloy: &str, words: &str) -> Vec<Found> {
    let result = calc("part-number", &json!({ "part_number": format!("MS20470{alloy}4-5") }));
    vec![holds("part-number", result["cautions"].to_string().contains(words))]
}

fn substitution(cases: &[(&str, &str, &str, &str, bool)]) -> Vec<Found> {
    let side = |alloy: &str, diameter: &str| {
        json!({
            "alloy": alloy, "diameter": diameter, "pitch": "1 in",
            "layers": [{ "material": "2024-T3", "thickness": "0.05", "edge": "0.5" }],
        })
    };
    cases
        .iter()
        .map(|(old, old_d, new, new_d, allowed)| {
            let input = json!({ "as_found": side(old, old_d), "repaired": side(new, new_d) });
            let result = calc("joint-compare", &input);
            let within = text(&result, "/substitution/verdict") == "within";
            holds("joint-compare", within == *allowed)
        })
        .collect()
}
