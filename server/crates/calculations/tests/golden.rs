//! One whole result per fastener kind, and of weight and balance, kept as it was looked at and checked by hand.

use serde_json::Value;

const KINDS: [&str; 15] = [
    "part-number",
    "rivet-length",
    "driven-head",
    "hole",
    "pattern",
    "row-layout",
    "rivet-strength",
    "fasteners-per-inch",
    "fastener-group",
    "joint-compare",
    "clamp",
    "countersink",
    "galvanic",
    "inter-rivet",
    "weight-balance",
];

#[test]
fn the_examples_give_what_they_gave() {
    for name in KINDS {
        let kind = calculations::kind(name).unwrap();
        let result = calculations::calculate(name, &kind.example()).unwrap();
        let mut result = serde_json::to_value(result).unwrap();
        // The PDF is there only with its feature, and looked at as a picture.
        if let Some(template) = result.get_mut("template") {
            template["pdf_base64"] = Value::Null;
            template["pages"] = Value::Null;
        }
        insta::assert_json_snapshot!(name, result);
    }
}
