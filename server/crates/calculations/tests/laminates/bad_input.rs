//! No input makes the engine panic, and no number comes out that is not finite.

use calculations::CalcError;
use proptest::prelude::*;
use serde_json::{Map, Number, Value, json};

/// The laminate half of the table of kinds.
fn kinds() -> impl Iterator<Item = &'static calculations::Kind> {
    calculations::laminates::KINDS.iter()
}

/// Refused properly, or a result without a number that is not finite.
fn survives(kind: &str, input: &Value) {
    match calculations::calculate(kind, input) {
        Ok(result) => {
            assert!(!result.cautions.is_empty(), "{kind}: {input}");
            assert!(!result.lines.is_empty(), "{kind}: {input}");
            let text = serde_json::to_string(&result).unwrap();
            // serde_json writes NaN and infinity as null; a quantity's value never is.
            assert!(!text.contains(r#""value":null"#), "{kind}: {input} gives {text}");
            // Words such as "infinite" do not occur in ours either.
            assert!(!text.contains("NaN") && !text.contains("inf "), "{kind}: {input}");
        }
        Err(CalcError::BadInput(refusals)) => {
            assert!(!refusals.is_empty(), "{kind}: {input}");
            for bad in refusals {
                assert!(!bad.reason.is_empty() && !bad.accepted.is_empty(), "{kind}: {bad:?}");
            }
        }
        Err(CalcError::UnknownKind(_)) => panic!("{kind} is not in the table"),
    }
}

#[test]
fn every_kind_works_its_own_example_out() {
    for kind in kinds() {
        let example = kind.example();
        assert!(example.is_object(), "{} has no example", kind.name);
        if let Err(error) = calculations::calculate(kind.name, &example) {
            panic!("{}: {error}", kind.name);
        }
        survives(kind.name, &example);
    }
}

#[test]
fn unknown_fields_are_refused_everywhere() {
    for kind in kinds() {
        let mut example = kind.example();
        example["flux_capacitor"] = json!(1.21);
        let Err(CalcError::BadInput(bad)) = calculations::calculate(kind.name, &example) else {
            panic!("{} took an unknown field", kind.name);
        };
        assert_eq!(bad[0].field, "flux_capacitor", "{}", kind.name);
    }
}

#[test]
fn things_that_are_not_an_input_are_refused() {
    for kind in kinds() {
        for input in [json!(null), json!([]), json!(7), json!("x"), json!({})] {
            assert!(calculations::calculate(kind.name, &input).is_err(), "{}: {input}", kind.name);
            survives(kind.name, &input);
        }
    }
}

/// Values that people and programs send.
fn nasty() -> impl Strategy<Value = Value> {
    prop_oneof![
        Just(json!(null)),
        any::<bool>().prop_map(Value::Bool),
        any::<i64>().prop_map(Value::from),
        any::<f64>().prop_map(|x| Number::from_f64(x).map_or(json!(null), Value::Number)),
        prop_oneof![
            Just(0.0),
            Just(-0.0),
            Just(1e-300),
            Just(1e300),
            Just(-1.0),
            Just(0.5),
            Just(1e-9),
            Just(f64::MIN_POSITIVE),
            Just(f64::MAX),
            Just(45.0),
            Just(1e6),
            Just(0.9999999)
        ]
        .prop_map(Value::from),
        prop_oneof![
            Just("NaN"),
            Just("inf"),
            Just("-1 mm"),
            Just("0 mm"),
            Just("1e308 mm"),
            Just("0.25 mm"),
            Just("10 in"),
            Just("1e-300 MPa"),
            Just("40 GPa"),
            Just("300 g/m2"),
            Just("20 degC"),
            Just("-400 degC"),
            Just("1 h"),
            Just("1e9 d"),
            Just("50 %"),
            Just("1/0"),
            Just(""),
            Just("8.9 oz"),
            Just("1.2 g/cm3"),
            Just("w7781_hand"),
            Just("E-glass style 7781"),
            Just("oval"),
            Just("both"),
            Just("volume"),
            Just("double-lap"),
            Just("\u{0}"),
            Just("½ in")
        ]
        .prop_map(|text| json!(text)),
        "\\PC{0,12}".prop_map(Value::String),
    ]
}

/// Any JSON, not too deep.
fn any_json() -> impl Strategy<Value = Value> {
    nasty().prop_recursive(3, 24, 5, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..5).prop_map(Value::Array),
            prop::collection::btree_map("[a-zA-Z0-9_]{1,8}", inner, 0..5)
                .prop_map(|map| Value::Object(Map::from_iter(map))),
        ]
    })
}

/// All places of a value, as JSON pointers.
fn places(value: &Value, at: &str, out: &mut Vec<String>) {
    out.push(at.to_owned());
    match value {
        Value::Object(fields) => {
            for (key, value) in fields {
                places(value, &format!("{at}/{key}"), out);
            }
        }
        Value::Array(list) => {
            for (place, value) in list.iter().enumerate() {
                places(value, &format!("{at}/{place}"), out);
            }
        }
        _ => {}
    }
}

/// Inputs that use what the examples leave out.
fn inputs(kind: &calculations::Kind) -> Vec<Value> {
    let mut inputs = vec![kind.example()];
    let more = match kind.name {
        "resin-batch" => json!({ "fabric_mass": "300 g", "fibre_weight_fraction": 0.5,
            "ratio": { "by": "volume", "a": 3, "b": 1 }, "density_a": "1.1 g/cm3", "density_b": "1 g/cm3",
            "resin": "polyester" }),
        "ply-thickness" => json!({ "areal_weight": "300 g/m2", "fibre_density": "2.56 g/cm3",
            "panel": { "thickness": "2 mm", "plies": 6 }, "form": "mat", "units": "inch" }),
        "laminate" => json!({ "materials": { "ge": { "E1": 38600, "E2": 8270, "G12": 4140, "nu12": 0.26,
            "Xt": 1062, "Xc": 610, "Yt": 31, "Yc": 118, "S": 72, "rho": 1800, "a1": 8.6e-6, "a2": 22.1e-6,
            "b1": 0, "b2": 0.6 } },
            "plies": [{ "m": "ge", "t": 0.25, "a": 30 }, { "cloth": "E-glass style 7781",
            "resin": "epoxy, general", "fibre_fraction": 0.4, "warp_fraction": 0.5, "angle": 45, "count": 2 }],
            "load": { "N": [1, 2, 3], "M": [1, 2, 3], "dT": -50, "dC": 0.01 },
            "last_ply_criterion": "tsai_hill" }),
        "layup-compare" => json!({ "parent": [{ "material": "w7781_vac" }],
            "shelf": [{ "ply": { "material": "w120_hand" }, "angles": [0, 45], "most": 4 }],
            "load": { "N": [10, 0, 0] }, "soft_below": 0.8, "hard_above": 1.5, "most_plies": 6 }),
        "lamina" => json!({ "m": { "E1": 38600, "E2": 8270, "G12": 4140, "nu12": 0.26, "Xt": 1062,
            "Xc": 610, "Yt": 31, "Yc": 118, "S": 72 }, "a": 30, "sig_xy": [1, 2, 3] }),
        "patch" => json!({ "damage": { "shape": "rectangle", "length": "80 mm", "width": "40 mm",
            "corner_radius": "5 mm" }, "plies": 3, "areal_weight": "300 g/m2", "ply_thickness": "0.3 mm",
            "taper_ratio": 60, "side": "both", "fibre_weight_fraction": 0.5, "cloth_width": "1 m",
            "gap": "5 mm", "extra_plies": 2, "template": true }),
        "cure" => json!({ "goals": [{ "goal": "load", "time": "24 h", "at": "22 degC" }],
            "stages": [{ "time": "5 h", "at": "18 degC", "to": "25 degC" }],
            "post_cure": { "time": "4 h", "at": "60 degC", "most": "70 degC", "ramp": "1 degC/min" } }),
        "bonded-lap" => json!({ "joint": "double-lap", "p": 100, "length": 40, "e1": 17000, "t1": 0.67,
            "e2": 73100, "t2": 1.016, "ga": 900, "ta": 0.2, "tau_p": 35, "gam_e": 0.05, "gam_p": 0.3,
            "nu": 0.3, "tau_limit": 20 }),
        "moisture" => json!({ "thickness": "2 mm", "faces": "both", "temperature": "65 degC",
            "D0": "12 mm2/s", "C": 5000, "most": "70 degC" }),
        _ => return inputs,
    };
    inputs.push(more);
    inputs
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    #[test]
    fn any_json_at_all(which in 0..calculations::laminates::KINDS.len(), input in any_json()) {
        survives(calculations::laminates::KINDS[which].name, &input);
    }

    #[test]
    fn an_input_with_some_values_replaced(
        which in 0..calculations::laminates::KINDS.len(),
        other in any::<prop::sample::Index>(),
        changes in prop::collection::vec((any::<prop::sample::Index>(), any_json()), 1..4),
    ) {
        let kind = &calculations::laminates::KINDS[which];
        let inputs = inputs(kind);
        let mut input = inputs[other.index(inputs.len())].clone();
        for (place, value) in changes {
            let mut all = Vec::new();
            places(&input, "", &mut all);
            if let Some(target) = input.pointer_mut(&all[place.index(all.len())]) {
                *target = value;
            }
        }
        survives(kind.name, &input);
    }

    #[test]
    fn an_input_with_its_numbers_scaled(
        which in 0..calculations::laminates::KINDS.len(),
        other in any::<prop::sample::Index>(),
        place in any::<prop::sample::Index>(),
        factor in prop_oneof![Just(0.0), Just(-1.0), Just(1e3), Just(1e6), Just(1e-3), Just(1e-6), 0.01..100.0_f64],
    ) {
        let kind = &calculations::laminates::KINDS[which];
        let inputs = inputs(kind);
        let mut input = inputs[other.index(inputs.len())].clone();
        let mut all = Vec::new();
        places(&input, "", &mut all);
        if let Some(target) = input.pointer_mut(&all[place.index(all.len())]) {
            if let Some(number) = target.as_f64() {
                *target = json!(number * factor);
            } else if let Some(text) = target.as_str()
                && let Some((number, unit)) = text.split_once(' ')
                && let Ok(number) = number.parse::<f64>()
            {
                *target = json!(format!("{} {unit}", number * factor));
            }
        }
        survives(kind.name, &input);
    }
}
