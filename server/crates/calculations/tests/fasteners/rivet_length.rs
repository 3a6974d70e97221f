use proptest::prelude::*;
use serde_json::{Value, json};

use super::{calc, near, number, refused_fields, text};

fn example() -> Value {
    json!({
        "stack": [
            { "material": "2024-T3", "thickness": "0.032 in" },
            { "material": "glass cloth laminate", "thickness": "0.063 in" }
        ],
        "washers": [{ "thickness": "0.016 in", "side": "shop" }],
        "head": "universal", "alloy": "A", "diameter": "1/8 in", "hole": "#30", "stock": [5, 6]
    })
}

fn with(changes: &Value) -> Value {
    let mut input = example();
    for (key, value) in changes.as_object().unwrap() {
        input[key] = value.clone();
    }
    input
}

#[test]
fn the_example_by_hand() {
    let result = calc("rivet-length", &example());
    near(number(&result, "/grip"), 0.111, 1e-12);
    near(number(&result, "/required_length"), 0.2985, 1e-12);
    for (key, dash) in [("dash_up_16", 5.0), ("dash_up_32", 5.0), ("dash_nearest_16", 5.0), ("chosen", 5.0)] {
        near(number(&result, &format!("/{key}")), dash, 0.0);
    }
    assert_eq!(result["trim_to"], Value::Null);
    assert_eq!(text(&result, "/part_number"), "MS20470A4-5");
    // 4 (D² (L − G) − G (d² − D²)) / h, by hand: 0.2209 in.
    let by_hand = ((0.015_625 * 0.2015 - 0.111 * (0.016_512_25 - 0.015_625)) / 0.0625_f64).sqrt();
    near(number(&result, "/driven_diameter"), by_hand, 1e-9);
    near(number(&result, "/driven_height"), 0.0625, 1e-12);
    assert!(!text(&result, "/drawing").is_empty());
}

#[test]
fn only_longer_stock_is_trimmed_and_only_shorter_stock_is_judged() {
    let long = calc("rivet-length", &with(&json!({ "stock": [8] })));
    near(number(&long, "/chosen"), 8.0, 0.0);
    near(number(&long, "/trim_to"), 0.2985, 1e-12);
    assert_eq!(text(&long, "/length_verdict"), "outside");
    let short = calc("rivet-length", &with(&json!({ "stock": [3, 3.5] })));
    near(number(&short, "/chosen"), 3.5, 0.0);
    assert_eq!(text(&short, "/length_verdict"), "outside");
    // 0.158 in wide at half a diameter; driven flatter it would just reach the least 0.160.
    assert_eq!(text(&short, "/head_verdict"), "too-close");
    let hopeless = calc("rivet-length", &with(&json!({ "stock": [2] })));
    assert_eq!(text(&hopeless, "/head_verdict"), "outside");
    assert!(short["cautions"].as_array().unwrap().iter().any(|caution| caution["code"] == "too-short"));
    let half = calc("rivet-length", &with(&json!({ "stock": [5.5, 4.5, 5], "rounding": "up-32" })));
    near(number(&half, "/chosen"), 5.0, 0.0);
}

#[test]
fn a_countersunk_head_is_part_of_the_grip() {
    let input = json!({
        "stack": [{ "thickness": "0.050" }, { "thickness": "0.032" }],
        "head": "countersunk", "alloy": "AD", "diameter": "1/8", "hole": "#30"
    });
    let result = calc("rivet-length", &input);
    near(number(&result, "/required_length"), 0.082 + 0.1875, 1e-12);
    assert_eq!(text(&result, "/part_number"), "MS20426AD4-5");
    let gap = (0.082 - 0.042) * (0.1285_f64.powi(2) - 0.015_625);
    let by_hand = ((0.015_625 * (0.3125 - 0.082) - gap) / 0.0625).sqrt();
    near(number(&result, "/driven_diameter"), by_hand, 1e-9);
}

#[test]
fn an_exact_size_is_not_pushed_up_by_dust() {
    // G + 1.5 D = 0.09375 + 0.1875 = 4.5 sixteenths exactly.
    let input = json!({ "stack": [{ "thickness": "3/32" }], "diameter": "1/8" });
    let result = calc("rivet-length", &input);
    near(number(&result, "/dash_up_32"), 4.5, 0.0);
    near(number(&result, "/dash_nearest_16"), 5.0, 0.0);
}

#[test]
fn metric_input_gives_metric_results() {
    let input = json!({
        "stack": [{ "thickness": "0.8 mm" }, { "thickness": "1.6 mm" }],
        "diameter": "3.2 mm", "units": "metric", "sealant": "0.1 mm"
    });
    let result = calc("rivet-length", &input);
    near(number(&result, "/grip"), 2.5, 1e-12);
    near(number(&result, "/required_length"), 7.3, 1e-12);
    assert_eq!(result["required_length"]["unit"], "mm");
    assert_eq!(result["part_number"], Value::Null);
}

#[test]
fn bad_input_names_its_field() {
    for (change, field) in [
        (json!({ "stack": [] }), "stack"),
        (json!({ "stack": [{ "thickness": "-0.032" }] }), "stack[0].thickness"),
        (json!({ "stack": [{ "thickness": "0" }] }), "stack[0].thickness"),
        (json!({ "stack": [{ "thickness": "NaN" }] }), "stack[0].thickness"),
        (json!({ "stack": [{ "thickness": "3 m" }] }), "stack[0].thickness"),
        (json!({ "stack": [{ "thicknes": "0.032" }] }), "stack[0].thicknes"),
        (json!({ "stack": [{}] }), "stack[0].thickness"),
        (json!({ "stack": vec![json!({ "thickness": "0.01" }); 10_000] }), "stack"),
        (json!({ "diameter": "3 m" }), "diameter"),
        (json!({ "diameter": null }), "diameter"),
        (json!({ "hole": "0.120" }), "hole"),
        (json!({ "hole": "1 in" }), "hole"),
        (json!({ "head": "mushroom" }), "head"),
        (json!({ "alloy": "XX" }), "alloy"),
        (json!({ "stock": [5, 1e9] }), "stock[1]"),
        (json!({ "stock": [5.25] }), "stock[0]"),
        (json!({ "head_height": "1 in" }), "head_height"),
        (json!({ "colour": "blue" }), "colour"),
        (json!({ "washers": [{ "thickness": "0.016", "side": "left" }] }), "washers[0].side"),
        (
            json!({ "head": "countersunk", "washers": [{ "thickness": "0.016", "side": "head" }] }),
            "washers[0].side",
        ),
        (json!({ "stack": vec![json!({ "thickness": "1 in" }); 4] }), "stack"),
    ] {
        let fields = refused_fields("rivet-length", &with(&change));
        assert!(fields.iter().any(|found| found == field), "{change} -> {fields:?}");
    }
}

#[test]
fn every_wrong_field_is_named_at_once() {
    let input = with(&json!({ "diameter": "2 in", "stock": [99], "sealant": "-1 mm" }));
    let fields = refused_fields("rivet-length", &input);
    for field in ["diameter", "stock[0]", "sealant"] {
        assert!(fields.iter().any(|found| found == field), "{field} in {fields:?}");
    }
}

fn stack(thicknesses: &[f64], diameter: u32) -> Value {
    let layers: Vec<Value> =
        thicknesses.iter().map(|thickness| json!({ "thickness": format!("{thickness:.4} in") })).collect();
    json!({ "stack": layers, "diameter": format!("{diameter}/32"), "rounding": "up-32" })
}

proptest! {
    #[test]
    fn length_never_falls_as_the_grip_grows(
        layers in proptest::collection::vec(0.01..0.2_f64, 1..6), more in 0.001..0.2_f64,
        diameter in prop::sample::select(vec![3_u32, 4, 5, 6, 8]),
    ) {
        let thin = calc("rivet-length", &stack(&layers, diameter));
        let mut thicker = layers;
        thicker[0] += more;
        let thick = calc("rivet-length", &stack(&thicker, diameter));
        for key in ["/required_length", "/dash_up_16", "/dash_up_32", "/dash_nearest_16", "/chosen"] {
            prop_assert!(number(&thick, key) >= number(&thin, key));
        }
    }

    #[test]
    fn volume_is_kept(
        layers in proptest::collection::vec(0.01..0.1_f64, 1..4),
        diameter in prop::sample::select(vec![3_u32, 4, 5, 6, 8]), clearance in 0.0..0.006_f64,
    ) {
        let mut input = stack(&layers, diameter);
        let d = f64::from(diameter) / 32.0;
        input["hole"] = json!(format!("{} in", d + clearance));
        let result = calc("rivet-length", &input);
        let grip = number(&result, "/grip");
        let shank = d * d * number(&result, "/chosen_length");
        let hole = (d + clearance) * (d + clearance) * grip;
        let head = number(&result, "/driven_diameter").powi(2) * number(&result, "/driven_height");
        // Before: the whole shank. After: the filled hole and the head.
        prop_assert!((shank - hole - head).abs() <= 1e-9 * shank, "{shank} {hole} {head}");
    }

    #[test]
    fn dashes_cover_the_length(grip in 0.02..1.5_f64, diameter in prop::sample::select(vec![3_u32, 4, 5, 6, 8])) {
        let result = calc("rivet-length", &stack(&[grip.min(0.9)], diameter));
        let sixteenths = number(&result, "/required_length") * 16.0;
        let (full, half) = (number(&result, "/dash_up_16"), number(&result, "/dash_up_32"));
        prop_assert!(full >= sixteenths - 1e-6 && full < sixteenths + 1.0);
        prop_assert!(half >= sixteenths - 1e-6 && half < sixteenths + 0.5);
        prop_assert!((number(&result, "/dash_nearest_16") - sixteenths).abs() <= 0.5 + 1e-6);
    }
}
