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

/// How quantities are written, rightly, oddly and wrongly.
fn any_quantity() -> impl Strategy<Value = Value> {
    let number = prop_oneof![
        any::<f64>().prop_map(|number| number.to_string()),
        (-10.0..10.0_f64).prop_map(|number| format!("{number:.4}")),
        (0_u32..40, 0_u32..70).prop_map(|(over, under)| format!("{over}/{under}")),
        (0_u32..3, 1_u32..32).prop_map(|(whole, over)| format!("{whole}-{over}/32")),
        prop::sample::select(vec!["0", "-0", "1e308", "1e-308", "NaN", "inf", "#30", "F", "1,5", "½", ""])
            .prop_map(str::to_owned),
    ];
    let units = [
        "", "in", "mm", "\"", "ft", "m", "mil", "lbf", "N", "kN", "psi", "ksi", "GPa", "degC", "degF", "h",
        "g", "g/m2", "%", "lbf in", "parsec",
    ];
    (number, prop::sample::select(units.to_vec()), prop::sample::select(vec!["", " ", "\u{a0}"]))
        .prop_map(|(number, unit, space)| Value::from(format!("{number}{space}{unit}")))
}

/// A result whole in all its numbers, or refusals that each name field, reason and what is accepted.
fn answers_or_refuses(kind: &str, input: &Value) -> Result<(), TestCaseError> {
    match calculations::calculate(kind, input) {
        Ok(result) => {
            let drawing = result.drawing.as_deref().unwrap_or_default();
            // A hole may be called so; a place must not.
            let named = ["NaN", "inf"].iter().any(|word| drawing.contains(&format!(">{word}")));
            let drawn = drawing.contains("NaN") || drawing.contains("inf");
            prop_assert!(named || !drawn, "{} {}", kind, input);
            let result = serde_json::to_value(&result).unwrap();
            prop_assert!(has_no_holes_where_numbers_belong(&result), "{} {}", kind, input);
        }
        Err(calculations::CalcError::BadInput(bad)) => {
            prop_assert!(!bad.is_empty());
            for bad in bad {
                let whole = !bad.reason.is_empty() && !bad.accepted.is_empty();
                // Only an input that is no object at all, or whose result is no number, has no field to name.
                let named =
                    !bad.field.is_empty() || !input.is_object() || bad.reason.contains("not a finite number");
                prop_assert!(whole && named, "{} {}: {:?}", kind, input, bad);
            }
        }
        Err(other) => prop_assert!(false, "{}", other),
    }
    Ok(())
}

/// Short by default; `PROPTEST_CASES` makes a campaign of it.
fn config() -> ProptestConfig {
    let cases = std::env::var("PROPTEST_CASES").ok().and_then(|cases| cases.parse().ok()).unwrap_or(400);
    ProptestConfig { cases, max_global_rejects: u32::MAX, ..ProptestConfig::default() }
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn no_json_makes_a_kind_panic(input in any_json()) {
        for kind in calculations::kinds() {
            answers_or_refuses(kind.name, &input)?;
        }
    }

    #[test]
    fn no_spoiled_example_makes_a_kind_panic(
        which in any::<prop::sample::Index>(),
        spoils in proptest::collection::vec(
            (proptest::collection::vec(0_usize..8, 1..5), prop::option::of(any_json())), 1..4,
        ),
    ) {
        let kinds: Vec<_> = calculations::kinds().collect();
        let kind = kinds[which.index(kinds.len())];
        let mut input = kind.example();
        for (path, with) in &spoils {
            spoil(&mut input, path, with.as_ref());
        }
        answers_or_refuses(kind.name, &input)?;
    }

    #[test]
    fn no_quantity_makes_a_kind_panic(
        which in any::<prop::sample::Index>(),
        spoils in proptest::collection::vec(
            (proptest::collection::vec(0_usize..8, 1..5), any_quantity()), 1..4,
        ),
    ) {
        let kinds: Vec<_> = calculations::kinds().collect();
        let kind = kinds[which.index(kinds.len())];
        let mut input = kind.example();
        for (path, with) in &spoils {
            spoil(&mut input, path, Some(with));
        }
        answers_or_refuses(kind.name, &input)?;
    }

    #[test]
    fn no_part_number_makes_its_reader_panic(
        text in prop_oneof!["\\PC{0,24}", "(MS|AN)[0-9]{3,5}[A-D]{0,3}[0-9]{0,2}[-–]?[0-9.]{0,5}"],
    ) {
        answers_or_refuses("part-number", &json!({ "part_number": text }))?;
    }
}
