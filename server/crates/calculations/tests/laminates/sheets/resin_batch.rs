use serde_json::json;

use super::{at, close, example, refused, warns, with, work};

const KIND: &str = "resin-batch";

#[test]
fn golden() {
    insta::assert_json_snapshot!(example(KIND));
}

#[test]
fn equal_weights_of_cloth_and_resin() {
    // F08 of the reference: 303 g of cloth at 50 % with 20 % waste take 363.6 g.
    let input = json!({
        "fabric_mass": "303 g", "fibre_weight_fraction": 0.5, "waste": 0.2,
        "ratio": { "by": "weight", "a": 100, "b": 20 }, "scale_step": "0.1 g",
    });
    let result = work(KIND, &input);
    close(at(&result, "/resin_mass"), 363.6, 1e-9);
    close(at(&result, "/resin_in_laminate"), 303.0, 1e-9);
    // 363.6 g at 100 : 20 is 303 g of A and 60.6 g of B, by hand.
    close(at(&result, "/part_a"), 303.0, 1e-9);
    close(at(&result, "/part_b"), 60.6, 1e-9);
    assert_eq!(at(&result, "/cups"), 1.0);
}

#[test]
fn cups_stay_under_the_pot_mass_and_sum_to_enough() {
    let input = with(KIND, &json!({ "cup": { "most": "60 g", "residue": "5 g" } }));
    let result = work(KIND, &input);
    let cups = at(&result, "/cups");
    let each = at(&result, "/per_cup/mixed");
    assert!(each <= 60.0);
    assert!(cups * (each - 5.0) >= at(&result, "/resin_mass"));
    close(at(&result, "/part_a"), cups * at(&result, "/per_cup/part_a"), 1e-12);
    close(at(&result, "/mixed_mass"), cups * each, 1e-12);
}

#[test]
fn a_ratio_by_volume_is_never_converted_silently() {
    let volume = json!({ "by": "volume", "a": 3, "b": 1 });
    let missing = json!({ "ratio": volume, "density_a": null, "density_b": null });
    let fields: Vec<_> = refused(KIND, &with(KIND, &missing)).into_iter().map(|bad| bad.field).collect();
    assert_eq!(fields, ["density_a", "density_b"]);

    // 3 : 1 by volume at 1.15 and 0.97 g/cm3 is 0.97 / (3 × 1.15) = 0.28116 by weight.
    let result = work(KIND, &with(KIND, &json!({ "ratio": volume })));
    let line = result.lines.iter().find(|line| line.symbol == "r").unwrap();
    close(line.value.value, 0.97 / 3.45, 1e-9);
    assert!(line.substituted.contains("1.15 g/cm3"), "{}", line.substituted);
    let (a, b) = (at(&result, "/per_cup/part_a_volume"), at(&result, "/per_cup/part_b_volume"));
    // Rounded to whole grams of part B.
    close(a / b, 3.0, 0.05);

    // By weight the densities change nothing.
    let weighed = work(KIND, &with(KIND, &json!({ "density_a": null, "density_b": null })));
    assert_eq!(at(&weighed, "/part_a"), at(&example(KIND), "/part_a"));
    close(at(&weighed, "/mass_ratio"), 0.27, 1e-12);
}

#[test]
fn the_ratio_must_say_what_it_is_by() {
    let bad = refused(KIND, &with(KIND, &json!({ "ratio": { "a": 100, "b": 27 } })));
    assert_eq!(
        (bad[0].field.as_str(), bad[0].accepted.split(',').next()),
        ("ratio.by", Some("weight or volume"))
    );
    let swapped = json!({ "ratio": { "by": "weight", "a": 27, "b": 100 } });
    assert_eq!(refused(KIND, &with(KIND, &swapped))[0].field, "ratio.b");
}

#[test]
fn pot_life_follows_the_rate_rule() {
    // F25 of the reference: 30 min at 25 °C is 18.467 min at 32 °C.
    let warm = json!({
        "pot_life": { "time": "30 min", "at": "25 degC" }, "temperature": "32 degC",
    });
    let result = work(KIND, &with(KIND, &warm));
    close(at(&result, "/pot_life"), 18.4671662, 1e-8);
}

#[test]
fn below_the_makers_minimum_there_is_no_pot_life() {
    let result = work(KIND, &with(KIND, &json!({ "temperature": "12 degC" })));
    assert!(result.outputs["pot_life"].is_null());
    assert_eq!(result.outputs["temperature_verdict"], "outside");
    assert!(warns(&result, "too-cold"));
}

#[test]
fn a_cup_bigger_than_the_makers_mass_is_warned_of() {
    let result = work(KIND, &with(KIND, &json!({ "cup": { "most": "300 g" } })));
    assert!(warns(&result, "bigger-cup"));
    assert!(warns(&result, "exotherm"));
}

#[test]
fn a_scale_too_coarse_for_the_batch_is_told() {
    let coarse = json!({ "area": "20 cm2", "plies": 1, "scale_step": "5 g" });
    let result = work(KIND, &with(KIND, &coarse));
    assert_eq!(result.outputs["ratio_verdict"], "outside");
    assert!(warns(&result, "scale-too-coarse"));
}

#[test]
fn polyester_brings_its_own_hazards() {
    let result = work(KIND, &with(KIND, &json!({ "resin": "polyester" })));
    assert!(warns(&result, "styrene-peroxide"));
    assert!(warns(&result, "catalyst"));
}

#[test]
fn what_is_wrong_is_named() {
    for (changes, field) in [
        (json!({ "area": "-1 m2" }), "area"),
        (json!({ "area": "1 m" }), "area"),
        (json!({ "plies": 0 }), "plies"),
        (json!({ "cloth": "tartan" }), "cloth"),
        (json!({ "cloth": null, "areal_weight": "8.9 oz" }), "areal_weight"),
        (json!({ "cloth": null }), "areal_weight"),
        (json!({ "fibre_weight_fraction": 1.2 }), "fibre_weight_fraction"),
        (json!({ "cup": { "most": "6 g", "residue": "5.9 g" } }), "cup.residue"),
        (json!({ "temperature": "200 degC" }), "temperature"),
        (json!({ "fabric_mass": "1 kg" }), "area"),
        (json!({ "colour": "green" }), "colour"),
    ] {
        let bad = refused(KIND, &with(KIND, &changes));
        assert_eq!(bad[0].field, field, "{changes}: {bad:?}");
        assert!(!bad[0].reason.is_empty() && !bad[0].accepted.is_empty());
    }
}

#[test]
fn everything_that_is_missing_or_can_t_be_read_is_told_at_once() {
    let missing =
        json!({ "ratio": { "by": "weight" }, "fibre_weight_fraction": null, "temperature": "200 degC" });
    let mut fields: Vec<_> = refused(KIND, &with(KIND, &missing)).into_iter().map(|it| it.field).collect();
    fields.sort();
    assert_eq!(fields, ["fibre_weight_fraction", "ratio.a", "ratio.b", "temperature"]);
    let unreadable =
        json!({ "area": "much", "ratio": { "by": "weight", "a": "ten", "b": "one" }, "colour": "green" });
    let mut fields: Vec<_> = refused(KIND, &with(KIND, &unreadable)).into_iter().map(|it| it.field).collect();
    fields.sort();
    assert_eq!(fields, ["area", "colour", "ratio.a", "ratio.b"]);
}
