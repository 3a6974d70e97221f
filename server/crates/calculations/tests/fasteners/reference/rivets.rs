//! Part numbers, heads, lengths, driven heads.

use serde_json::{Value, json};

use super::{Found, Row, found, holds, inches, leading, line, numbers};
use crate::{calc, number, text};

fn decode(part_number: &str) -> Value {
    calc("part-number", &json!({ "part_number": part_number }))
}

pub fn part_number(row: &Row) -> Vec<Found> {
    const KIND: &str = "part-number";
    match row.id.as_str() {
        "PN-DIA" => [2, 3, 4, 5, 6, 8, 10, 12]
            .map(|dash| {
                let result = decode(&format!("MS20470AD{dash}-8"));
                found(KIND, number(&result, "/diameter"), f64::from(dash) / 32.0, 0.0)
            })
            .into(),
        "PN-LEN" => (2..=64)
            .map(|dash| {
                let result = decode(&format!("MS20470AD4-{dash}"));
                found(KIND, number(&result, "/length"), f64::from(dash) / 16.0, 0.0)
            })
            .collect(),
        "PN-HALF" => {
            let result = decode(&row.inputs);
            vec![
                found(KIND, number(&result, "/length"), 3.5 / 16.0, 0.0),
                holds(KIND, row.value.ends_with("0.21875")),
            ]
        }
        "PN-470" | "PN-426" => {
            let (old, new) = row.inputs.split_once(" -> ").unwrap();
            let result = decode(&format!("{old}AD4-5"));
            let words = row.value.clone();
            vec![
                holds(KIND, text(&result, "/part_number") == format!("{new}AD4-5")),
                holds(KIND, text(&result, "/head_words") == words),
            ]
        }
        "PN-EX1" | "PN-EX2" => {
            let code = if row.id == "PN-EX1" { "MS20426AD4-5" } else { "MS20470DD6-8" };
            assert_eq!(row.inputs, code);
            let result = decode(code);
            let parts: Vec<&str> = row.value.split("; ").collect();
            let head = if parts[0] == "universal" { "universal" } else { "countersunk" };
            vec![
                holds(KIND, text(&result, "/head") == head),
                holds(KIND, text(&result, "/alloy").starts_with(parts[1])),
                found(KIND, number(&result, "/diameter"), numbers(parts[2])[0], 0.0),
                found(KIND, number(&result, "/length"), numbers(parts[3])[0], 0.0),
            ]
        }
        "PN-MEAS-470" | "PN-MEAS-426" => {
            let code = row.after("PN-MEAS-");
            let result = decode(&format!("AN{code}AD4-5"));
            let words = text(&result, "/length_measured");
            let agree =
                if code == "470" { words.starts_with("underside of head") } else { words == row.value };
            vec![holds(KIND, agree)]
        }
        _ => {
            let code = row.after("PN-ALLOY-");
            let result = decode(&format!("MS20470{code}4-5"));
            let (alloy, marking) = row.value.split_once("; ").unwrap();
            let alloy = alloy.split(' ').next().unwrap();
            vec![
                holds(KIND, text(&result, "/alloy") == alloy),
                holds(KIND, text(&result, "/marking") == marking),
            ]
        }
    }
}

pub fn head(row: &Row) -> Vec<Found> {
    let mut parts = row.after("HEAD-").split('-');
    let (style, dash, what) = (parts.next().unwrap(), parts.next().unwrap(), parts.next().unwrap());
    let result = decode(&format!("MS20{style}AD{dash}-8"));
    let key = if what == "DIA" { "/head_diameter" } else { "/head_height" };
    let mut checks = vec![found("part-number", number(&result, key), row.number(), 0.0)];
    if style == "426" {
        let input = json!({ "diameter": format!("{dash}/32"), "layer": { "thickness": "0.08" } });
        let result = calc("countersink", &input);
        // The drawing's height is rounded to a thousandth.
        checks.push(match what {
            "DIA" => found("countersink", number(&result, "/surface_diameter"), row.number(), 0.0),
            _ => found("countersink", number(&result, "/depth"), row.number(), 0.001),
        });
    }
    checks
}

fn stack(grip: f64, diameter: f64, rounding: &str) -> Value {
    calc(
        "rivet-length",
        &json!({ "stack": [{ "thickness": inches(grip) }], "diameter": inches(diameter), "rounding": rounding }),
    )
}

pub fn length(row: &Row) -> Vec<Found> {
    const KIND: &str = "rivet-length";
    match row.id.as_str() {
        "LEN-RULE" => [(0.032, 0.09375), (0.1, 0.125), (0.25, 0.1875)]
            .map(|(grip, d)| {
                found(KIND, number(&stack(grip, d, "up-16"), "/required_length"), grip + 1.5 * d, 1e-9)
            })
            .into(),
        // Half a diameter is a slip of two manuals: nobody's rivet is that short.
        "LEN-GOVT-TYPO" => {
            vec![found(
                KIND,
                number(&stack(0.1, 0.125, "up-16"), "/required_length"),
                0.1 + 1.5 * 0.125,
                1e-9,
            )]
        }
        "LEN-ROUND-UP" => vec![found(KIND, number(&stack(0.08, 0.125, "up-16"), "/chosen"), 5.0, 0.0)],
        "LEN-ROUND-NEAR" => vec![found(KIND, number(&stack(0.08, 0.125, "nearest-16"), "/chosen"), 4.0, 0.0)],
        _ => {
            let result = stack(row.input("grip="), row.input("dash dia=") / 32.0, "up-16");
            let expected = |key: &str| leading(row.value.split_once(key).unwrap().1);
            [
                ("/required_length", "L=", 5.01e-6),
                ("/dash_up_16", "up-to-1/16 dash=", 0.0),
                ("/dash_up_32", "up-to-1/32 dash=", 0.0),
                ("/dash_nearest_16", "nearest-1/16 dash=", 0.0),
            ]
            .map(|(pointer, key, tolerance)| found(KIND, number(&result, pointer), expected(key), tolerance))
            .into()
        }
    }
}

fn measured(diameter: f64, table: &str) -> Value {
    calc(
        "driven-head",
        &json!({
            "diameter": inches(diameter), "table": table,
            "driven_diameter": inches(1.5 * diameter), "driven_height": inches(0.5 * diameter),
        }),
    )
}

pub fn driven_head(row: &Row) -> Vec<Found> {
    const KIND: &str = "driven-head";
    if row.id == "SHOP-NOM" {
        return [0.09375, 0.125, 0.1875]
            .iter()
            .flat_map(|d| {
                let result = measured(*d, "mil-hdbk-5h");
                [
                    found(KIND, number(&result, "/nominal_diameter"), row.numbers()[0] * d, 1e-9),
                    found(KIND, number(&result, "/nominal_height"), row.numbers()[1] * d, 1e-9),
                ]
            })
            .collect();
    }
    if let Some(factor) = row.id.strip_prefix("SHOP-HDBK-") {
        let result = measured(0.125, "mil-hdbk-5h");
        let key = if factor == "DIA" { "/limits/diameter_min" } else { "/limits/height_min" };
        return vec![found(KIND, number(&result, key), row.number() * 0.125, 1e-9)];
    }
    let d = row.input("D=");
    if row.id.starts_with("SHOP-P40-") {
        let result = measured(d, "course-note");
        // Printed to a thousandth, cut rather than rounded.
        return vec![
            found(KIND, number(&result, "/nominal_height"), row.numbers()[0], 0.001),
            found(KIND, number(&result, "/nominal_diameter"), row.numbers()[1], 0.001),
        ];
    }
    let table = if row.id.starts_with("SHOP-AME-") { "course-note" } else { "mil-r-47196a" };
    let result = measured(d, table);
    let what = if row.id.ends_with("-DIA") { "diameter" } else { "height" };
    let ends = row.numbers();
    let mut checks = vec![found(KIND, number(&result, &format!("/limits/{what}_min")), ends[0], 0.0)];
    if let Some(most) = ends.get(1) {
        checks.push(found(KIND, number(&result, &format!("/limits/{what}_max")), *most, 0.0));
    }
    assert!(line(&result, &format!("driven head {what} as measured"))["limit"].is_string());
    checks
}
