use serde_json::{Value, json};

use super::{at, close, example, refused, warns, with, work};

const KIND: &str = "laminate";

#[test]
fn golden() {
    insta::assert_json_snapshot!(example(KIND));
}

fn glass() -> Value {
    json!({ "ge": {
        "E1": 38600, "E2": 8270, "G12": 4140, "nu12": 0.26,
        "Xt": 1062, "Xc": 610, "Yt": 31, "Yc": 118, "S": 72,
        "rho": 1800, "a1": 8.6e-6, "a2": 22.1e-6, "b2": 0.6,
    } })
}

fn stack(angles: &[f64], load: &Value) -> Value {
    let plies: Vec<_> = angles.iter().map(|a| json!({ "m": "ge", "t": 0.25, "a": a })).collect();
    json!({ "plies": plies, "load": load, "materials": glass() })
}

#[test]
fn units_may_be_written_out() {
    let bare = work(KIND, &stack(&[0.0, 90.0], &json!({ "N": [40, 0, 0], "dT": -50 })));
    let written = json!({
        "plies": [
            { "material": "ge", "thickness": "0.25 mm", "angle": "0 deg" },
            { "material": "ge", "thickness": { "value": 250, "unit": "um" }, "angle": 90 },
        ],
        "load": { "N": ["40 kN/m", 0, 0], "dT": "-90 degF" },
        "materials": { "ge": {
            "E1": "38.6 GPa", "E2": "8.27 GPa", "G12": "4140 MPa", "nu12": 0.26,
            "Xt": "1062 MPa", "Xc": "610 MPa", "Yt": "31 MPa", "Yc": "118 MPa", "S": "72 MPa",
            "rho": "1.8 g/cm3", "a1": "8.6 1e-6/K", "a2": "22.1 1e-6/K", "b2": 0.6,
        } },
    });
    let written = work(KIND, &written);
    for pointer in ["/A/0/0", "/B/0/0", "/D/1/1", "/kappa/0", "/first_ply_failure/tsai_wu/sr"] {
        close(at(&written, pointer), at(&bare, pointer), 1e-11);
    }
}

#[test]
fn cloth_and_resin_make_a_ply() {
    let input = json!({
        "plies": [{ "cloth": "E-glass style 7781", "fibre_fraction": 0.48, "angle": 0, "count": 2 }],
    });
    let result = work(KIND, &input);
    // F01 of the reference: one ply is 0.24658 mm.
    close(at(&result, "/h"), 2.0 * 0.2465820312, 1e-9);
    // Section 4 of the reference: crossed plies give about 23 GPa at Vf 0.48, Krenchel 19.
    let modulus = at(&result, "/inplane/Ex");
    assert!((21_500.0..24_500.0).contains(&modulus), "{modulus}");
    // Strength says why not; stiffness is still given.
    assert_eq!(result.outputs["strength"]["judged"], false);
    assert!(result.outputs["first_ply_failure"]["tsai_wu"].is_null());
    assert!(warns(&result, "no-strength"));
    assert!(warns(&result, "typical-value"));
}

#[test]
fn thickness_of_a_cloth_gives_its_fraction() {
    let by = |field: &str, value: Value| {
        let mut ply = json!({ "cloth": "E-glass style 7781" });
        ply[field] = value;
        work(KIND, &json!({ "plies": [ply] }))
    };
    let (fraction, thickness) = (by("fibre_fraction", json!(0.48)), by("thickness", json!(0.24658203125)));
    close(at(&fraction, "/inplane/Ex"), at(&thickness, "/inplane/Ex"), 1e-9);
}

#[test]
fn a_ply_of_the_catalogue_brings_its_usual_thickness() {
    let result = work(KIND, &json!({ "plies": [{ "material": "w7781_vac" }] }));
    assert_eq!(at(&result, "/h"), 0.25);
    close(at(&result, "/inplane/Ex"), 24_000.0, 1e-12);
}

#[test]
fn one_missing_strength_withholds_first_ply_failure_and_says_why() {
    let mut input = stack(&[0.0, 90.0], &json!({ "N": [40, 0, 0] }));
    input["materials"]["ge"].as_object_mut().unwrap().remove("Yc");
    let result = work(KIND, &input);
    close(at(&result, "/inplane_A_only/Ex"), 23579.21842, 1e-9);
    for criterion in ["max_stress", "max_strain", "tsai_hill", "tsai_wu"] {
        assert!(result.outputs["first_ply_failure"][criterion].is_null());
    }
    assert!(result.outputs["points"][0]["fi"].is_null());
    let why = result.outputs["strength"]["why_not"].as_str().unwrap();
    assert!(why.contains("ge") && why.contains("Yc"), "{why}");
}

#[test]
fn warping_is_told_in_words() {
    // Unsymmetric cross-ply: curls. Antisymmetric ±45: twists. One ply at 30°: shears.
    let pulled = json!({ "N": [10, 0, 0] });
    let curls = work(KIND, &stack(&[0.0, 90.0], &pulled));
    assert!(warns(&curls, "curls") && !warns(&curls, "twists") && !warns(&curls, "shears"));
    assert!(warns(&curls, "warps-on-cooling"));
    let twists = work(KIND, &stack(&[45.0, -45.0], &pulled));
    assert!(warns(&twists, "twists") && !warns(&twists, "curls") && !warns(&twists, "shears"));
    let shears = work(KIND, &stack(&[30.0], &pulled));
    assert!(warns(&shears, "shears") && !warns(&shears, "curls"));
    let quiet = work(KIND, &stack(&[0.0, 90.0, 90.0, 0.0], &pulled));
    for code in ["curls", "twists", "shears", "twists-when-bent", "warps-on-cooling"] {
        assert!(!warns(&quiet, code), "{code}");
    }
    assert_eq!(quiet.outputs["behaviour"]["symmetric"], true);
    assert_eq!(quiet.outputs["behaviour"]["balanced"], true);
}

#[test]
fn carbon_on_aluminium_is_warned_of() {
    let plies = json!({ "plies": [
        { "material": "al2024", "thickness": 0.8 }, { "material": "cfw_hand" },
    ] });
    assert!(warns(&work(KIND, &plies), "galvanic"));
    let parted = json!({ "plies": [
        { "material": "al2024", "thickness": 0.8 }, { "material": "w120_hand" }, { "material": "cfw_hand" },
    ] });
    assert!(!warns(&work(KIND, &parted), "galvanic"));
    assert!(warns(&work(KIND, &json!({ "plies": [{ "material": "arw_hand" }] })), "aramid"));
}

#[test]
fn the_way_to_the_last_ply() {
    // [0/90]s pulled along x: the 90s crack first, then the 0s carry all until their fibres break.
    let result = work(KIND, &stack(&[0.0, 90.0, 90.0, 0.0], &json!({ "N": [100, 0, 0] })));
    let last = &result.outputs["last_ply_failure"];
    let first = at(&result, "/first_ply_failure/tsai_wu/sr");
    close(last["steps"][0]["sr"].as_f64().unwrap(), first, 1e-9);
    assert_eq!(last["steps"][0]["plies"], json!([[2, "matrix_tension"], [3, "matrix_tension"]]));
    // Then the outer plies crack across too, or break: what is left is two plies of 0.25 mm at
    // Xt = 1062 MPa, by hand 531 N/mm, 5.31 times the load; the cracked plies add a millionth.
    close(at(&result, "/last_ply_failure/sr"), 5.31, 1e-3);
}

#[test]
fn drawings_are_there() {
    let result = example(KIND);
    assert!(result.drawing.as_ref().unwrap().contains("45°"));
    for plot in ["strain", "stress", "stiffness"] {
        assert!(result.outputs["plots"][plot].as_str().unwrap().starts_with("<svg"));
    }
}

#[test]
fn what_is_wrong_is_named() {
    let plies = |ply: Value| json!({ "plies": [ply] });
    let material = |changes: Value| {
        let mut glass = glass();
        for (key, value) in changes.as_object().unwrap() {
            glass["ge"][key] = value.clone();
        }
        json!({ "plies": [{ "m": "ge", "t": 0.25, "a": 0 }], "materials": glass })
    };
    for (input, field) in [
        (json!({ "plies": [] }), "plies"),
        (json!({}), "plies"),
        (plies(json!({ "m": "ge", "t": 0.25 })), "plies[0].material"),
        (plies(json!({ "m": "w7781_hand", "t": -0.25 })), "plies[0].t"),
        (plies(json!({ "m": "pvc75", "t": 0 })), "plies[0].t"),
        (plies(json!({ "m": "pvc75" })), "plies[0].t"),
        (plies(json!({ "m": "w7781_hand", "t": "0.25" })), "plies[0].t"),
        (plies(json!({ "m": "w7781_hand", "t": "NaN" })), "plies[0].t"),
        (plies(json!({ "m": "w7781_hand", "t": 250 })), "plies[0].t"),
        (plies(json!({ "m": "w7781_hand", "count": 5000 })), "plies[0].count"),
        (plies(json!({ "m": "w7781_hand", "count": 0 })), "plies[0].count"),
        (plies(json!({ "cloth": "E-glass style 7781" })), "plies[0].fibre_fraction"),
        (plies(json!({ "cloth": "carbon 2x2 twill 3k", "vf": 0.4 })), "plies[0].cloth"),
        (plies(json!({ "cloth": "E-glass style 143", "vf": 0.4 })), "plies[0].warp_fraction"),
        (material(json!({ "E1": -1 })), "materials.ge.E1"),
        (material(json!({ "E1": 1e12 })), "materials.ge.E1"),
        (material(json!({ "E1": 38.6 })), "materials.ge.Xt"),
        (material(json!({ "nu12": 2.5 })), "materials.ge.nu12"),
        (material(json!({ "nu12": -2.5 })), "materials.ge.nu12"),
        (material(json!({ "rho": 0 })), "materials.ge.rho"),
        (material(json!({ "G12": "4.14" })), "materials.ge.G12"),
        (with(KIND, &json!({ "load": { "N": [1, 2] } })), "load.N"),
        (with(KIND, &json!({ "load": { "dT": 9000 } })), "load.dT"),
        (with(KIND, &json!({ "load": { "N": ["5 MPa", 0, 0] } })), "load.N[0]"),
    ] {
        let bad = refused(KIND, &input);
        assert!(bad.iter().any(|bad| bad.field.starts_with(field)), "{input}: {bad:?}");
        assert!(bad.iter().all(|bad| !bad.reason.is_empty() && !bad.accepted.is_empty()));
    }
    let many: Vec<_> = (0..5000).map(|_| json!({ "m": "w7781_hand", "t": 0.1 })).collect();
    let bad = refused(KIND, &json!({ "plies": many }));
    assert_eq!(bad[0].accepted, "1 to 1000 entries");
}

#[test]
fn every_field_that_is_wrong_is_named_at_once() {
    let bad = refused(
        KIND,
        &json!({
            "plies": [{ "m": "w7781_hand", "t": -1 }, { "m": "w7781_hand", "t": 0 }],
            "load": { "dT": 9000 },
        }),
    );
    let fields: Vec<_> = bad.iter().map(|bad| bad.field.as_str()).collect();
    assert_eq!(fields, ["plies[0].t", "plies[1].t", "load.dT"]);
}
