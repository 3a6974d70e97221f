//! The inputs and the result keys that the fastener worksheets promise.

use serde_json::{Value, json};

use super::{calc, near, number};

/// Kind, an input as it is promised, and the keys that its result must have.
fn example(kind: &str) -> Value {
    calculations::kind(kind).unwrap().example()
}

fn promised() -> Vec<(&'static str, Value, &'static str)> {
    vec![
        (
            "part-number",
            json!({ "part_number": "MS20426AD4-5" }),
            "part_number head alloy marking diameter length",
        ),
        (
            "rivet-length",
            json!({"stack":[{"material":"2024-T3","thickness":"0.032 in"},{"material":"glass cloth laminate","thickness":"0.063 in"}],"washers":[{"thickness":"0.016 in","side":"shop"}],"head":"universal","alloy":"A","diameter":"1/8 in","hole":"#30","stock":[5,6]}),
            "grip required_length dash_up_16 dash_up_32 dash_nearest_16 chosen trim_to driven_diameter driven_height",
        ),
        (
            "rivet-strength",
            json!({"alloy":"AD","diameter":"5/32 in","hole":"0.1590 in","planes":1,"layers":[{"material":"2024-T3","thickness":"0.032 in","edge":"0.32 in"}]}),
            "shear bearing pull_through governing allowable",
        ),
        (
            "fasteners-per-inch",
            json!({"table":"4-9","thickness":"0.051 in","fastener":"rivet","diameter":"5/32 in","width":"2 in","case":"general"}),
            "per_inch count",
        ),
        (
            "fastener-group",
            json!({"fasteners":[{"x":"-3 in","y":"4 in","diameter":"1/8 in"}],"load":{"fx":"0 lbf","fy":"-15000 lbf","at":{"x":"6 in","y":"0 in"}}}),
            "fasteners worst polar_moment",
        ),
        (
            "pattern",
            json!({"diameter":"1/8 in","head":"universal","layers":[{"thickness":"0.032 in"}],"edges":[[["0 in","0 in"],["10 in","0 in"]]],"holes":[{"id":"1","x":"0.5 in","y":"0.3 in"}]}),
            "holes worst",
        ),
        (
            "row-layout",
            json!({"edge_length":"12 in","end_clearance":"0.375 in","diameter":"1/8 in","pitch_target":"0.75 in","rows":1}),
            "count pitch positions",
        ),
        (
            "driven-head",
            json!({ "diameter": "1/8", "driven_diameter": "0.19", "driven_height": "0.06" }),
            "verdict limits volume_check",
        ),
        (
            "hole",
            json!({ "diameter": "1/8", "measured": "0.140" }),
            "action new_diameter drill hole_min hole_max checks",
        ),
        (
            "clamp",
            json!({ "alloy": "A", "diameter": "1/8", "laminate": "glass cloth laminate" }),
            "pressure ratio squeeze_force",
        ),
        (
            "countersink",
            json!({ "diameter": "1/8", "layer": { "thickness": "0.05" } }),
            "depth surface_diameter min_thickness verdict",
        ),
        ("galvanic", json!({ "fastener": "AD", "stack": [{ "material": "steel" }] }), "pairs"),
        (
            "inter-rivet",
            json!({ "thickness": "0.032", "pitch": "1", "material": "2024-T3" }),
            "allowable_stress",
        ),
        ("weight-balance", example("weight-balance"), "weight arm moment weight_change arm_change verdict"),
        ("joint-compare", example("joint-compare"), "as_found repaired ratios weaker"),
    ]
}

#[test]
fn promised_inputs_give_promised_keys() {
    for (kind, input, keys) in promised() {
        let result = calc(kind, &input);
        for key in keys.split(' ').chain(["lines", "cautions", "engine", "digest"]) {
            assert!(result.get(key).is_some(), "{kind} has {key}");
        }
    }
}

#[test]
fn nested_keys_are_where_they_are_promised() {
    let of = |kind: &str| {
        let (kind, input, _) = promised().into_iter().find(|promise| promise.0 == kind).unwrap();
        calc(kind, &input)
    };
    let group = of("fastener-group");
    // A single fastener takes the load and holds no moment, and the result says so.
    near(number(&group, "/fasteners/0/load"), 15000.0, 1e-6);
    near(number(&group, "/worst/load"), 15000.0, 1e-6);
    near(number(&group, "/polar_moment"), 0.0, 0.0);
    assert_eq!(group["worst"]["id"], "1");
    assert!(group["cautions"].to_string().contains("hold no moment"), "{group:#}");
    let pattern = of("pattern");
    near(number(&pattern, "/holes/0/edge"), 0.3, 1e-12);
    assert_eq!(pattern["holes"][0]["verdict"], "within");
    // One hole has no pitch.
    assert_eq!(pattern["holes"][0]["pitch"], Value::Null);
    let layout = of("row-layout");
    near(number(&layout, "/count"), 16.0, 0.0);
    near(number(&layout, "/pitch"), 0.75, 1e-12);
    near(number(&layout, "/positions/15/running"), 11.625, 1e-12);
    near(number(&of("rivet-strength"), "/bearing/0/strength"), 129e3 * 0.15625 * 0.032, 1e-6);
    assert_eq!(of("galvanic")["pairs"][0]["verdict"], "too-close");
}
