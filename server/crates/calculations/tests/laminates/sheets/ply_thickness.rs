use serde_json::json;

use super::{at, close, example, refused, warns, with, work};

const KIND: &str = "ply-thickness";

#[test]
fn golden() {
    insta::assert_json_snapshot!(example(KIND));
}

#[test]
fn thickness_of_the_reference() {
    // F01 and F02 of the reference: 303 g/m2 of 2.56 g/cm3 at 0.48 and at 0.35.
    for (vf, t) in [(0.48, 0.2465820312), (0.35, 0.3381696429)] {
        let result = work(KIND, &with(KIND, &json!({ "fibre_volume_fraction": vf })));
        close(at(&result, "/ply_thickness"), t, 1e-9);
    }
}

#[test]
fn weight_and_volume_fractions_of_the_reference() {
    // F04 and F06.
    let by_weight = json!({ "fibre_volume_fraction": null, "fibre_weight_fraction": 0.5 });
    let result = work(KIND, &with(KIND, &by_weight));
    close(at(&result, "/fibre_volume_fraction"), 0.3099730458, 1e-9);
    close(at(&result, "/fibre_weight_fraction"), 0.5, 1e-12);
    close(at(&example(KIND), "/fibre_weight_fraction"), 0.5451779738, 1e-9);
}

#[test]
fn a_measured_panel_gives_the_fraction_back() {
    let panel = json!({
        "fibre_volume_fraction": null, "panel": { "thickness": "2.029 mm", "plies": 6 },
    });
    let result = work(KIND, &with(KIND, &panel));
    // By hand: 6 × 303 / (1000 × 2.56 × 2.029) = 0.350.
    close(at(&result, "/fibre_volume_fraction"), 6.0 * 303.0 / (2560.0 * 2.029), 1e-11);
}

#[test]
fn voids_are_flagged_and_never_clipped() {
    // F07 and F21.
    let result = example(KIND);
    close(at(&result, "/void_fraction"), 0.01958423913, 1e-9);
    assert_eq!(result.outputs["void_verdict"], "within");
    let wrong = json!({ "measured": { "density": "1.62 g/cm3", "fibre_weight_fraction": 0.52 } });
    let result = work(KIND, &with(KIND, &wrong));
    close(at(&result, "/void_fraction"), -0.005236413043, 1e-9);
    assert_eq!(result.outputs["void_verdict"], "outside");
    assert!(warns(&result, "negative-voids"));
}

#[test]
fn plies_that_make_up_an_old_laminate() {
    let result = example(KIND);
    // 0.063 in is 1.6002 mm: 4.73 plies of 0.3382 mm, so five.
    close(at(&result, "/plies/exact"), 1.6002 / 0.3381696429, 1e-9);
    assert_eq!(at(&result, "/plies/whole"), 5.0);
    close(at(&result, "/plies/difference"), 5.0 * 0.3381696429 - 1.6002, 1e-7);
}

#[test]
fn the_two_ounces_are_guarded() {
    let cloth = |weight, form| {
        with(
            KIND,
            &json!({
                "cloth": null, "areal_weight": weight, "form": form, "fibre_density": "2.56 g/cm3",
                "fibre_volume_fraction": 0.35, "old_laminate": null,
            }),
        )
    };
    // An ounce alone is refused, 8.9 per square foot is beyond any cloth.
    assert_eq!(refused(KIND, &cloth("8.9 oz", "cloth"))[0].field, "areal_weight");
    assert_eq!(refused(KIND, &cloth("8.9 oz/ft2", "cloth"))[0].field, "areal_weight");
    assert!(warns(&work(KIND, &cloth("1 oz/ft2", "cloth")), "ounces"));
    assert!(warns(&work(KIND, &cloth("1.5 oz/yd2", "mat")), "ounces"));
    assert!(!warns(&work(KIND, &cloth("8.9 oz/yd2", "cloth")), "ounces"));
    let mat = work(KIND, &cloth("1 oz/ft2", "mat"));
    assert!(!warns(&mat, "ounces"));
    // Both ounces beside each other: a factor of nine, exactly.
    close(at(&mat, "/areal_weight_oz_yd2"), 9.0, 1e-11);
    close(at(&mat, "/areal_weight_oz_ft2"), 1.0, 1e-11);
    // 1 oz/ft2 is 305.15 g/m2, 1 oz/yd2 33.906 g/m2 (the reference, section 4).
    close(at(&mat, "/areal_weight"), 305.15, 2e-5);
}

#[test]
fn what_is_wrong_is_named() {
    for (changes, field) in [
        (json!({ "fibre_volume_fraction": 0.95 }), "fibre_volume_fraction"),
        (json!({ "fibre_volume_fraction": null }), "fibre_volume_fraction"),
        (json!({ "ply_thickness": "0.3 mm" }), "ply_thickness"),
        (
            json!({ "fibre_volume_fraction": null, "ply_thickness": "1 mm", "cloth": "E-glass style 104" }),
            "ply_thickness",
        ),
        (json!({ "matrix_density": null }), "matrix_density"),
        (json!({ "old_laminate": "-1 mm" }), "old_laminate"),
        (
            json!({ "fibre_volume_fraction": null, "panel": { "thickness": "2 mm", "plies": 0 } }),
            "panel.plies",
        ),
        (json!({ "cloth": 7781 }), "cloth"),
    ] {
        let bad = refused(KIND, &with(KIND, &changes));
        assert_eq!(bad[0].field, field, "{changes}: {bad:?}");
        assert!(!bad[0].reason.is_empty() && !bad[0].accepted.is_empty());
    }
}
