//! Rows that the laminate worksheets compute: dew points, coverage, mixing, tapers.

use serde_json::{Value, json};

use super::{Found, Row, found, holds};
use crate::{calc, number, refused_fields, text};

const FINISH: &str = "finish";
const RESIN: &str = "resin-batch";
const PATCH: &str = "patch";

fn paint(changes: &Value) -> Value {
    let mut input = json!({ "area": "1 m2", "film": "25 um", "solids": "50 %", "paint": "one-part" });
    for (key, value) in changes.as_object().unwrap() {
        input[key] = value.clone();
    }
    calc(FINISH, &input)
}

/// Dew point in the air's own unit.
fn dew(temperature: f64, unit: &str, humidity: f64) -> f64 {
    let air = json!({
        "temperature": format!("{temperature} deg{unit}"), "humidity": format!("{humidity} %"),
        "surface": format!("{temperature} deg{unit}"),
    });
    let celsius = number(&paint(&json!({ "air": air })), "/air/dew_point");
    if unit == "F" { celsius * 1.8 + 32.0 } else { celsius }
}

pub fn dew_point(row: &Row) -> Vec<Found> {
    match row.id.as_str() {
        // The margin of 3 K above the dew point of 20 °C and 50 %, 9.26 °C.
        "DEW-MARGIN" => [(12.4, "within"), (12.1, "outside")]
            .map(|(surface, verdict)| {
                let air = json!({
                    "temperature": "20 degC", "humidity": "50 %", "surface": format!("{surface} degC"),
                });
                let result = paint(&json!({ "air": air }));
                holds(FINISH, (text(&result, "/air/verdict") == "within") == (verdict == "within"))
            })
            .into(),
        "DEW-MAGNUS-AE" => [(20.0, 50.0), (5.0, 90.0), (35.0, 20.0)]
            .map(|(celsius, humidity): (f64, f64)| {
                let gamma = (humidity / 100.0).ln() + 17.625 * celsius / (243.04 + celsius);
                found(FINISH, dew(celsius, "C", humidity), 243.04 * gamma / (17.625 - gamma), 1e-9)
            })
            .into(),
        // The printed chart's dew point and 5 F; the chart is cut to whole degrees, ours adds 3 K.
        "DEW-EX" => vec![found(FINISH, dew(70.0, "F", 65.0) + 5.4, row.numbers()[2], 3.4)],
        id => {
            let unit = if row.inputs.contains(" F;") { "F" } else { "C" };
            let found_dew = dew(row.input("air "), unit, row.input("RH "));
            // Formula rows to 0.05; printed charts are whole degrees, cut in places.
            let tolerance = match unit {
                _ if id.starts_with("DEW-MAG-") => 0.05,
                "F" => 3.0,
                _ => 0.5,
            };
            vec![found(FINISH, found_dew, row.number(), tolerance)]
        }
    }
}

pub fn coverage(row: &Row) -> Vec<Found> {
    let area = |litres_per_m2: f64, litres: f64| litres / litres_per_m2;
    let per_m2 = |film: &str, solids: &str, loss: &str| {
        let result = paint(&json!({ "film": film, "solids": solids, "loss": loss }));
        number(&result, "/volume") / unit_per_litre(text(&result, "/volume/unit"))
    };
    const GALLON: f64 = 3.785_411_784;
    const FOOT2: f64 = 0.092_903_04;
    match row.id.as_str() {
        "COV-1604" => {
            vec![found(FINISH, area(per_m2("1 mil", "100 %", "0 %"), GALLON) / FOOT2, 1604.0, 0.5)]
        }
        "COV-GAL" => {
            use shared_types::quantity::{Measure, Volume};
            let cubic_feet = Volume::parse("1 gal").unwrap().si() / 0.3048_f64.powi(3);
            vec![found("lengths and drills", cubic_feet, row.number(), 5e-6)]
        }
        // 52 percent solids; 30 percent of the paint gets onto the part.
        "COV-EX1" => {
            vec![found(FINISH, area(per_m2("1.5 mil", "52 %", "70 %"), GALLON) / FOOT2, row.number(), 0.5)]
        }
        "COV-MET" => vec![found(FINISH, area(per_m2("125 um", "65 %", "0 %"), 1.0), row.number(), 1e-9)],
        _ => panic!("no check for {row:?}"),
    }
}

fn unit_per_litre(unit: &str) -> f64 {
    match unit {
        "L" => 1.0,
        "mL" => 1000.0,
        other => panic!("{other}"),
    }
}

pub fn mix(row: &Row) -> Vec<Found> {
    if row.id == "MIX-EX2" {
        // Film and area for 600 mL.
        let result = paint(&json!({
            "area": "12 m2", "film": "25 um", "solids": "50 %", "parts_by_volume": [4, 1, 1],
        }));
        return (0..3)
            .map(|part| {
                let at = format!("/parts/{part}");
                let unit = unit_per_litre(text(&result, &format!("{at}/unit")));
                found(FINISH, number(&result, &at) / unit * 1000.0, row.numbers()[part], 1e-6)
            })
            .collect();
    }
    // As much resin as cloth: 50 g, on a scale of 0.01 g that is not undershot.
    let result = batch(&json!({ "by": "weight", "a": 100, "b": 10 }));
    vec![
        found(RESIN, number(&result, "/part_a"), row.numbers()[0], 0.0101),
        found(RESIN, number(&result, "/part_b"), row.numbers()[1], 0.0101),
    ]
}

fn batch(ratio: &Value) -> Value {
    calc(
        RESIN,
        &json!({
            "fabric_mass": "50 g", "fibre_weight_fraction": 0.5, "waste": "0 %", "scale_step": "0.01 g",
            "ratio": ratio,
        }),
    )
}

/// A patch of four plies of 0.25 mm with a step per ply; refused where the rule asks for more.
fn taper(step: f64, rule: &str) -> Value {
    let mut input = calculations::kind(PATCH).unwrap().example();
    input["step"] = json!(format!("{step} mm"));
    input["rule"] = json!(rule);
    input
}

/// A rule takes this step per ply and none shorter.
fn least_step(rule: &str, step: f64) -> Vec<Found> {
    let taken = calculations::calculate(PATCH, &taper(step, rule)).is_ok();
    let short = refused_fields(PATCH, &taper(step * 0.98, rule));
    vec![holds(PATCH, taken), holds(PATCH, short.iter().any(|field| field == "step"))]
}

pub fn laminate_repair(row: &Row) -> Vec<Found> {
    match row.id.as_str() {
        "GFR-SCARF" => least_step("ac-43-13-1b", 0.25 * row.number()),
        "GFR-FAA-STEP" => least_step("half-inch-per-ply", 25.4 * row.number()),
        "GFR-FAA-TAPER" => least_step("least-20", 0.25 * row.number()),
        // At least 100 times the depth is 50 on each side: the scarf's width over the depth of four plies.
        "GFR-NAVY-SCARF" => {
            let result = calc(PATCH, &taper(12.5, "ac-43-13-1b"));
            let sides = number(&result, "/scarf_outer_d") - 50.0;
            vec![found(PATCH, sides / (4.0 * 0.25), row.number(), 1e-9)]
        }
        "GFR-PLY" => {
            let result = calc(PATCH, &calculations::kind(PATCH).unwrap().example());
            let plies = result["sizes"].as_array().unwrap().len();
            vec![found(PATCH, plies as f64, 5.0, 0.0)]
        }
        "GFR-RESIN" => {
            let result = batch(&json!({ "by": "weight", "a": 100, "b": 27 }));
            let share =
                number(&result, "/resin_in_laminate") / (50.0 + number(&result, "/resin_in_laminate"));
            vec![found(RESIN, share * 100.0, row.number(), 1e-9)]
        }
        "GFR-MIX" => {
            let result = batch(&json!({ "by": "weight", "a": 100, "b": 10 }));
            let ratio = number(&result, "/part_a") / number(&result, "/part_b");
            vec![found(RESIN, ratio, row.numbers()[0] / row.numbers()[1], 0.02)]
        }
        _ => panic!("no check for {row:?}"),
    }
}
