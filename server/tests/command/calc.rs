//! `faying calc`.

use serde_json::Value;

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
