use serde_json::json;

use super::{at, close, example, refused, warns, with, work};

const KIND: &str = "moisture";

#[test]
fn golden() {
    insta::assert_json_snapshot!(example(KIND));
}

#[test]
fn shares_of_the_reference() {
    // F26 and F27: 1 mm, 4e-6 mm²/s, one day, both faces and one.
    close(at(&example(KIND), "/share_after"), 0.9732428489, 1e-9);
    let one = work(KIND, &with(KIND, &json!({ "faces": "one" })));
    close(at(&one, "/share_after"), 0.6544545106, 1e-9);
    assert_eq!(one.outputs["share_verdict"], "outside");
}

#[test]
fn time_and_share_are_each_others_inverse() {
    let result = example(KIND);
    let hours = at(&result, "/drying_time");
    let again = with(KIND, &json!({ "time": format!("{hours} h") }));
    close(at(&work(KIND, &again), "/share_after"), 0.95, 1e-9);
    // 99.9 % at 0.68 s²/D (Springer, as the reference has it): 0.68 / 4e-6 s.
    close(at(&result, "/dry_time"), 0.68 / 4e-6 / 3600.0, 5e-3);
}

#[test]
fn one_face_takes_four_times_as_long() {
    let both = at(&example(KIND), "/drying_time");
    let one = at(&work(KIND, &with(KIND, &json!({ "faces": "one" }))), "/drying_time");
    close(one, 4.0 * both, 1e-9);
}

#[test]
fn measured_constants_give_the_diffusivity() {
    let constants = json!({ "diffusivity": null, "D0": "12 mm2/s", "C": 5000, "temperature": "65 degC" });
    let result = work(KIND, &with(KIND, &constants));
    close(at(&result, "/diffusivity"), 12.0 * (-5000.0_f64 / 338.15).exp(), 1e-11);
}

#[test]
fn hot_drying_is_judged() {
    let hot = work(KIND, &with(KIND, &json!({ "temperature": "95 degC" })));
    assert_eq!(hot.outputs["temperature_verdict"], "too-close");
    let limited = json!({ "temperature": "95 degC", "most": "70 degC" });
    assert_eq!(work(KIND, &with(KIND, &limited)).outputs["temperature_verdict"], "outside");
    assert!(warns(&hot, "fick-limits"));
}

#[test]
fn what_is_wrong_is_named() {
    for (changes, field) in [
        (json!({ "diffusivity": null }), "diffusivity"),
        (json!({ "diffusivity": "4e-6" }), "diffusivity"),
        (json!({ "diffusivity": "1 m2/s" }), "diffusivity"),
        (json!({ "diffusivity": null, "D0": "12 mm2/s" }), "C"),
        (json!({ "diffusivity": null, "C": 5000 }), "D0"),
        (json!({ "D0": "12 mm2/s" }), "D0"),
        (json!({ "thickness": "0 mm" }), "thickness"),
        (json!({ "temperature": "-5 degC" }), "temperature"),
        (json!({ "share": 1 }), "share"),
        (json!({ "faces": "three" }), "faces"),
        (json!({ "time": "-3 h" }), "time"),
    ] {
        let bad = refused(KIND, &with(KIND, &changes));
        assert_eq!(bad[0].field, field, "{changes}: {bad:?}");
        assert!(!bad[0].reason.is_empty() && !bad[0].accepted.is_empty());
    }
}
