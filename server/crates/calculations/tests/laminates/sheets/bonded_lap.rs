use proptest::prelude::*;
use serde_json::{Value, json};

use super::{at, close, example, refused, warns, with, work};

const KIND: &str = "bonded-lap";

#[test]
fn golden() {
    insta::assert_json_snapshot!(example(KIND));
}

fn reference(id: &str) -> Value {
    let all: Value =
        serde_json::from_str(include_str!("../../../../../../tests/reference/laminates.json")).unwrap();
    all["functions"].as_array().unwrap().iter().find(|case| case["id"] == id).unwrap().clone()
}

#[test]
fn volkersen_of_the_reference() {
    for id in ["F12", "F14"] {
        let case = reference(id);
        let result = work(KIND, &case["args"]);
        let expected = &case["expected"];
        for key in ["omega", "tau_max", "tau_avg", "scf"] {
            let got = at(&result, &format!("/volkersen/{key}"));
            close(got, expected[key].as_f64().unwrap(), 1e-8);
        }
        for list in ["x", "tau"] {
            for (place, value) in expected[list].as_array().unwrap().iter().enumerate() {
                let got = at(&result, &format!("/volkersen/{list}/{place}"));
                assert!((got - value.as_f64().unwrap()).abs() < 1e-8 * 25.0);
            }
        }
    }
}

#[test]
fn goland_and_reissner_of_the_reference() {
    let case = reference("F15");
    let (args, expected) = (&case["args"], &case["expected"]);
    let result = work(
        KIND,
        &json!({
            "p": args["p"], "length": args["c2"], "e1": args["e"], "t1": args["t"], "nu": args["nu"],
            "ga": args["ga"], "ta": args["ta"],
        }),
    );
    for key in ["k", "beta", "tau_avg", "tau_max", "scf"] {
        let got = at(&result, &format!("/goland_reissner/{key}"));
        close(got, expected[key].as_f64().unwrap(), 1e-8);
    }
    // Bending makes it worse than Volkersen's stretching alone.
    assert_eq!(at(&result, "/tau_max"), at(&result, "/goland_reissner/tau_max"));
}

#[test]
fn unlike_adherends_have_no_goland_reissner_and_say_why() {
    let result = example(KIND);
    assert!(result.outputs["goland_reissner"].is_null());
    assert!(result.outputs["goland_reissner_why_not"].as_str().unwrap().contains("equal"));
}

#[test]
fn hart_smith_of_the_reference() {
    let case = reference("F17");
    let (args, expected) = (&case["args"], &case["expected"]);
    let input = json!({
        "joint": "double-lap", "p": 100, "length": 80,
        "e1": args["eo"], "t1": args["to"], "e2": args["ei"], "t2": args["ti"],
        "ga": 900, "ta": args["ta"],
        "tau_p": args["tau_p"], "gam_e": args["gam_e"], "gam_p": args["gam_p"],
    });
    let result = work(KIND, &input);
    for key in ["P_inner_end", "P_outer_end", "P"] {
        close(at(&result, &format!("/hart_smith/{key}")), expected[key].as_f64().unwrap(), 1e-8);
    }
    close(at(&result, "/hart_smith/margin"), expected["P"].as_f64().unwrap() / 100.0, 1e-8);
}

#[test]
fn scarfs_of_the_reference() {
    for id in ["F19", "F20"] {
        let case = reference(id);
        let (args, expected) = (&case["args"], &case["expected"]);
        let result = work(
            KIND,
            &json!({
                "joint": "scarf", "p": args["p"], "t1": args["t"], "ratio": args["ratio"],
                "e1": 20000, "ga": 900, "ta": 0.2,
            }),
        );
        for key in ["angle_deg", "length", "bond_length", "tau", "sigma_n"] {
            close(at(&result, &format!("/scarf/{key}")), expected[key].as_f64().unwrap(), 1e-8);
        }
    }
}

#[test]
fn more_overlap_than_enough_does_not_help() {
    let peak = |length: f64| at(&work(KIND, &with(KIND, &json!({ "length": length }))), "/volkersen/tau_max");
    let enough = at(&example(KIND), "/enough_length");
    close(peak(enough), 1.05 * peak(100.0 * enough), 1e-6);
}

#[test]
fn the_overlap_is_held_against_the_handbook() {
    // 80 t of the thinner adherend: 80 × 0.67 = 53.6 mm.
    let short = example(KIND);
    let line = short.lines.iter().find(|line| line.symbol == "L").unwrap();
    assert!(line.limit.as_ref().unwrap().contains("53.6 mm"));
    assert!(warns(&short, "peel") && warns(&short, "never-the-weak-link"));
}

#[test]
fn what_is_wrong_is_named() {
    for (changes, field) in [
        (json!({ "p": -40 }), "p"),
        (json!({ "p": "40 MPa" }), "p"),
        (json!({ "p": "40" }), "p"),
        (json!({ "length": null }), "length"),
        (json!({ "length": 0 }), "length"),
        (json!({ "e1": 0 }), "e1"),
        (json!({ "ta": 0 }), "ta"),
        (json!({ "nu": 0.7 }), "nu"),
        (json!({ "ratio": 50 }), "ratio"),
        (json!({ "joint": "scarf", "length": null }), "ratio"),
        (json!({ "joint": "scarf", "ratio": 50 }), "length"),
        (json!({ "tau_p": 35 }), "tau_p"),
        (json!({ "joint": "double-lap", "tau_p": 35 }), "tau_p"),
        (json!({ "joint": "butt" }), "joint"),
    ] {
        let bad = refused(KIND, &with(KIND, &changes));
        assert_eq!(bad[0].field, field, "{changes}: {bad:?}");
        assert!(!bad[0].reason.is_empty() && !bad[0].accepted.is_empty());
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn the_distribution_carries_the_load(
        p in 1.0..500.0_f64,
        length in 2.0..200.0_f64,
        e1 in 1e3..2e5_f64, t1 in 0.2..5.0_f64,
        e2 in 1e3..2e5_f64, t2 in 0.2..5.0_f64,
        ga in 10.0..3000.0_f64, ta in 0.05..2.0_f64,
    ) {
        use calculations::laminates::mechanics::adhesive::Volkersen;
        let joint = Volkersen { p, length, k1: e1 * t1, k2: e2 * t2, ga, ta };
        // Simpson's rule: the integral of the shear stress is the load.
        let n = 20_000;
        let h = length / f64::from(n);
        let sum: f64 = (0..=n)
            .map(|i| {
                let weight = if i == 0 || i == n { 1.0 } else if i % 2 == 1 { 4.0 } else { 2.0 };
                weight * joint.tau(f64::from(i) * h)
            })
            .sum();
        prop_assert!((sum * h / 3.0 / p - 1.0).abs() < 1e-5);
        // The peak is at the end where the softer adherend carries the load.
        let (start, end) = (joint.tau(0.0), joint.tau(length));
        let (softer, stiffer) = if joint.k1 < joint.k2 { (start, end) } else { (end, start) };
        prop_assert!(softer >= stiffer * (1.0 - 1e-12));
    }

    #[test]
    fn goland_reissner_bends_fully_under_a_light_load(
        length in 5.0..100.0_f64, t in 0.5..3.0_f64, e in 1e4..2e5_f64,
    ) {
        use calculations::laminates::mechanics::adhesive::GolandReissner;
        let joint = GolandReissner { p: 1e-12, length, e, nu: 0.33, t, ga: 1000.0, ta: 0.2 };
        prop_assert!((joint.k() - 1.0).abs() < 1e-3);
    }
}
