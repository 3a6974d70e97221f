//! Every row of `tests/reference/fasteners.csv` (values with their sources) against the kinds.

mod holes;
mod rivets;
mod spacing;
mod strength;
mod tables;

use std::collections::BTreeMap;

use serde_json::Value;

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

pub fn rows() -> Vec<Row> {
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

pub fn found(kind: &'static str, found: f64, expected: f64, tolerance: f64) -> Found {
    Found { kind, found, expected, tolerance }
}

/// A row that is words: `holds` says whether the kind agrees.
pub fn holds(kind: &'static str, holds: bool) -> Found {
    found(kind, f64::from(u8::from(holds)), 1.0, 0.0)
}

impl Row {
    /// The part of the id after a prefix.
    pub fn after(&self, prefix: &str) -> &str {
        self.id.strip_prefix(prefix).unwrap_or_else(|| panic!("{prefix} in {self:?}"))
    }

    /// The number after `key` in the inputs: `D=5/32` is 0.15625.
    pub fn input(&self, key: &str) -> f64 {
        let (_, rest) = self.inputs.split_once(key).unwrap_or_else(|| panic!("{key} in {self:?}"));
        leading(rest)
    }

    /// The numbers of the value, in their order.
    pub fn numbers(&self) -> Vec<f64> {
        numbers(&self.value)
    }

    /// The first number of the value.
    pub fn number(&self) -> f64 {
        self.numbers()[0]
    }
}

/// The number or fraction at the start of a text.
pub fn leading(text: &str) -> f64 {
    let end = text.find(|c: char| !c.is_ascii_digit() && c != '.' && c != '/').unwrap_or(text.len());
    let text = &text[..end];
    match text.split_once('/') {
        Some((over, under)) => over.parse::<f64>().unwrap() / under.parse::<f64>().unwrap(),
        None => text.parse().unwrap_or_else(|_| panic!("a number at the start of {text}")),
    }
}

/// Every number of a text; commas between digits are thousands.
pub fn numbers(text: &str) -> Vec<f64> {
    let text = text.replace(',', "");
    text.split(|c: char| !c.is_ascii_digit() && c != '.')
        .filter_map(|part| part.trim_end_matches('.').parse().ok())
        .collect()
}

/// The line with that meaning.
pub fn line<'a>(result: &'a Value, meaning: &str) -> &'a Value {
    let lines = result["lines"].as_array().unwrap();
    lines
        .iter()
        .find(|line| line["meaning"].as_str().unwrap().starts_with(meaning))
        .unwrap_or_else(|| panic!("no line `{meaning}` in {result:#}"))
}

/// A length in inches, written for an input.
pub fn inches(inches: f64) -> Value {
    Value::String(format!("{inches} in"))
}

fn check(row: &Row) -> Vec<Found> {
    let family = row.id.split('-').next().unwrap();
    match family {
        "PN" => rivets::part_number(row),
        "HEAD" => rivets::head(row),
        "LEN" => rivets::length(row),
        "SHOP" => rivets::driven_head(row),
        "HOLE" | "DRILL" | "DEBURR" => holes::hole(row),
        "CSK" | "DIMPLE" => holes::countersink(row),
        "REP" => holes::replacement(row),
        "EDGE" | "PITCH" | "ROW" | "FAA" | "DIA" | "MULT" => spacing::spacing(row),
        "LAY" => spacing::layout(row),
        "FSU" | "PSU" => strength::shear(row),
        "TF" => strength::thickness_factor(row),
        "BRG" | "FBRU15" | "FBRU20" | "FBRY" => strength::bearing(row),
        "FTU" | "JT" | "LAP" => strength::joint_family(row),
        "IRB" => strength::inter_rivet(row),
        "T4" | "AN3" => tables::per_inch(row),
        "WASH" => tables::washer(row),
        "GRP" => tables::group(row),
        "GALV" => tables::galvanic(row),
        _ => panic!("no check for {row:?}"),
    }
}

#[test]
fn every_row_is_reproduced() {
    let mut tally: BTreeMap<&str, (usize, f64, String)> = BTreeMap::new();
    let mut wrong = Vec::new();
    for row in rows() {
        let checks = check(&row);
        assert!(!checks.is_empty(), "{} checks nothing", row.id);
        for one in checks {
            let off = (one.found - one.expected).abs();
            if off.is_nan() || off > one.tolerance + 1e-12 {
                wrong.push(format!(
                    "{} ({}; {}): found {}, expected {} ± {}",
                    row.id, row.source, row.mark, one.found, one.expected, one.tolerance
                ));
            }
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
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_row_names_its_source_and_how_it_is_known() {
    for row in rows() {
        assert!(!row.source.is_empty(), "{}", row.id);
        let marks = ["read", "memory", "computed-from-read", "computed-from-memory"];
        assert!(marks.contains(&row.mark.as_str()), "{}: {}", row.id, row.mark);
    }
}
