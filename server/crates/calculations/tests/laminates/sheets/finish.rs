use serde_json::json;

use super::{at, close, example, refused, warns, with, work};

const KIND: &str = "finish";

#[test]
fn golden() {
    insta::assert_json_snapshot!(example(KIND));
}

#[test]
fn paint_by_hand() {
    let result = example(KIND);
    // 25 µm dry at 45 % solids with 10 % thinner is 25 / 0.45 × 1.1 = 61.1 µm wet.
    close(at(&result, "/wet_film"), 25.0 / 0.45 * 1.1, 1e-9);
    // 0.8 m² × 2 × 25 µm / 0.45 / 0.6 = 148.1 mL of mixed paint, 163.0 mL thinned.
    let paint = 0.8 * 2.0 * 25.0 / 0.45 / 0.6;
    close(at(&result, "/volume"), paint * 1.1, 1e-9);
    close(at(&result, "/parts/0"), paint * 0.8, 1e-9);
    close(at(&result, "/parts/1"), paint * 0.2, 1e-9);
    close(at(&result, "/thinner"), paint * 0.1, 1e-9);
    let parts = at(&result, "/parts/0") + at(&result, "/parts/1") + at(&result, "/thinner");
    close(parts, at(&result, "/volume"), 1e-9);
    // 0.8 m² × 50 µm × 1.4 g/cm³ is 56 g of film.
    close(at(&result, "/film_mass"), 56.0, 1e-9);
}

#[test]
fn the_dew_point() {
    // 20 °C at 60 %: 12.0 °C (every psychrometric chart; Magnus gives 12.01).
    let result = example(KIND);
    close(at(&result, "/air/dew_point"), 12.0, 2e-3);
    close(at(&result, "/air/margin"), 5.0, 5e-3);
    assert_eq!(result.outputs["air"]["verdict"], "within");
    // Saturated air: the dew point is the air's own temperature.
    let wet = json!({ "air": { "temperature": "20 degC", "humidity": 1, "surface": "20 degC" } });
    let result = work(KIND, &with(KIND, &wet));
    close(at(&result, "/air/dew_point"), 20.0, 1e-9);
    assert!(warns(&result, "dew"));
    let near = json!({ "air": { "temperature": "20 degC", "humidity": 0.6, "surface": "14 degC" } });
    assert_eq!(work(KIND, &with(KIND, &near)).outputs["air"]["verdict"], "too-close");
    let below = json!({ "air": { "temperature": "20 degC", "humidity": 0.9, "surface": "15 degC" } });
    assert_eq!(work(KIND, &with(KIND, &below)).outputs["air"]["verdict"], "outside");
}

#[test]
fn the_recoat_window_is_never_moved_in_the_painters_favour() {
    let window = |today: &str, elapsed: &str| {
        let recoat = json!({ "recoat": {
            "earliest": "4 h", "latest": "24 h", "at": "20 degC", "today": today, "elapsed": elapsed,
        } });
        work(KIND, &with(KIND, &recoat))
    };
    let cold = window("10 degC", "6 h");
    close(at(&cold, "/recoat/earliest"), 8.0, 1e-9);
    close(at(&cold, "/recoat/latest"), 24.0, 1e-12);
    assert_eq!(cold.outputs["recoat"]["verdict"], "outside");
    let warm = window("30 degC", "15 h");
    close(at(&warm, "/recoat/earliest"), 4.0, 1e-12);
    close(at(&warm, "/recoat/latest"), 12.0, 1e-9);
    assert!(warns(&warm, "too-late"));
    assert_eq!(window("20 degC", "6 h").outputs["recoat"]["verdict"], "within");
}

#[test]
fn each_paint_brings_its_hazards() {
    for (paint, code) in [
        ("urethane", "isocyanate"),
        ("epoxy-primer", "resin"),
        ("chromate-primer", "chromate"),
        ("gelcoat", "styrene-peroxide"),
        ("one-part", "solvent"),
    ] {
        assert!(warns(&work(KIND, &with(KIND, &json!({ "paint": paint }))), code), "{paint}");
    }
    assert!(!warns(&work(KIND, &with(KIND, &json!({ "paint": "water-borne" }))), "solvent"));
}

#[test]
fn what_is_wrong_is_named() {
    for (changes, field) in [
        (json!({ "area": "0 m2" }), "area"),
        (json!({ "film": "25" }), "film"),
        (json!({ "solids": "120 %" }), "solids"),
        (json!({ "coats": 0 }), "coats"),
        (json!({ "loss": "95 %" }), "loss"),
        (json!({ "parts_by_volume": [4, -1] }), "parts_by_volume[1]"),
        (json!({ "paint": null }), "paint"),
        (json!({ "paint": "magnolia" }), "paint"),
        (
            json!({ "air": { "temperature": "20 degC", "humidity": "0 %", "surface": "17 degC" } }),
            "air.humidity",
        ),
        (json!({ "air": { "temperature": "20 degC", "humidity": "50 %" } }), "air.surface"),
        (
            json!({ "recoat": { "earliest": "4 h", "latest": "2 h", "at": "20 degC", "today": "20 degC" } }),
            "recoat.latest",
        ),
    ] {
        let bad = refused(KIND, &with(KIND, &changes));
        assert_eq!(bad[0].field, field, "{changes}: {bad:?}");
        assert!(!bad[0].reason.is_empty() && !bad[0].accepted.is_empty());
    }
}
