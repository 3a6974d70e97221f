//! Edge distance, pitch, rows, layouts.

use serde_json::{Value, json};

use super::{Found, Row, found, holds, inches};
use crate::{calc, number, text};

const PATTERN: &str = "pattern";

/// The limits of a pattern of so many named rows.
fn limits(head: &str, rows: usize, diameter: f64) -> Value {
    let holes: Vec<Value> = (0..rows)
        .map(|row| json!({ "id": row.to_string(), "row": row.to_string(), "x": "1", "y": format!("{}", 1 + row) }))
        .collect();
    let input = json!({
        "diameter": inches(diameter), "head": head, "holes": holes, "edges": [[["0", "0"], ["10", "0"]]],
    });
    calc(PATTERN, &input)
}

fn multiple(head: &str, rows: usize, key: &str, expected: f64) -> Vec<Found> {
    let limit = number(&limits(head, rows, 0.125), &format!("/limits/{key}"));
    vec![found(PATTERN, limit / 0.125, expected, 1e-9)]
}

pub fn spacing(row: &Row) -> Vec<Found> {
    let first = row.numbers().first().copied().unwrap_or(0.0);
    let all = |checks: Vec<Vec<Found>>| checks.into_iter().flatten().collect();
    match row.id.as_str() {
        "EDGE-MIN-AC" | "FAA-EDGE-P" => multiple("universal", 1, "edge_min", first),
        "EDGE-CSK-ARMY" | "FAA-EDGE-C" => multiple("countersunk", 1, "edge_min", first),
        "EDGE-ARMY" => all(vec![
            multiple("universal", 1, "edge_min", first),
            multiple("universal", 1, "edge_max", row.numbers()[1]),
        ]),
        "FAA-EDGE-MAX" => multiple("universal", 1, "edge_max", first),
        "PITCH-MIN-AC1" | "PITCH-NAVY" => multiple("universal", 1, "pitch_min", first),
        "PITCH-MIN-AC2" | "FAA-PITCH-P2" => multiple("universal", 2, "pitch_min", first),
        "PITCH-MIN-AC3" => all(vec![
            multiple("universal", 3, "pitch_min", first),
            multiple("universal", 3, "edge_min", row.numbers()[1]),
        ]),
        "PITCH-ARMY" => all(vec![
            multiple("universal", 1, "pitch_min", first),
            multiple("universal", 1, "pitch_max", row.numbers()[3]),
        ]),
        "FAA-PITCH-P13" => all(vec![
            multiple("universal", 1, "pitch_min", first),
            multiple("universal", 3, "pitch_min", first),
        ]),
        "FAA-PITCH-C13" => all(vec![
            multiple("countersunk", 1, "pitch_min", first),
            multiple("countersunk", 3, "pitch_min", first),
        ]),
        "FAA-PITCH-C2" => multiple("countersunk", 2, "pitch_min", first),
        "FAA-PITCH-AVG" => multiple("universal", 1, "pitch_max", row.numbers()[2]),
        "ROW-TM" => multiple("universal", 2, "row_pitch_min", first),
        "ROW-75" => rows(),
        "DIA-NAVY" => sheet_rule(),
        // The guides conflict beyond three times the sheet: there a person decides.
        "DIA-AC" => vec![holds("hole", sheet_verdict("0.0521") == "within")],
        "DIA-AME" => vec![holds("hole", sheet_verdict("0.040") == "too-close")],
        "EDGE-BOLT" => {
            let worn = json!({ "diameter": "1/8", "measured": "0.140", "edge": "0.2 in" });
            let result = calc("hole", &worn);
            let offered = result["options"].to_string();
            vec![
                holds("hole", text(&result, "/action") == "cannot-go-up"),
                holds("hole", offered.contains("e is at least 1.5 D (TM 1-1520-240-BD par 2-5)")),
            ]
        }
        _ => multiples(row),
    }
}

/// Three quarters of the pitch, never below 2.5 D.
fn rows() -> Vec<Found> {
    [("1 in", 0.75), ("0.5 in", 0.375), ("0.4 in", 0.3125)]
        .map(|(pitch, expected)| {
            let input = json!({
                "edge_length": "12.75 in", "end_clearance": "0.375 in", "diameter": "1/8 in", "rows": 2,
                "count": if pitch == "1 in" { 13 } else if pitch == "0.5 in" { 25 } else { 31 },
            });
            found("row-layout", number(&calc("row-layout", &input), "/row_distance"), expected, 1e-9)
        })
        .into()
}

/// A rivet no thinner than the sheet and no thicker than three of it.
fn sheet_rule() -> Vec<Found> {
    [("0.100", true), ("0.060", true), ("0.040", false), ("0.2", false)]
        .map(|(t, within)| holds("hole", (sheet_verdict(t) == "within") == within))
        .into()
}

/// What a worn 1/8 hole's next size makes of a sheet.
fn sheet_verdict(thickness: &str) -> String {
    let input = json!({ "diameter": "1/8", "measured": "0.140", "layers": [{ "thickness": thickness }] });
    let result = calc("hole", &input);
    let checks = result["checks"].as_array().unwrap();
    let sheet = checks.iter().find(|check| check["check"] == "sheet").unwrap();
    text(sheet, "/verdict").to_owned()
}

fn multiples(row: &Row) -> Vec<Found> {
    let mut parts = row.after("MULT-").split('-');
    let d: f64 = parts.next().unwrap().parse::<f64>().unwrap() / 32.0;
    let (head, rows, key) = match parts.next().unwrap() {
        "2D" => ("universal", 1, "edge_min"),
        "2.5D" => ("countersunk", 1, "edge_min"),
        "3D" => ("universal", 1, "pitch_min"),
        "3.5D" => ("countersunk", 1, "pitch_min"),
        "4D" => ("universal", 2, "pitch_min"),
        "4.5D" => ("countersunk", 2, "pitch_min"),
        "10D" => ("universal", 1, "pitch_max"),
        other => panic!("{other}"),
    };
    // The table is rounded to five places.
    vec![found(PATTERN, number(&limits(head, rows, d), &format!("/limits/{key}")), row.number(), 5.01e-6)]
}

pub fn layout(row: &Row) -> Vec<Found> {
    let per_inch = |input: Value| calc("fasteners-per-inch", &input);
    match row.id.as_str() {
        "LAY-AC-1" => {
            let result = per_inch(json!({
                "table": "4-10", "thickness": "0.032", "fastener": "rivet", "diameter": "1/8", "width": "10 in", "case": "single-lap",
            }));
            vec![
                found("fasteners-per-inch", number(&result, "/tabulated"), 4.9, 0.0),
                // Printed to one decimal.
                found("fasteners-per-inch", number(&result, "/per_inch"), row.numbers()[0], 0.05),
                found("fasteners-per-inch", number(&result, "/count"), row.numbers()[1], 0.0),
            ]
        }
        "LAY-FIG420-FLANGE" => {
            let result = per_inch(json!({
                "table": "4-10", "thickness": "0.040", "fastener": "rivet", "diameter": "1/8", "width": "0.6 in", "case": "frame",
            }));
            vec![
                found("fasteners-per-inch", number(&result, "/tabulated"), row.input("W=0.6; "), 0.0),
                found("fasteners-per-inch", number(&result, "/count"), *row.numbers().last().unwrap(), 0.0),
            ]
        }
        "LAY-AC-2" => {
            let result = rows_of(&json!({ "pitch_target": "0.5 in" }));
            vec![found("row-layout", number(&result, "/total"), row.number(), 0.0)]
        }
        "LAY-AC-3" => {
            let result = rows_of(&json!({ "count": 19 }));
            vec![
                found("row-layout", number(&result, "/count"), row.numbers()[1], 0.0),
                found("row-layout", number(&result, "/total"), 38.0, 0.0),
                holds("row-layout", text(&result, "/verdict") == "within"),
            ]
        }
        "LAY-EQ" => [(10.0, 0.25, 19), (7.3, 0.4, 12), (24.0, 0.5, 30)]
            .map(|(length, end, n)| {
                let input = json!({
                    "edge_length": inches(length), "end_clearance": inches(end), "diameter": "1/8", "count": n,
                });
                let expected = (length - 2.0 * end) / f64::from(n - 1);
                found("row-layout", number(&calc("row-layout", &input), "/pitch"), expected, 1e-9)
            })
            .into(),
        "LAY-EQ-EX" => {
            let result = rows_of(&json!({ "count": 19 }));
            vec![found("row-layout", number(&result, "/pitch"), row.number(), 5e-7)]
        }
        _ => panic!("no check for {row:?}"),
    }
}

/// The splice of AC 43.13-1B par 4-58g: two rows of 1/8 rivets over 10 in.
fn rows_of(changes: &Value) -> Value {
    let mut input =
        json!({ "edge_length": "10 in", "end_clearance": "0.25 in", "diameter": "1/8", "rows": 2 });
    for (key, value) in changes.as_object().unwrap() {
        input[key] = value.clone();
    }
    calc("row-layout", &input)
}
