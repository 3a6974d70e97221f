//! Bad input of every kind: the refusal names its field.

use serde_json::json;

use super::refused_fields;

/// A kind, a field that must be named, and an input that is bad there.
const CASES: [(&str, &str, &str); 36] = [
    ("part-number", "part_number", r#"{ "part_number": "MS20471AD4-5" }"#),
    ("part-number", "alloy", r#"{ "part_number": "MS20470AD4-5", "alloy": "A" }"#),
    ("part-number", "alloy", r#"{}"#),
    (
        "driven-head",
        "driven_diameter",
        r#"{ "diameter": "1/8", "driven_diameter": "-0.19", "driven_height": "0.06" }"#,
    ),
    (
        "driven-head",
        "diameter",
        r#"{ "diameter": "5/16", "driven_diameter": "0.45", "driven_height": "0.16" }"#,
    ),
    ("hole", "diameter", r#"{ "diameter": "0.14" }"#),
    ("hole", "measured", r#"{ "diameter": "1/8", "measured_across": "0.13" }"#),
    ("hole", "pattern", r#"{ "diameter": "1/8", "pattern": { "rivets": 0, "oversize": 0 } }"#),
    ("row-layout", "edge_length", r#"{ "end_clearance": "0.3", "diameter": "1/8" }"#),
    (
        "row-layout",
        "end_clearance",
        r#"{ "edge_length": "1 in", "end_clearance": "0.45", "diameter": "1/8" }"#,
    ),
    (
        "row-layout",
        "pitch_target",
        r#"{ "edge_length": "60 ft", "end_clearance": "0.3", "diameter": "1/16", "pitch_target": "0.2" }"#,
    ),
    (
        "row-layout",
        "edge",
        r#"{ "edge_length": "9", "edge": [["0","0"],["9","0"]], "end_clearance": "0.3", "diameter": "1/8" }"#,
    ),
    (
        "row-layout",
        "edge",
        r#"{ "edge": [["0","0"],["4","4"],["0","4"],["4","0"]], "end_clearance": "0.3", "diameter": "1/8" }"#,
    ),
    (
        "row-layout",
        "count",
        r#"{ "edge_length": "12", "end_clearance": "0.3", "diameter": "1/8", "count": 200 }"#,
    ),
    (
        "pattern",
        "edges[1]",
        r#"{ "diameter": "1/8", "edges": [[["0","0"],["4","0"]],[["2","-1"],["2","0"],["2","1"]]], "holes": [{ "id": "1", "x": "1", "y": "0.3" }] }"#,
    ),
    (
        "clamp",
        "washer",
        r#"{ "alloy": "AD", "diameter": "1/8", "laminate": "glass cloth laminate", "washer": "AN960-4" }"#,
    ),
    (
        "row-layout",
        "radius",
        r#"{ "edge_length": "9", "radius": "0.1", "end_clearance": "0.3", "diameter": "1/8" }"#,
    ),
    ("row-layout", "rows", r#"{ "edge_length": "9", "end_clearance": "0.3", "diameter": "1/8", "rows": 9 }"#),
    (
        "rivet-strength",
        "layers[0].material",
        r#"{ "alloy": "AD", "diameter": "1/8", "layers": [{ "material": "cheese", "thickness": "0.03" }] }"#,
    ),
    (
        "rivet-strength",
        "planes",
        r#"{ "alloy": "AD", "diameter": "1/8", "planes": 3, "layers": [{ "material": "2024-T3", "thickness": "0.03" }] }"#,
    ),
    (
        "fasteners-per-inch",
        "table",
        r#"{ "table": "4-12", "thickness": "0.03", "fastener": "bolt", "width": "2" }"#,
    ),
    (
        "fasteners-per-inch",
        "thickness",
        r#"{ "table": "4-9", "thickness": "0.2", "fastener": "bolt", "width": "2" }"#,
    ),
    (
        "fasteners-per-inch",
        "diameter",
        r#"{ "table": "4-9", "thickness": "0.016", "fastener": "bolt", "width": "2" }"#,
    ),
    (
        "fastener-group",
        "fasteners[0].x",
        r#"{ "fasteners": [{ "x": "30 m", "y": "0", "diameter": "1/8" }], "load": { "fx": "0 N", "fy": "5 N", "at": { "x": "1", "y": "0" } } }"#,
    ),
    (
        "fastener-group",
        "fasteners",
        r#"{ "fasteners": [], "load": { "fx": "0 N", "fy": "5 N", "at": { "x": "1", "y": "0" } } }"#,
    ),
    ("joint-compare", "as_found.diameter", r#"{ "as_found": {}, "repaired": {} }"#),
    ("clamp", "laminate", r#"{ "alloy": "A", "diameter": "1/8" }"#),
    (
        "countersink",
        "method",
        r#"{ "diameter": "1/8", "layer": { "material": "glass cloth laminate", "thickness": "0.06" }, "method": "dimple" }"#,
    ),
    ("galvanic", "fastener", r#"{ "fastener": "unobtainium", "stack": [{ "material": "2024-T3" }] }"#),
    ("inter-rivet", "thickness", r#"{ "thickness": "0", "pitch": "1" }"#),
    ("weight-balance", "items", r#"{ "weight": "500 kg", "arm": "1 m", "items": [] }"#),
    (
        "weight-balance",
        "moment",
        r#"{ "weight": "500 kg", "arm": "1 m", "items": [{ "change": "removed", "name": "radio", "weight": "2 kg", "arm": "1 m" }], "moment": "600 kg m" }"#,
    ),
    (
        "weight-balance",
        "items[0].name",
        r#"{ "weight": "500 kg", "arm": "1 m", "items": [{ "change": "removed", "name": " ", "weight": "2 kg", "arm": "1 m" }] }"#,
    ),
    (
        "weight-balance",
        "items[0].change",
        r#"{ "weight": "500 kg", "arm": "1 m", "items": [{ "name": "radio", "weight": "2 kg", "arm": "1 m" }] }"#,
    ),
    (
        "weight-balance",
        "items",
        r#"{ "weight": "500 kg", "arm": "1 m", "items": [{ "change": "removed", "name": "wings", "weight": "500 kg", "arm": "1 m" }] }"#,
    ),
    (
        "weight-balance",
        "aft_limit",
        r#"{ "weight": "500 kg", "arm": "1 m", "items": [{ "change": "removed", "name": "radio", "weight": "2 kg", "arm": "1 m" }], "forward_limit": "2 m", "aft_limit": "1 m" }"#,
    ),
];

#[test]
fn every_refusal_names_its_field() {
    for (kind, field, input) in CASES {
        let input = serde_json::from_str(input).unwrap();
        let fields = refused_fields(kind, &input);
        assert!(fields.iter().any(|found| found == field), "{kind} {input} -> {fields:?}");
    }
}

#[test]
fn a_million_holes_are_refused_while_they_are_read() {
    let hole = json!({ "id": "1", "x": "1", "y": "1" });
    let input = json!({
        "diameter": "1/8", "edges": [[["0", "0"], ["9", "0"]]], "holes": vec![hole; 1_000_000],
    });
    let refusals = super::refusals("pattern", &input);
    assert_eq!(refusals[0], ("holes".into(), "has 1000000 entries".into(), "1 to 2000 entries".into()));
}

#[test]
fn a_wrong_type_is_told_without_our_own_types_names() {
    let of = |input| super::refusals("rivet-length", &input)[0].clone();
    let (field, reason, accepted) = of(json!({ "stack": { "thickness": "1" }, "diameter": "1/8" }));
    assert_eq!((&*field, &*reason, &*accepted), ("stack", "is an object", "a list of 1 to 20 entries"));
    let (field, reason, accepted) = of(json!({ "stack": ["0.032 in"], "diameter": "1/8" }));
    assert_eq!(
        (&*field, &*reason, &*accepted),
        ("stack[0]", "is the text \"0.032 in\"", "an object with fields")
    );
    let (field, reason, _) = of(json!({ "stack": [{ "thickness": null }], "diameter": "1/8" }));
    assert_eq!((&*field, &*reason), ("stack[0].thickness", "is null"));
}

#[test]
fn what_is_wrong_is_said_in_words_of_the_trade() {
    let refusals = super::refusals(
        "rivet-length",
        &json!({ "stack": [{ "thickness": "-0.032 in" }], "diameter": "3 m", "hole": "#30" }),
    );
    let words: Vec<String> =
        refusals.iter().map(|(field, why, accepted)| format!("{field} {why}; {accepted}")).collect();
    assert!(words[0].starts_with("diameter is too large (3 m); 0.0625 in to 0.375 in"), "{words:?}");
    assert!(
        words
            .iter()
            .any(|words| words.starts_with("stack[0].thickness is negative (-0.032 in); 0.002 in to 1 in")),
        "{words:?}"
    );
}
