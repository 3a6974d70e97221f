//! Fasteners per inch, washers, groups, dissimilar metals.

use calculations::catalogue::allowables::{Column, Entry, WidthTable};
use calculations::catalogue::washers::washer as washer_row;
use serde_json::{Value, json};

use super::{Found, Row, found, holds, numbers};
use crate::{calc, number, text};

const PER_INCH: &str = "fasteners-per-inch";

fn look_up(table: &str, thickness: &str, column: &str, case: &str) -> Value {
    let mut input =
        json!({ "table": table, "thickness": thickness, "width": "1 in", "case": case, "fastener": "bolt" });
    if column != "AN3" {
        input["fastener"] = json!("rivet");
        input["diameter"] = json!(column);
    }
    calc(PER_INCH, &input)
}

pub fn per_inch(row: &Row) -> Vec<Found> {
    let table = |id: &str| match id {
        id if id.starts_with("T4-9") => (WidthTable::T4_9, "4-9"),
        id if id.starts_with("T4-10") => (WidthTable::T4_10, "4-10"),
        _ => (WidthTable::T4_11, "4-11"),
    };
    match row.id.as_str() {
        "AN3-SHEAR" => {
            vec![found(PER_INCH, calculations::catalogue::allowables::AN3_SHEAR, row.number(), 0.0)]
        }
        "T4-FACTOR-80" => vec![share("stringer", row.number())],
        "T4-FACTOR-60" => vec![share("frame", row.number())],
        "T4-FACTOR-75" => vec![share("single-lap", row.number())],
        id if id.ends_with("-RULE") => rule(table(id).0),
        id if id.ends_with("-FT") => {
            // Sheet tension over bolt shear, per inch of a 1 in thick sheet.
            let per_inch = table(id).0.rule(1.0, Column::Bolt);
            vec![found(PER_INCH, per_inch * 2126.0, row.number(), 1e-6)]
        }
        id => {
            let (table, name) = table(id);
            let (thickness, column) = row.after(&format!("T{name}-")).split_once('-').unwrap();
            let result = look_up(name, thickness, column, "general");
            assert_eq!(name.len(), table.name().len() - 6);
            vec![found(PER_INCH, number(&result, "/per_inch"), row.number(), 0.0)]
        }
    }
}

fn share(case: &str, share: f64) -> Found {
    let whole = number(&look_up("4-9", "0.040", "1/8", "general"), "/per_inch");
    let part = number(&look_up("4-9", "0.040", "1/8", case), "/per_inch");
    found(PER_INCH, part / whole, share, 1e-9)
}

/// The rule reproduces every printed rivet entry within 0.13, and what was not
/// read lies between its neighbours.
fn rule(table: WidthTable) -> Vec<Found> {
    let mut checks = Vec::new();
    for thickness in numbers(WidthTable::THICKNESSES) {
        for dash in [3, 4, 5, 6, 8] {
            let column = Column::Rivet(dash);
            match table.entry(thickness, column) {
                Some(Entry::Printed(printed)) => {
                    checks.push(found(PER_INCH, table.rule(thickness, column), printed, 0.131));
                }
                Some(Entry::ByRule(worked_out)) => {
                    checks.push(found(PER_INCH, worked_out, table.rule(thickness, column), 0.05));
                }
                Some(Entry::Dash) => {}
                None => panic!("{thickness} {dash}"),
            }
        }
    }
    checks
}

pub fn washer(row: &Row) -> Vec<Found> {
    const KIND: &str = "clamp";
    let part = row.after("WASH-");
    let washer = washer_row(part).unwrap();
    let sizes = numbers(&row.value);
    let mut checks =
        vec![found(KIND, washer.inside, sizes[0], 0.0), found(KIND, washer.outside, sizes[1], 0.0)];
    if let Some(thickness) = sizes.get(2) {
        checks.push(found(KIND, washer.thickness.unwrap(), *thickness, 0.0));
        checks.push(found(KIND, washer.light.unwrap(), sizes[3], 0.0));
        let also = row.inputs.split(" / ").nth(1).unwrap();
        checks.push(holds(KIND, washer_row(also).unwrap().part == part));
    }
    checks
}

/// Megson's Example 11.2: four corner rivets and two between them, in metric.
fn megson() -> Value {
    let rivets: Vec<Value> = [
        ("a", 20, 25),
        ("b", 20, 0),
        ("c", 20, -25),
        ("d", -20, 25),
        ("e", -20, 0),
        ("f", -20, -25),
    ]
    .iter()
    .map(|(id, x, y)| json!({ "id": id, "x": format!("{x} mm"), "y": format!("{y} mm"), "diameter": "4 mm" }))
    .collect();
    calc(
        "fastener-group",
        &json!({
            "fasteners": rivets, "units": "metric",
            "load": { "fx": "0 N", "fy": "-5 kN", "at": { "x": "75 mm", "y": "0 mm" } },
        }),
    )
}

pub fn group(row: &Row) -> Vec<Found> {
    const KIND: &str = "fastener-group";
    let result = megson();
    let kilo = |pointer: &str| number(&result, pointer) / 1000.0;
    match row.id.as_str() {
        "GRP-MEG-IN" => vec![found(KIND, number(&result, "/polar_moment"), row.numbers()[1], 1e-6)],
        "GRP-MEG-DIRECT" => vec![found(KIND, kilo("/fasteners/0/direct"), row.number(), 0.005)],
        "GRP-MEG-M" => vec![found(KIND, -number(&result, "/moment"), row.number(), 1e-6)],
        "GRP-MEG-S" => vec![found(KIND, kilo("/fasteners/0/from_moment"), row.number(), 0.005)],
        "GRP-MEG-RMAX" => vec![
            found(KIND, kilo("/worst/load"), row.number(), 0.0005),
            holds(KIND, ["a", "c"].contains(&text(&result, "/worst/id"))),
        ],
        "GRP-MEG-RMIN" => vec![found(KIND, kilo("/fasteners/3/load"), row.number(), 0.0005)],
        "GRP-FORMULA" => (0..6)
            .map(|rivet| {
                let r = if rivet % 3 == 1 { 20.0 } else { 1025.0_f64.sqrt() };
                let share = number(&result, &format!("/fasteners/{rivet}/from_moment"));
                found(KIND, share, 5000.0 * 75.0 * r / 4900.0, 1e-6)
            })
            .collect(),
        _ => panic!("no check for {row:?}"),
    }
}

pub fn galvanic(row: &Row) -> Vec<Found> {
    const KIND: &str = "galvanic";
    let beside = |material: &str| {
        calc(
            KIND,
            &json!({ "fastener": material, "stack": [{ "material": "2024-T3" }], "environment": "sea" }),
        )
    };
    if let Some(group) = row.id.strip_prefix("GALV-NIU-") {
        let names: Vec<&str> = row.inputs.split([',']).map(str::trim).collect();
        return names
            .iter()
            .map(|name| {
                let name = match *name {
                    "magnesium alloys" => "magnesium",
                    "all aluminium alloys" => "aluminium",
                    "cast iron" => "steel",
                    "400-series stainless" => "stainless 410",
                    "200/300-series and PH stainless" => "stainless 304",
                    "copper alloys" => "copper",
                    other => other,
                };
                holds(KIND, text(&beside(name), "/pairs/0/group_a") == group)
            })
            .collect();
    }
    if row.id.starts_with("GALV-AL-") {
        let metal = row.after("GALV-AL-").replace("copper-high", "monel");
        let levels = beside(&metal)["pairs"][0]["protection_levels"].clone();
        let expected = row.numbers();
        return (0..3)
            .map(|place| found(KIND, number(&levels, &format!("/{place}")), expected[place], 0.0))
            .collect();
    }
    match row.id.as_str() {
        "GALV-GLASS" => {
            let result = beside("glass cloth laminate");
            vec![holds(
                KIND,
                text(&result, "/verdict") == "within" && result["pairs"][0]["group_a"].is_null(),
            )]
        }
        // The most noble: nothing in the series suffers more beside aluminium.
        "GALV-GR" => {
            let result = beside("carbon laminate");
            let suffers = text(&result, "/pairs/0/suffers") == "2024-T3";
            vec![holds(KIND, suffers && text(&result, "/pairs/0/group_a") == "V")]
        }
        _ => {
            let material = &row.inputs;
            vec![found(KIND, number(&beside(material), "/pairs/0/rank_a"), row.number(), 0.0)]
        }
    }
}
