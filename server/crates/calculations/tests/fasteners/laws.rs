//! Laws that hold for any input: loads balance, layouts are symmetric, numbers read back.

use proptest::prelude::*;
use serde_json::{Value, json};

use super::{calc, near, number, text};

fn group(places: &[(f64, f64, u32)], load: (f64, f64), at: (f64, f64), moment: f64) -> Value {
    let fasteners: Vec<Value> = places
        .iter()
        .map(|(x, y, size)| json!({ "x": format!("{x} in"), "y": format!("{y} in"), "diameter": format!("{size}/32 in") }))
        .collect();
    json!({
        "fasteners": fasteners,
        "load": {
            "fx": format!("{} lbf", load.0), "fy": format!("{} lbf", load.1),
            "at": { "x": format!("{} in", at.0), "y": format!("{} in", at.1) },
            "moment": format!("{moment} lbf in"),
        },
    })
}

proptest! {
    #[test]
    fn group_loads_sum_to_the_applied_load_and_moment(
        places in proptest::collection::vec((-10.0..10.0_f64, -10.0..10.0_f64, 3_u32..9), 2..20),
        load in (-1000.0..1000.0_f64, -1000.0..1000.0_f64),
        at in (-20.0..20.0_f64, -20.0..20.0_f64), moment in -5000.0..5000.0_f64,
    ) {
        let spread = places.iter().any(|(x, y, _)| (x - places[0].0).abs() + (y - places[0].1).abs() > 0.1);
        prop_assume!(spread);
        let result = calc("fastener-group", &group(&places, load, at, moment));
        let (mut fx, mut fy, mut turn, mut most) = (0.0, 0.0, 0.0, 0.0_f64);
        for (place, (x, y, _)) in places.iter().enumerate() {
            let (rx, ry) = (number(&result, &format!("/fasteners/{place}/fx")), number(&result, &format!("/fasteners/{place}/fy")));
            fx += rx;
            fy += ry;
            turn += x * ry - y * rx;
            most = most.max(number(&result, &format!("/fasteners/{place}/load")));
        }
        let applied = at.0 * load.1 - at.1 * load.0 + moment;
        let size = 1e-7 * (load.0.abs() + load.1.abs() + applied.abs() + most * 10.0 + 1.0);
        prop_assert!((fx - load.0).abs() < size && (fy - load.1).abs() < size, "{fx} {fy}");
        prop_assert!((turn - applied).abs() < 100.0 * size, "{turn} {applied}");
        prop_assert!((number(&result, "/worst/load") - most).abs() < size);
    }

    #[test]
    fn layouts_are_symmetric_and_end_clearances_exact(
        length in 3.0..60.0_f64, end in 0.25..0.9_f64, dash in prop::sample::select(vec![3_u32, 4, 5, 6]),
        target in 0.5..1.5_f64, rows in 1_u32..4, staggered in any::<bool>(),
    ) {
        let input = json!({
            "edge_length": format!("{length} in"), "end_clearance": format!("{end} in"),
            "diameter": format!("{dash}/32 in"), "pitch_target": format!("{target} in"),
            "rows": rows, "staggered": staggered,
        });
        let result = calc("row-layout", &input);
        let count = number(&result, "/count");
        let positions = result["positions"].as_array().unwrap();
        for row in 1..=rows {
            let running: Vec<f64> = positions
                .iter()
                .filter(|position| position["row"] == json!(row))
                .map(|position| number(position, "/running"))
                .collect();
            for (first, last) in running.iter().zip(running.iter().rev()) {
                prop_assert!((first + last - length).abs() < 1e-9, "{first} {last}");
            }
            let between = staggered && row % 2 == 0;
            prop_assert_eq!(running.len() as f64, if between { count - 1.0 } else { count });
            if !between {
                prop_assert!((running[0] - end).abs() < 1e-10);
                prop_assert!((running[running.len() - 1] - (length - end)).abs() < 1e-10);
            }
            for pair in running.windows(2) {
                prop_assert!((pair[1] - pair[0] - number(&result, "/pitch")).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn part_numbers_read_back_what_is_written(
        head in prop::sample::select(vec!["universal", "countersunk"]),
        alloy in prop::sample::select(vec!["A", "AD", "B", "D", "DD"]),
        diameter in prop::sample::select(vec![2_u32, 3, 4, 5, 6, 8, 10, 12]), halves in 4_u32..=128,
    ) {
        let wanted = json!({
            "head": head, "alloy": alloy, "diameter": format!("{diameter}/32 in"), "length": format!("{halves}/32 in"),
        });
        let written = calc("part-number", &wanted);
        for key in ["/part_number", "/also"] {
            let read = calc("part-number", &json!({ "part_number": text(&written, key) }));
            for key in ["part_number", "head", "alloy", "marking", "diameter", "length"] {
                prop_assert_eq!(&read[key], &written[key]);
            }
        }
    }

    #[test]
    fn part_numbers_that_are_not_read_point_at_a_character(text in "[ MSAN0-9BD.\\-x–]{0,14}") {
        if let Err(calculations::CalcError::BadInput(bad)) =
            calculations::calculate("part-number", &json!({ "part_number": text }))
        {
            prop_assert_eq!(bad[0].field.as_str(), "part_number");
            let at = bad[0].reason.strip_prefix("at character ").unwrap();
            let at: usize = at.split(':').next().unwrap().parse().unwrap();
            prop_assert!((1..=text.chars().count() + 1).contains(&at), "{} in {:?}", at, text);
        }
    }

    #[test]
    fn a_joint_is_as_strong_as_itself_whichever_way_its_holes_are_told(
        dash in prop::sample::select(vec![3_u32, 4, 5, 6]), sheet in 0.02..0.1_f64, pitch in 0.7..1.2_f64, count in 1_usize..30,
    ) {
        let side = json!({
            "alloy": "AD", "diameter": format!("{dash}/32"), "pitch": format!("{pitch} in"),
            "layers": [{ "material": "2024-T3", "thickness": format!("{sheet} in"), "edge": "0.4 in" }],
        });
        let mut told = side.clone();
        told["holes"] = json!(vec![json!({}); count]);
        let result = calc("joint-compare", &json!({ "as_found": side, "repaired": told }));
        for mode in ["shear", "bearing", "net_section", "shear_out", "strength"] {
            let ratio = number(&result["ratios"], &format!("/{mode}"));
            prop_assert!((ratio - 1.0).abs() < 1e-9);
        }
        prop_assert_eq!(&result["weaker"], &json!([]));
    }

    #[test]
    fn a_hole_that_goes_up_is_covered_by_its_new_size(
        dash in prop::sample::select(vec![3_u32, 4, 5, 6, 8]), wear in 0.0..0.12_f64, oval in 0.0..0.02_f64,
    ) {
        let d = f64::from(dash) / 32.0;
        let (long, short) = (d + 0.004 + wear, d + 0.004 + (wear - oval).max(0.0));
        let input = json!({
            "diameter": format!("{dash}/32 in"), "measured": format!("{long} in"), "measured_across": format!("{short} in"),
        });
        let result = calc("hole", &input);
        match text(&result, "/action") {
            "go-up" => {
                prop_assert!(number(&result, "/new_diameter") > d);
                let cleaned = number(&result, "/drill_diameter") >= long - 1e-9;
                let fits = number(&result, "/hole_min") <= short + 1e-9 && number(&result, "/hole_max") >= long - 1e-9;
                prop_assert!(cleaned || fits);
            }
            "keep" | "drill" => prop_assert!(number(&result, "/hole_max") >= long - 1e-9),
            other => prop_assert_eq!(other, "cannot-go-up"),
        }
    }

    #[test]
    fn a_wider_washer_presses_less(outside in 0.26..1.0_f64, more in 0.01..0.5_f64) {
        let with = |outside: f64| {
            let input = json!({
                "alloy": "AD", "diameter": "1/8", "hole": "#30", "laminate": "glass cloth laminate",
                "washer": { "outside": format!("{outside} in"), "inside": "0.130 in" },
            });
            calc("clamp", &input)
        };
        let (narrow, wide) = (with(outside), with(outside + more));
        prop_assert!(number(&wide, "/pressure") < number(&narrow, "/pressure"));
        prop_assert!(number(&narrow, "/pressure") < number(&narrow, "/pressure_without_washer"));
        prop_assert!((number(&wide, "/squeeze_force") - number(&narrow, "/squeeze_force")).abs() < 1e-9);
    }
}

#[test]
fn curved_edges_keep_their_pitch_along_the_row() {
    // A convex arc: the row lies inside it and is shorter by offset over radius.
    let input = json!({
        "edge_length": "20 in", "radius": "10 in", "end_clearance": "0.4 in", "diameter": "1/8",
        "edge_distance": "0.5 in", "pitch_target": "0.75 in",
    });
    let result = calc("row-layout", &input);
    let row = 20.0 * 9.5 / 10.0;
    let spaces = ((row - 0.8) / 0.75_f64).round();
    near(number(&result, "/count"), spaces + 1.0, 0.0);
    near(number(&result, "/pitch"), (row - 0.8) / spaces, 1e-9);
    // Each hole stands half an inch inside the arc of 10 in about the origin.
    for position in result["positions"].as_array().unwrap() {
        let (x, y) = (number(position, "/x"), number(position, "/y"));
        near((x * x + y * y).sqrt(), 9.5, 1e-9);
    }
    // The part lies to the left of the edge: seen along the row, towards the arc's centre.
    let (first, second) = (&result["positions"][0], &result["positions"][1]);
    let along = (number(second, "/x") - number(first, "/x"), number(second, "/y") - number(first, "/y"));
    let inward = (-number(first, "/x"), -number(first, "/y"));
    assert!(along.0 * inward.1 - along.1 * inward.0 > 0.0);
}

#[test]
fn holes_that_stay_are_kept_where_they_are() {
    let input = json!({
        "edge_length": "12 in", "end_clearance": "0.375 in", "diameter": "1/8 in", "pitch_target": "0.75 in",
        "keep": ["4.1 in", "0.5 in"],
    });
    let result = calc("row-layout", &input);
    let kept: Vec<f64> = result["positions"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|position| position["kept"] == json!(true))
        .map(|position| number(position, "/running"))
        .collect();
    // The first kept hole is so near to where the end hole would be that it takes its place.
    assert_eq!(kept, [0.5, 4.1]);
    near(number(&result, "/positions/0/running"), 0.5, 1e-12);
    near(number(&result["spans"][0], "/pitch"), 3.6 / 5.0, 1e-9);
}

#[test]
fn a_softer_alloy_is_said_plainly() {
    let side = |alloy: &str, diameter: &str| {
        json!({
            "alloy": alloy, "diameter": diameter, "pitch": "0.75 in",
            "layers": [{ "material": "2024-T3", "thickness": "0.05 in", "edge": "0.4 in" }],
        })
    };
    let result =
        calc("joint-compare", &json!({ "as_found": side("AD", "1/8"), "repaired": side("A", "1/8") }));
    // 9.5 ksi over 30 ksi.
    near(number(&result, "/ratios/shear"), 9.5 / 30.0, 1e-9);
    assert_eq!(result["weaker"], json!(["shear"]));
    let says = text(&result, "/says/0");
    assert!(
        says.contains("31.7 percent") && says.contains("68 percent weaker") && says.contains("its own data"),
        "{says}"
    );
    assert_eq!(text(&result, "/verdict"), "outside");
}

#[test]
fn joints_hole_by_hole() {
    let layers = json!([{ "material": "2024-T3", "thickness": "0.05 in", "edge": "0.4 in" }]);
    let as_found = json!({ "alloy": "AD", "diameter": "1/8", "pitch": "0.75 in", "layers": layers });
    let mut repaired = as_found.clone();
    repaired["holes"] = json!([{}, { "diameter": "5/32" }, {}, { "diameter": "5/32", "edge": "0.3 in" }]);
    let result = calc("joint-compare", &json!({ "as_found": as_found, "repaired": repaired }));
    // The mean of two sizes: (0.1285² + 0.1590²) / 2 over 0.1285², less what thin sheet costs the larger.
    let factor = 1.0 - 0.04 * (0.15625 / 0.05 - 3.0);
    let expected = (1.0 + 0.159_f64.powi(2) / 0.1285_f64.powi(2) * factor) / 2.0;
    near(number(&result, "/ratios/shear"), expected, 1e-9);
    assert_eq!(result["weaker"], json!(["net_section", "shear_out"]));
}

#[test]
fn double_shear_doubles_and_the_middle_layer_takes_it_all() {
    let layer = |t: &str| json!({ "material": "2024-T3", "thickness": t, "edge": "0.4 in" });
    let input = json!({
        "alloy": "AD", "diameter": "1/8", "planes": 2, "layers": [layer("0.2"), layer("0.032"), layer("0.2")],
    });
    let result = calc("rivet-strength", &input);
    let factor = 1.0 - 0.13 * (0.125 / 0.032 - 1.5);
    near(number(&result, "/thickness_factor"), factor, 1e-9);
    let single =
        calc("rivet-strength", &json!({ "alloy": "AD", "diameter": "1/8", "layers": [layer("0.2")] }));
    near(number(&result, "/shear_full"), 2.0 * number(&single, "/shear_full"), 1e-6);
    assert!(text(&result, "/governing").starts_with("bearing of layer 2"));
    near(number(&result, "/allowable"), 129e3 * 0.125 * 0.032, 1e-6);
}

#[test]
fn what_was_not_held_against_the_larger_rivet_is_said() {
    let says = |input| calc("hole", &input)["cautions"].to_string();
    let some = says(json!({ "diameter": "1/8", "measured": "0.140", "pitch": "1 in" }));
    assert!(some.contains("Not given, so not checked for the larger rivet: edge distance, sheet."), "{some}");
    let whole = json!({
        "diameter": "1/8", "measured": "0.140", "pitch": "1 in", "edge": "1 in", "layers": [{ "thickness": "0.06" }],
    });
    assert!(!says(whole).contains("unchecked"));
}

#[test]
fn a_part_number_error_points_at_the_character() {
    for (text, at) in [
        ("MS20471AD4-5", 7),
        ("MS20470XD4-5", 8),
        ("MS20470AD7-5", 10),
        ("MS20470AD4 5", 12),
        ("MS20470AD4-", 12),
        ("MS20470AD4-5.3", 14),
        ("MS20470AD4-99", 12),
        ("MS20470AD4-5X", 13),
        ("XX", 1),
        ("AN470AD", 8),
    ] {
        let error = calculations::calculate("part-number", &json!({ "part_number": text })).unwrap_err();
        let words = error.to_string();
        assert!(words.contains(&format!("at character {at}:")), "{text}: {words}");
    }
    // A long dash and small letters are read; white space is passed over.
    let result = calc("part-number", &json!({ "part_number": "an 470 ad4–3.5" }));
    assert_eq!(text(&result, "/part_number"), "MS20470AD4-3.5");
}
