//! Every row of `tests/reference/fasteners.csv` (values with their sources) against the kinds.

use std::collections::BTreeMap;

use serde_json::json;

use super::{calc, number};

/// A row of the reference: a value from outside, with its source.
#[derive(Debug)]
pub struct Row {
    pub id: String,
    pub inputs: String,
    pub value: String,
    pub source: String,
    /// `read`, `memory`, `computed-from-read`, `computed-from-memory`.
    pub mark: String,
}

/// What a check of a row found.
pub struct Found {
    pub kind: &'static str,
    pub found: f64,
    pub expected: f64,
    pub tolerance: f64,
}

fn rows() -> Vec<Row> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../../tests/reference/fasteners.csv");
    let mut reader = csv::Reader::from_path(path).unwrap();
    let rows = reader.records().map(|record| {
        let record = record.unwrap();
        Row {
            id: record[0].to_owned(),
            inputs: record[2].to_owned(),
            value: record[3].to_owned(),
            source: record[5].to_owned(),
            mark: record[6].to_owned(),
        }
    });
    rows.collect()
}

fn found(kind: &'static str, found: f64, expected: f64, tolerance: f64) -> Found {
    Found { kind, found, expected, tolerance }
}

/// The number after `key=` in a row's inputs.
fn input(row: &Row, key: &str) -> f64 {
    let (_, rest) = row.inputs.split_once(key).unwrap_or_else(|| panic!("{key} in {row:?}"));
    leading(rest)
}

/// The number at the start of a text.
fn leading(text: &str) -> f64 {
    let end = text.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(text.len());
    text[..end].parse().unwrap_or_else(|_| panic!("a number at the start of {text}"))
}

fn check(row: &Row) -> Vec<Found> {
    let family = row.id.split('-').next().unwrap();
    match family {
        "LEN" => length(row),
        _ => panic!("no check for {row:?}"),
    }
}

fn length(row: &Row) -> Vec<Found> {
    let (grip, dash) = (input(row, "grip="), input(row, "dash dia="));
    let result = calc(
        "rivet-length",
        &json!({ "stack": [{ "thickness": format!("{grip} in") }], "diameter": format!("{dash}/32 in") }),
    );
    let expected = |key: &str| {
        let (_, rest) = row.value.split_once(key).unwrap();
        leading(rest)
    };
    [
        ("/required_length", "L=", 5e-6),
        ("/dash_up_16", "up-to-1/16 dash=", 0.0),
        ("/dash_up_32", "up-to-1/32 dash=", 0.0),
        ("/dash_nearest_16", "nearest-1/16 dash=", 0.0),
    ]
    .map(|(pointer, key, tolerance)| {
        found("rivet-length", number(&result, pointer), expected(key), tolerance)
    })
    .into()
}

#[test]
fn every_row_is_reproduced() {
    let mut tally: BTreeMap<&str, (usize, f64, String)> = BTreeMap::new();
    for row in rows() {
        let checks = check(&row);
        assert!(!checks.is_empty(), "{} checks nothing", row.id);
        for one in checks {
            let off = (one.found - one.expected).abs();
            assert!(
                off <= one.tolerance + 1e-12,
                "{} ({}; {}): found {}, expected {} ± {}",
                row.id,
                row.source,
                row.mark,
                one.found,
                one.expected,
                one.tolerance
            );
            let relative = if one.expected == 0.0 { off } else { off / one.expected.abs() };
            let entry = tally.entry(one.kind).or_default();
            entry.0 += 1;
            if relative > entry.1 {
                entry.1 = relative;
                entry.2.clone_from(&row.id);
            }
        }
    }
    for (kind, (cases, deviation, id)) in tally {
        println!("{kind:20} {cases:4} cases, largest deviation {:.3} % {id}", deviation * 100.0);
    }
}
