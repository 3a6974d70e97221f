//! What holds for every kind in the table, fasteners and laminates alike.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use proptest::prelude::*;
use serde_json::{Map, Value, json};

/// Every number in a result is a number: serde writes NaN and infinity as null.
fn has_no_holes_where_numbers_belong(value: &Value) -> bool {
    match value {
        Value::Object(object) => {
            let quantity = object.contains_key("value") && object.contains_key("unit");
            (!quantity || object["value"].is_f64()) && object.values().all(has_no_holes_where_numbers_belong)
        }
        Value::Array(list) => list.iter().all(has_no_holes_where_numbers_belong),
        Value::Number(number) => number.as_f64().is_some_and(f64::is_finite),
        _ => true,
    }
}

#[test]
fn every_example_works_and_is_complete() {
    let mut names = Vec::new();
    for kind in calculations::kinds() {
        let input = kind.example();
        assert!(input.is_object(), "{} has an example", kind.name);
        let result = calculations::calculate(kind.name, &input)
            .unwrap_or_else(|error| panic!("{}: {error}", kind.name));
        assert_eq!(result.kind.0, kind.name);
        assert!(result.engine.starts_with("faying-calculations "));
        assert!(!result.lines.is_empty(), "{} shows its working", kind.name);
        assert!(result.cautions.iter().any(|caution| caution.code == "working-aid"), "{}", kind.name);
        assert!(!result.outputs.is_empty());
        for line in &result.lines {
            assert!(!line.meaning.is_empty() && line.formula.contains('='), "{}: {line:?}", kind.name);
            assert!(line.substituted.contains('='), "{}: {line:?}", kind.name);
        }
        if let Some(drawing) = &result.drawing {
            assert!(drawing.starts_with("<svg ") && drawing.ends_with("</svg>"));
            assert!(!drawing.contains("NaN") && !drawing.contains("style="));
        }
        assert!(has_no_holes_where_numbers_belong(&serde_json::to_value(&result).unwrap()), "{}", kind.name);
        // Equal inputs, equal results.
        assert_eq!(calculations::calculate(kind.name, &input).unwrap(), result);
        names.push(kind.name);
    }
    let count = names.len();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), count, "no kind twice");
}

#[test]
fn every_kind_refuses_an_unknown_field_and_names_it() {
    for kind in calculations::kinds() {
        let mut input = kind.example();
        input["no_such_field"] = json!(1);
        match calculations::calculate(kind.name, &input) {
            Err(calculations::CalcError::BadInput(bad)) => {
                assert_eq!(bad[0].field, "no_such_field", "{}", kind.name);
            }
            other => panic!("{}: {other:?}", kind.name),
        }
    }
}

#[test]
fn an_unknown_kind_is_answered_with_the_kinds() {
    match calculations::calculate("horoscope", &json!({})) {
        Err(calculations::CalcError::UnknownKind(kinds)) => assert!(kinds.contains(&"rivet-length")),
        other => panic!("{other:?}"),
    }
}

#[cfg(feature = "schema")]
#[test]
fn every_kind_has_a_schema_that_closes_its_fields() {
    for kind in calculations::kinds() {
        let schema = calculations::schema(kind.name).unwrap();
        assert_eq!(schema["title"], kind.name);
        assert_eq!(schema["additionalProperties"], json!(false), "{}", kind.name);
        for key in kind.example().as_object().unwrap().keys() {
            assert!(schema["properties"].get(key).is_some(), "{}: {key}", kind.name);
        }
    }
}

/// Any JSON at all.
fn any_json() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        any::<i64>().prop_map(Value::from),
        any::<f64>().prop_map(Value::from),
        "\\PC{0,12}".prop_map(Value::from),
        "-?[0-9]{1,3}(\\.[0-9]{1,4})?( (in|mm|m|lbf|N|psi|MPa|degC))?".prop_map(Value::from),
    ];
    leaf.prop_recursive(3, 24, 6, |inner| {
        prop_oneof![
            proptest::collection::vec(inner.clone(), 0..5).prop_map(Value::from),
            proptest::collection::btree_map("[a-z_]{1,10}", inner, 0..5)
                .prop_map(|map| Value::Object(Map::from_iter(map))),
        ]
    })
}

/// Replaces, removes or adds to one place in a JSON value, chosen by `path`.
fn spoil(value: &mut Value, path: &[usize], with: Option<&Value>) {
    let Some((step, rest)) = path.split_first() else {
        if let Some(with) = with {
            *value = with.clone();
        }
        return;
    };
    match value {
        Value::Object(object) if !object.is_empty() => {
            let key = object.keys().nth(step % object.len()).unwrap().clone();
            if rest.is_empty() && with.is_none() {
                object.remove(&key);
            } else {
                spoil(&mut object[&key], rest, with);
            }
        }
        Value::Array(list) if !list.is_empty() => {
            let place = step % list.len();
            if rest.is_empty() && with.is_none() {
                list.remove(place);
            } else {
                spoil(&mut list[place], rest, with);
            }
        }
        leaf => {
            if let Some(with) = with {
                *leaf = with.clone();
            }
        }
    }
}

fn answers_or_refuses(kind: &str, input: &Value) -> Result<(), TestCaseError> {
    match calculations::calculate(kind, input) {
        Ok(result) => {
            let result = serde_json::to_value(&result).unwrap();
            prop_assert!(has_no_holes_where_numbers_belong(&result), "{} {}", kind, input);
        }
        Err(calculations::CalcError::BadInput(bad)) => {
            prop_assert!(!bad.is_empty());
            for bad in bad {
                prop_assert!(!bad.reason.is_empty() && !bad.accepted.is_empty(), "{}: {:?}", kind, bad);
            }
        }
        Err(other) => prop_assert!(false, "{}", other),
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn no_json_makes_a_kind_panic(input in any_json()) {
        for kind in calculations::kinds() {
            answers_or_refuses(kind.name, &input)?;
        }
    }

    #[test]
    fn no_spoiled_example_makes_a_kind_panic(
        which in any::<prop::sample::Index>(), path in proptest::collection::vec(0_usize..8, 1..5),
        with in prop::option::of(any_json()),
    ) {
        let kinds: Vec<_> = calculations::kinds().collect();
        let kind = kinds[which.index(kinds.len())];
        let mut input = kind.example();
        spoil(&mut input, &path, with.as_ref());
        answers_or_refuses(kind.name, &input)?;
    }

    #[test]
    fn no_number_makes_a_kind_panic(
        which in any::<prop::sample::Index>(), path in proptest::collection::vec(0_usize..8, 1..5),
        number in prop_oneof![any::<f64>(), -10.0..10.0_f64, Just(0.0), Just(1e308), Just(1e-308)],
        unit in prop::sample::select(vec!["in", "mm", "m", "lbf", "N", "psi", "GPa", "degC", "h", "g", ""]),
    ) {
        let kinds: Vec<_> = calculations::kinds().collect();
        let kind = kinds[which.index(kinds.len())];
        let mut input = kind.example();
        spoil(&mut input, &path, Some(&json!(format!("{number} {unit}"))));
        answers_or_refuses(kind.name, &input)?;
    }
}
