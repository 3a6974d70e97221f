use serde_json::json;

use super::{at, close, example, refused, warns, with, work};

const KIND: &str = "layup-compare";

#[test]
fn golden() {
    insta::assert_json_snapshot!(example(KIND));
}

#[test]
fn like_for_like_is_one_in_everything() {
    let same = json!({ "repair": calculations::kind(KIND).unwrap().example()["parent"] });
    let result = work(KIND, &with(KIND, &same));
    for key in ["EA_x", "EA_y", "GA", "EI_x", "EI_y", "thickness", "mass"] {
        close(at(&result, &format!("/ratios/{key}")), 1.0, 1e-12);
    }
    for key in ["x_tension", "x_compression", "y_tension", "y_compression", "shear"] {
        close(at(&result, &format!("/strength/{key}/ratio")), 1.0, 1e-12);
    }
    assert_eq!(result.outputs["softer"], json!([]));
    assert_eq!(result.outputs["hard_spots"], json!([]));
}

#[test]
fn stiffness_of_one_ply_by_hand() {
    // One ply of 0.335 mm, E1 = 17000 MPa, E2 = 16300, G12 = 3300: EA = E t, EI = E t³/12.
    let one = json!([{ "material": "w7781_hand", "angle": 0 }]);
    let result = work(KIND, &with(KIND, &json!({ "parent": one, "repair": one, "shelf": [] })));
    let t: f64 = 0.335;
    close(at(&result, "/parent/EA_x"), 17_000.0 * t, 1e-11);
    close(at(&result, "/parent/EA_y"), 16_300.0 * t, 1e-11);
    close(at(&result, "/parent/GA"), 3300.0 * t, 1e-11);
    close(at(&result, "/parent/EI_x"), 17_000.0 * t.powi(3) / 12.0 / 1000.0, 1e-11);
    // Strength along x is Xt t.
    close(at(&result, "/strength/x_tension/parent"), 240.0 * t, 1e-9);
    close(at(&result, "/strength/y_compression/parent"), 190.0 * t, 1e-9);
}

#[test]
fn a_thicker_repair_is_a_hard_spot_and_a_thinner_one_is_soft() {
    let plies = |count| json!([{ "material": "w7781_vac", "count": count }]);
    let compare = |count| work(KIND, &with(KIND, &json!({ "parent": plies(4), "repair": plies(count) })));
    let hard = compare(6);
    // Half as thick again: stretching 1.5, bending 1.5³ = 3.375.
    close(at(&hard, "/ratios/EA_x"), 1.5, 1e-12);
    close(at(&hard, "/ratios/EI_x"), 3.375, 1e-12);
    assert!(warns(&hard, "hard-spot") && !warns(&hard, "softer") && !warns(&hard, "weaker"));
    let soft = compare(3);
    assert!(warns(&soft, "softer") && warns(&soft, "weaker") && !warns(&soft, "hard-spot"));
    // The limits are the person's.
    let wide = with(
        KIND,
        &json!({
            "parent": plies(4), "repair": plies(6), "hard_above": 4, "soft_below": 0.5,
        }),
    );
    assert_eq!(work(KIND, &wide).outputs["hard_spots"], json!([]));
}

#[test]
fn the_shelf_finds_the_parent_again() {
    // The parent's own cloth is on the shelf: the parent itself must come first, at distance 0.
    let shelf = json!([
        { "ply": { "material": "w120_hand" } },
        { "ply": { "material": "w7781_vac" } },
    ]);
    let result = work(KIND, &with(KIND, &json!({ "shelf": shelf })));
    assert!(at(&result, "/proposals/0/distance") < 1e-12);
    let plies = &result.outputs["proposals"][0]["plies"];
    let angles: Vec<_> = plies.as_array().unwrap().iter().map(|ply| ply["angle"].as_f64().unwrap()).collect();
    assert_eq!(angles, [0.0, 45.0, 45.0, 0.0]);
    assert!(plies.as_array().unwrap().iter().all(|ply| ply["shelf"] == 1));
    close(at(&result, "/proposals/0/weakest_strength_ratio"), 1.0, 1e-12);
}

#[test]
fn proposals_are_ranked_and_explained() {
    let result = example(KIND);
    let proposals = result.outputs["proposals"].as_array().unwrap();
    assert_eq!(proposals.len(), 3);
    for proposal in proposals {
        let words = proposal["words"].as_str().unwrap();
        assert!(words.contains("plies of") && words.contains("mm thick") && words.contains("strength"));
    }
    assert!(at(&result, "/searched") > 10.0);
}

#[test]
fn what_is_at_hand_limits_the_proposals() {
    let few = json!([{ "ply": { "material": "w120_hand" }, "most": 3 }]);
    let result = work(KIND, &with(KIND, &json!({ "shelf": few })));
    // Three plies of 0.118 mm are thinner than 0.6 of the parent's 1.0 mm: nothing to propose.
    assert_eq!(result.outputs["proposals"], json!([]));
}

#[test]
fn without_strengths_stiffness_is_still_compared() {
    let cloth = json!([{ "cloth": "E-glass style 7781", "fibre_fraction": 0.4, "count": 4 }]);
    let result = work(KIND, &with(KIND, &json!({ "repair": cloth })));
    assert!(at(&result, "/ratios/EA_x") > 0.0);
    assert_eq!(result.outputs["strength"], json!({}));
    assert!(result.outputs["strength_why_not"].as_str().unwrap().contains("7781"));
    assert!(warns(&result, "no-strength"));
}

#[test]
fn what_is_wrong_is_named() {
    for (changes, field) in [
        (json!({ "parent": [] }), "parent"),
        (json!({ "repair": null, "shelf": null }), "repair"),
        (json!({ "repair": [{ "material": "w7781_hand", "thickness": -1 }] }), "repair[0].t"),
        (json!({ "shelf": [{ "ply": { "material": "plywood" } }] }), "shelf[0].ply.material"),
        (json!({ "shelf": [{ "ply": { "material": "w120_hand" }, "angles": [500] }] }), "shelf[0].angles[0]"),
        (json!({ "soft_below": 2 }), "soft_below"),
        (json!({ "most_plies": 1000 }), "most_plies"),
        (json!({ "proposals": 1000 }), "proposals"),
    ] {
        let bad = refused(KIND, &with(KIND, &changes));
        assert_eq!(bad[0].field, field, "{changes}: {bad:?}");
        assert!(!bad[0].reason.is_empty() && !bad[0].accepted.is_empty());
    }
}

#[test]
fn the_shops_own_glass_is_a_candidate_by_the_weight_in_its_name() {
    let cloth = |name: &str| json!({ "cloth": name, "fibre_fraction": 0.35 });
    let own = "Glass cloth, twill 280 g/m²";
    let asked = json!({
        "parent": [cloth("E-glass style 7725"), cloth("E-glass style 7725")], "repair": null,
        "shelf": [{ "ply": cloth(own) }],
    });
    let result = work(KIND, &with(KIND, &asked));
    assert!(warns(&result, "own-cloth"));
    let words = result.outputs["proposals"][0]["words"].as_str().unwrap();
    assert!(words.contains(own), "{words}");
    // A ply of it is as thick as its weight makes it: 280 g/m² over 2560 kg/m³ at 35 %.
    let thickness = at(&result, "/proposals/0/stiffnesses/thickness");
    let plies = result.outputs["proposals"][0]["plies"].as_array().unwrap().len();
    close(thickness, plies as f64 * 0.28 / 2.56 / 0.35, 1e-9);
    let nameless = json!({ "shelf": [{ "ply": cloth("Glass cloth, twill") }] });
    let bad = refused(KIND, &with(KIND, &nameless));
    assert_eq!(bad[0].field, "shelf[0].ply.cloth");
    assert!(bad[0].accepted.contains("280 g/m²"), "{}", bad[0].accepted);
}
