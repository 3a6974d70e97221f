use serde_json::{Value, json};

use super::{at, close, example, refused, warns, with, work};

const KIND: &str = "lamina";

#[test]
fn golden() {
    insta::assert_json_snapshot!(example(KIND));
}

#[test]
fn both_methods_of_the_reference() {
    // F09: Ef 72.4 GPa, nu 0.22, Em 3.1 GPa, nu 0.35, Vf 0.35.
    let tape = json!({
        "fibre": { "E": "72.4 GPa", "nu": 0.22 }, "matrix": { "E": "3.1 GPa", "nu": 0.35 },
        "form": "unidirectional",
    });
    let result = work(KIND, &with(KIND, &tape));
    for (key, gpa) in [
        ("Gf", 29.67213115),
        ("Gm", 1.148148148),
        ("E1", 27.355),
        ("E2_inverse_rom", 4.661750961),
        ("G12_inverse_rom", 1.73032949),
        ("E2_halpin_tsai", 7.250731438),
        ("G12_halpin_tsai", 2.24835245),
    ] {
        close(at(&result, &format!("/micromechanics/{key}")), gpa * 1000.0, 1e-9);
    }
    close(at(&result, "/micromechanics/nu12"), 0.3045, 1e-12);
    // The range shows where the methods differ.
    close(at(&result, "/ranges/E2/0"), 4661.750961, 1e-9);
    close(at(&result, "/ranges/E2/1"), 7250.731438, 1e-9);
    assert!(warns(&result, "no-expansion") && warns(&result, "no-strength"));
}

#[test]
fn expansion_of_the_reference() {
    // F11.
    let tape = json!({
        "fibre": { "E": "72.4 GPa", "nu": 0.22, "alpha": "5 1e-6/K" },
        "matrix": { "E": "3.1 GPa", "nu": 0.35, "alpha": "60 1e-6/K" },
        "fibre_fraction": 0.45, "form": "unidirectional",
    });
    let result = work(KIND, &with(KIND, &tape));
    close(at(&result, "/micromechanics/cte_schapery/0"), 7.735161149, 1e-9);
    close(at(&result, "/micromechanics/cte_schapery/1"), 45.04020053, 1e-9);
    close(at(&result, "/constants/a1"), 7.735161149e-6, 1e-9);
}

#[test]
fn a_mat_is_the_same_in_all_directions() {
    let mat =
        |angle| work(KIND, &with(KIND, &json!({ "form": "mat", "fibre_fraction": 0.18, "angle": angle })));
    let (one, other) = (mat(0), mat(37));
    close(at(&one, "/Ex"), at(&other, "/Ex"), 1e-12);
    close(at(&one, "/constants/a1"), at(&one, "/constants/a2"), 1e-15);
    // Section 4 of the reference: Krenchel gives 7.7 GPa at Vf 0.18 (there with 3.4 GPa resin,
    // 0.375 × 72.4 × 0.18 + 3.4 × 0.82 = 7.675).
    let polyester = json!({
        "form": "mat", "fibre_fraction": 0.18, "matrix": "polyester, general purpose (typical)",
    });
    let result = work(KIND, &with(KIND, &polyester));
    close(at(&result, "/micromechanics/E_krenchel"), 7675.0, 1e-3);
    // Averaging Halpin-Tsai plies over all directions gives a little more.
    close(at(&result, "/constants/E1"), 7675.0, 0.12);
}

#[test]
fn cloth_as_crossed_plies_and_by_krenchel() {
    // Section 4 of the reference: about 23 GPa at Vf 0.48, Krenchel 19.
    let result = work(KIND, &with(KIND, &json!({ "fibre_fraction": 0.48 })));
    let crossed = at(&result, "/constants/E1");
    assert!((21_500.0..24_500.0).contains(&crossed), "{crossed}");
    close(at(&result, "/micromechanics/E_krenchel"), 19_000.0, 0.02);
    assert!(at(&result, "/ranges/E1/0") < at(&result, "/ranges/E1/1"));
    close(at(&result, "/constants/E1"), at(&result, "/constants/E2"), 1e-12);
}

#[test]
fn density_of_the_reference() {
    // F28.
    let voids = json!({
        "fibre": { "E": "72.4 GPa", "nu": 0.22, "density": "2560 kg/m3" },
        "matrix": { "E": "3.1 GPa", "nu": 0.35, "density": "1150 kg/m3" }, "voids": "2 %",
    });
    close(at(&work(KIND, &with(KIND, &voids)), "/constants/rho"), 1610.63, 1e-9);
}

#[test]
fn a_known_ply_at_an_angle() {
    // F30 in full: matrices, constants, strains, strength ratios.
    let reference: Value =
        serde_json::from_str(include_str!("../../../../../../tests/reference/laminates.json")).unwrap();
    let mut compared = 0;
    for case in reference["functions"].as_array().unwrap() {
        if case["fn"] != "lamina" {
            continue;
        }
        let result = work(KIND, &case["args"]);
        let outputs = Value::Object(result.outputs.clone());
        walk(&case["expected"], &outputs, &mut compared);
        assert!(warns(&result, "not-an-allowable"));
    }
    assert_eq!(compared, 3 * (4 * 9 + 5 + 12 + 4));
}

fn walk(expected: &Value, got: &Value, compared: &mut usize) {
    match expected {
        Value::Object(fields) => fields.iter().for_each(|(key, it)| walk(it, &got[key], compared)),
        Value::Array(list) => list.iter().enumerate().for_each(|(i, it)| walk(it, &got[i], compared)),
        number => {
            let (e, g) = (number.as_f64().unwrap(), got.as_f64().unwrap());
            assert!((e - g).abs() <= 1e-8 * e.abs() + 1e-18, "expected {e}, got {g}");
            *compared += 1;
        }
    }
}

#[test]
fn what_is_wrong_is_named() {
    for (changes, field) in [
        (json!({ "fibre": "spaghetti" }), "fibre"),
        (json!({ "fibre": { "E": "-1 GPa", "nu": 0.2 } }), "fibre.E"),
        (json!({ "fibre": { "E": "72 GPa", "nu": 0.7 } }), "fibre.nu"),
        (json!({ "fibre": { "E": 72, "nu": 0.2 } }), "fibre.E"),
        (json!({ "fibre": { "E": "72 GPa", "mu": 0.2 } }), "fibre.mu"),
        (json!({ "matrix": null }), "matrix"),
        (json!({ "matrix": 3 }), "matrix"),
        (json!({ "fibre_fraction": null }), "fibre_fraction"),
        (json!({ "fibre_fraction": 0.9 }), "fibre_fraction"),
        (json!({ "warp_fraction": 1.5 }), "warp_fraction"),
        (json!({ "angle": 1000 }), "angle"),
        (json!({ "m": { "E1": 1000, "E2": 1000, "G12": 400, "nu12": 0.3 } }), "fibre"),
        (
            json!({ "fibre": null, "matrix": null, "fibre_fraction": null,
            "m": { "E1": 1000, "E2": 1000, "G12": 400, "nu12": 1.3 } }),
            "constants.nu12",
        ),
    ] {
        let bad = refused(KIND, &with(KIND, &changes));
        assert_eq!(bad[0].field, field, "{changes}: {bad:?}");
        assert!(!bad[0].reason.is_empty() && !bad[0].accepted.is_empty());
    }
}
