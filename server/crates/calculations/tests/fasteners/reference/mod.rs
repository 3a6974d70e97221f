//! Every row of `tests/reference/fasteners.csv` (values with their sources) against the kinds, or
//! the reason why no kind works it out. What it found stands in `tests/reference/fasteners.md`.

mod balance;
mod holes;
mod left_out;
mod rivets;
mod shop;
mod spacing;
mod strength;
mod table;
mod tables;

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

impl Row {
    /// Whether it, or what it was computed from, was remembered and not looked up.
    pub fn is_from_memory(&self) -> bool {
        self.mark.ends_with("memory")
    }
}

/// What a check of a row found.
#[derive(Clone)]
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
        "DEW" => shop::dew_point(row),
        "COV" => shop::coverage(row),
        "MIX" => shop::mix(row),
        "WB" => balance::balance(row),
        "GFR" => shop::laminate_repair(row),
        _ => panic!("no check for {row:?}"),
    }
}

/// A check that missed its tolerance, with source and mark.
fn missed(row: &Row, one: &Found) -> Option<String> {
    let off = (one.found - one.expected).abs();
    let memory = if row.is_from_memory() { ", from memory" } else { "" };
    (off.is_nan() || off > one.tolerance + 1e-12).then(|| {
        format!(
            "{} ({}{memory}): found {}, expected {} ± {}",
            row.id, row.source, one.found, one.expected, one.tolerance
        )
    })
}

#[test]
fn every_row_is_reproduced_or_left_out_with_a_reason() {
    let mut wrong = Vec::new();
    let mut table = table::Table::default();
    for row in rows() {
        if let Some(reason) = left_out::reason(&row.id) {
            table.leave_out(&row, reason);
            continue;
        }
        let checks = check(&row);
        assert!(!checks.is_empty(), "{} checks nothing", row.id);
        for one in &checks {
            wrong.extend(missed(&row, one));
            table.add(&row, one);
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    table.hold();
}

#[test]
fn no_reason_to_leave_rows_out_is_stale() {
    let rows = rows();
    for (start, reason) in left_out::LEFT_OUT {
        let taken =
            rows.iter().any(|row| left_out::reason(&row.id) == Some(*reason) && row.id.starts_with(start));
        assert!(taken, "no row is left out as {start}: {reason}");
    }
}

#[test]
fn every_row_names_its_source_and_how_it_is_known() {
    for row in rows() {
        assert!(!row.source.is_empty(), "{}", row.id);
        let marks = ["read", "memory", "computed-from-read", "computed-from-memory"];
        assert!(marks.contains(&row.mark.as_str()), "{}: {}", row.id, row.mark);
    }
}
