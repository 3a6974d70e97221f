//! `faying calc`.

use serde_json::{Value, json};

use crate::program::Place;

#[test]
fn a_worksheet_is_worked_out_from_standard_input_and_from_a_file() {
    let place = Place::new();
    for kind in calculations::kinds() {
        let input = kind.example().to_string();
        let ran = place.run_with(&["calc", kind.name], &input).expect(0);
        let result: Value = serde_json::from_str(&ran.out).unwrap();
        assert_eq!(result["kind"], kind.name);
        assert!(!result["cautions"].as_array().unwrap().is_empty(), "{}", kind.name);

        std::fs::write(place.path("input.json"), &input).unwrap();
        assert_eq!(place.run(&["calc", kind.name, "input.json"]).expect(0).out, ran.out);
        assert_eq!(place.run_with(&["calc", kind.name, "-"], &input).expect(0).out, ran.out);
    }
}

#[test]
fn a_bad_input_is_told_field_by_field() {
    let place = Place::new();
    let kind = calculations::kinds().next().unwrap().name;
    let ran = place.run_with(&["calc", kind], r#"{"nonsense": 1}"#).expect(2);
    assert!(ran.out.is_empty() && ran.err.contains("accepted"), "{ran:?}");
    let ran = place.run_with(&["calc", kind], "no JSON").expect(1);
    assert!(ran.err.contains("not JSON"), "{ran:?}");
    let ran = place.run(&["calc", "horoscope"]).expect(2);
    assert!(ran.err.contains(kind), "the kinds there are: {ran:?}");
    place.run(&["calc", kind, "absent.json"]).expect(1);
}

/// What people get wrong about a laminate and its resin: refused with field, reason and range, or
/// answered as far as it can be, with the reason why no further.
#[test]
fn a_laminate_that_cannot_be_is_refused_and_one_without_strength_says_so() {
    let place = Place::new();
    let glass = |e1: Value, nu12: f64, t: Value| {
        json!({
            "materials": { "glass": { "E1": e1, "E2": 8270, "G12": 4140, "nu12": nu12 } },
            "plies": [{ "m": "glass", "t": t, "a": 0 }], "load": { "N": [10, 0, 0] },
        })
    };
    let good = || json!(38600);
    let thick = || json!(0.25);
    let batch =
        |ratio: Value| json!({ "fabric_mass": "100 g", "fibre_weight_fraction": 0.5, "ratio": ratio });
    let many: Vec<Value> = vec![json!({ "material": "w7781_hand" }); 5000];
    for (kind, input, told) in [
        ("laminate", json!({ "plies": [] }), "plies: has 0 entries (accepted: 1 to 1000"),
        ("laminate", json!({ "plies": many }), "plies: has 5000 entries (accepted: 1 to 1000"),
        ("laminate", glass(json!(-38600), 0.26, thick()), "materials.glass.E1: is negative"),
        ("laminate", glass(json!(1e12), 0.26, thick()), "materials.glass.E1: is too large"),
        ("laminate", glass(good(), 2.9, thick()), "nu12: is 2.9, not possible with E1/E2"),
        ("laminate", glass(json!("38600 kg"), 0.26, thick()), "E1: `kg` is not a unit of stress"),
        ("laminate", glass(json!("NaN"), 0.26, thick()), "materials.glass.E1: "),
        ("laminate", json!({ "plies": [{ "material": "pvc75", "thickness": 0 }] }), "plies[0].t: is zero"),
        ("resin-batch", batch(json!({ "a": 100, "b": 27 })), "ratio.by: is missing"),
        ("resin-batch", batch(json!({ "by": "volume", "a": 3, "b": 1 })), "density_a: is missing"),
    ] {
        let ran = place.run_with(&["calc", kind], &input.to_string()).expect(2);
        assert!(ran.out.is_empty() && ran.err.contains(told), "{told}: {}", ran.err);
        assert!(ran.err.contains("accepted: "), "{}", ran.err);
    }
    let not_json = glass(good(), 0.26, thick()).to_string().replace("38600", "NaN");
    assert!(place.run_with(&["calc", "laminate"], &not_json).expect(1).err.contains("not JSON"));

    let answered = |kind: &str, input: &Value| -> Value {
        serde_json::from_str(&place.run_with(&["calc", kind], &input.to_string()).expect(0).out).unwrap()
    };
    let cautions = |result: &Value| result["cautions"].to_string();
    let without_strength = answered("laminate", &glass(good(), 0.26, thick()));
    assert!(without_strength["inplane"]["Ex"].as_f64().unwrap() > 38_000.0);
    assert!(cautions(&without_strength).contains("strengths are not known for glass"));
    let mut cold = batch(json!({ "by": "weight", "a": 100, "b": 27 }));
    (cold["temperature"], cold["minimum_temperature"]) = (json!("9 degC"), json!("15 degC"));
    assert!(cautions(&answered("resin-batch", &cold)).contains("Below the maker's minimum: do not mix"));
}
