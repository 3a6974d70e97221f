//! Bad input of every kind: the refusal names its field.

use serde_json::json;

use super::refused_fields;

/// A kind, a field that must be named, and an input that is bad there.
const CASES: [(&str, &str, &str); 27] = [
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
        "fasteners",
        r#"{ "fasteners": [{ "x": "0", "y": "0", "diameter": "1/8" }], "load": { "fx": "0 N", "fy": "5 N", "at": { "x": "1", "y": "0" } } }"#,
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
