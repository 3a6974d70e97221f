use proptest::prelude::*;
use serde_json::{Value, json};
use shared_types::worksheet::WorksheetResult;

use super::{at, close, example, refused, warns, with, work};

const KIND: &str = "patch";

#[test]
fn golden() {
    insta::assert_json_snapshot!(example(KIND));
}

#[test]
fn the_patch_of_the_reference() {
    // F22: a hole of 50 mm, four plies and one extra, steps of 12.7 mm.
    let result = example(KIND);
    let diameters: Vec<f64> = serde_json::from_value(result.outputs["diameters"].clone()).unwrap();
    for (got, expected) in diameters.iter().zip([75.4, 100.8, 126.2, 151.6, 177.0]) {
        close(*got, expected, 1e-12);
    }
    for (key, expected) in [
        ("cloth_area", 67610.05842),
        ("square_blanks_area", 94692.18),
        ("cloth_mass", 20.4858477),
        ("resin_mass", 24.58301724),
        ("taper_ratio", 50.8),
        ("scarf_outer_d", 151.6),
        ("bond_area", 22642.24365),
    ] {
        close(at(&result, &format!("/{key}")), expected, 1e-9);
    }
    assert!(!warns(&result, "no-extra-ply"));
}

#[test]
fn angles_repeat_the_parent_from_the_depth_up() {
    let parent = json!([
        { "material": "w7781_vac", "angle": 0 }, { "material": "w7781_vac", "angle": 45 },
        { "material": "w7781_vac", "angle": 90 },
    ]);
    let angles = |side: &str, extra: u16| {
        let changes = json!({ "parent": parent, "side": side, "extra_plies": extra });
        let result = work(KIND, &with(KIND, &changes));
        let list = result.outputs["cut_list"].as_array().unwrap().clone();
        list.iter()
            .map(|piece| (piece["side"].as_str().unwrap().to_owned(), piece["angle"].as_f64().unwrap()))
            .collect::<Vec<_>>()
    };
    let pairs = |list: &[(&str, f64)]| {
        list.iter().map(|(side, angle)| ((*side).to_owned(), *angle)).collect::<Vec<_>>()
    };
    // Listed from the inner face: from outside the deepest ply replaces the inner one.
    let outer = pairs(&[("outer", 0.0), ("outer", 45.0), ("outer", 90.0), ("outer", 90.0)]);
    assert_eq!(angles("outer", 1), outer);
    assert_eq!(angles("inner", 0), pairs(&[("inner", 90.0), ("inner", 45.0), ("inner", 0.0)]));
    // From both sides: the inner one ply, the outer the other two.
    assert_eq!(angles("both", 0), pairs(&[("inner", 0.0), ("outer", 45.0), ("outer", 90.0)]));
}

#[test]
fn a_steep_taper_is_refused_with_what_the_rules_ask() {
    let steep = with(KIND, &json!({ "step": "6 mm" }));
    let bad = refused(KIND, &steep);
    assert_eq!(bad[0].field, "step");
    assert!(bad[0].reason.contains("24 to 1"), "{}", bad[0].reason);
    assert!(bad[0].accepted.starts_with("at least 12.5 mm per ply"), "{}", bad[0].accepted);
    for rule in ["AC 43.13-1B", "MIL-HDBK-17", "12.7 mm", "20 ×"] {
        assert!(bad[0].accepted.contains(rule), "{}", bad[0].accepted);
    }
    // The least published rule lets it pass.
    work(KIND, &with(KIND, &json!({ "step": "6 mm", "rule": "least-20" })));
    let ratio = json!({ "step": null, "taper_ratio": 30 });
    assert_eq!(refused(KIND, &with(KIND, &ratio))[0].field, "taper_ratio");
    // Left out, the step follows the rule.
    let by_rule = work(KIND, &with(KIND, &json!({ "step": null })));
    close(at(&by_rule, "/taper_ratio"), 50.0, 1e-12);
}

#[test]
fn ovals_and_rectangles_grow_on_all_sides() {
    let oval = json!({ "damage": { "shape": "oval", "length": "80 mm", "width": "40 mm" } });
    let result = work(KIND, &with(KIND, &oval));
    assert_eq!(result.outputs["diameters"], Value::Null);
    let sizes: Vec<[f64; 2]> = serde_json::from_value(result.outputs["sizes"].clone()).unwrap();
    close(sizes[0][0], 105.4, 1e-12);
    close(sizes[0][1], 65.4, 1e-12);
    let rectangle = json!({ "damage": {
        "shape": "rectangle", "length": "80 mm", "width": "40 mm", "corner_radius": "12 mm",
    } });
    let result = work(KIND, &with(KIND, &rectangle));
    // By hand: 105.4 by 65.4 with corners of 24.7 mm.
    let expected = 105.4 * 65.4 - (4.0 - std::f64::consts::PI) * 24.7 * 24.7;
    close(at(&result, "/ply_areas/0"), expected, 1e-12);
}

#[test]
fn the_template_is_to_scale_and_says_so() {
    let result = work(KIND, &with(KIND, &json!({ "template": true })));
    let dxf = result.outputs["template"]["dxf"].as_str().unwrap();
    // Each ply on its own layer; the widest x less the narrowest is the largest ply, 177 mm.
    for layer in ["HOLE", "PLY_1", "PLY_5", "SCALE"] {
        assert!(dxf.contains(&format!("\r\n8\r\n{layer}\r\n")), "{layer}");
    }
    assert!(dxf.starts_with("0\r\nSECTION") && dxf.ends_with("0\r\nEOF\r\n"));
    let xs: Vec<f64> = vertices(dxf, "PLY_5");
    let span = xs.iter().copied().fold(f64::MIN, f64::max) - xs.iter().copied().fold(f64::MAX, f64::min);
    close(span, 177.0, 1e-4);
    assert!(warns(&result, "print-check"));
    assert!(example(KIND).outputs["template"].is_null());
}

/// x of all vertices of a layer.
fn vertices(dxf: &str, layer: &str) -> Vec<f64> {
    let lines: Vec<_> = dxf.lines().collect();
    let pairs: Vec<_> = lines.chunks(2).map(|pair| (pair[0], pair[1])).collect();
    pairs
        .windows(3)
        .filter(|w| w[0] == ("0", "VERTEX") && w[1] == ("8", layer) && w[2].0 == "10")
        .map(|w| w[2].1.parse().unwrap())
        .collect()
}

#[cfg(feature = "templates")]
#[test]
fn the_pdf_has_a_page_for_each_sheet_of_paper() {
    use base64::Engine as _;
    let result = work(KIND, &with(KIND, &json!({ "template": true })));
    let pages = at(&result, "/template/pages") as usize;
    let pdf = result.outputs["template"]["pdf_base64"].as_str().unwrap();
    let pdf = base64::engine::general_purpose::STANDARD.decode(pdf).unwrap();
    assert!(pdf.starts_with(b"%PDF-"));
    let count = pdf.windows(11).filter(|w| w == b"/Type /Page").count();
    // The tree of pages counts as one more.
    assert_eq!(count, pages + 1);
    // 201 mm of sheet on A4 lying down: one column, two rows.
    assert_eq!(pages, 2);
}

#[test]
fn what_is_wrong_is_named() {
    for (changes, field) in [
        (json!({ "damage": { "shape": "round" } }), "damage.diameter"),
        (json!({ "damage": { "shape": "round", "diameter": "-5 mm" } }), "damage.diameter"),
        (json!({ "damage": { "shape": "round", "diameter": "3 m" } }), "damage.diameter"),
        (json!({ "damage": { "shape": "oval", "diameter": "5 mm" } }), "damage.diameter"),
        (json!({ "damage": { "shape": "star" } }), "damage.shape"),
        (
            json!({ "damage": { "shape": "rectangle", "length": "80 mm", "width": "40 mm", "corner_radius": "30 mm" } }),
            "damage.corner_radius",
        ),
        (json!({ "parent": null }), "parent"),
        (json!({ "plies": 4 }), "plies"),
        (json!({ "parent": null, "plies": 0 }), "plies"),
        (json!({ "parent": [{ "material": "w7781_vac", "count": 61 }] }), "parent"),
        (json!({ "ply_thickness": "0 mm" }), "ply_thickness"),
        (json!({ "taper_ratio": 60 }), "taper_ratio"),
        (json!({ "cloth": null }), "areal_weight"),
        (json!({ "extra_plies": 100 }), "extra_plies"),
        (json!({ "cloth_width": "100 mm" }), "cloth_width"),
        (json!({ "waste_resin": "-10 %" }), "waste_resin"),
    ] {
        let bad = refused(KIND, &with(KIND, &changes));
        assert_eq!(bad[0].field, field, "{changes}: {bad:?}");
        assert!(!bad[0].reason.is_empty() && !bad[0].accepted.is_empty());
    }
}

fn blanks(result: &WorksheetResult) -> Vec<[f64; 4]> {
    let blanks = result.outputs["cut_plan"]["blanks"].as_array().unwrap();
    let number = |blank: &Value, key: &str| blank[key].as_f64().unwrap();
    blanks
        .iter()
        .map(|it| [number(it, "x"), number(it, "y"), number(it, "width"), number(it, "height")])
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn the_cut_plan_has_no_overlap_and_the_mass_is_the_sum_of_the_plies(
        length in 10.0..300.0_f64,
        width in 10.0..200.0_f64,
        plies in 1_u16..12,
        angle in -90.0..90.0_f64,
        both in any::<bool>(),
    ) {
        let input = with(KIND, &json!({
            "damage": { "shape": "oval", "length": format!("{length} mm"), "width": format!("{width} mm") },
            "parent": [{ "material": "w7781_vac", "angle": angle, "count": plies }],
            "side": if both { "both" } else { "outer" },
            "gap": "5 mm",
        }));
        let result = work(KIND, &input);
        let (cloth, cut) = (at(&result, "/cut_plan/cloth_width"), at(&result, "/cut_plan/cloth_length"));
        let blanks = blanks(&result);
        let pieces = result.outputs["cut_list"].as_array().unwrap();
        prop_assert_eq!(blanks.len(), pieces.len());
        for (i, one) in blanks.iter().enumerate() {
            let [x, y, w, h] = *one;
            prop_assert!(x >= 0.0 && y >= 0.0 && x + w <= cloth + 1e-6 && y + h <= cut + 1e-6);
            for other in &blanks[..i] {
                let apart = x + w + 5.0 <= other[0] + 1e-6
                    || other[0] + other[2] + 5.0 <= x + 1e-6
                    || y + h + 5.0 <= other[1] + 1e-6
                    || other[1] + other[3] + 5.0 <= y + 1e-6;
                prop_assert!(apart, "{one:?} {other:?}");
            }
        }
        let sum: f64 = pieces.iter().map(|piece| piece["mass"]["value"].as_f64().unwrap()).sum();
        let whole = at(&result, "/patch_mass");
        prop_assert!((sum / whole - 1.0).abs() < 1e-9, "{sum} {whole}");
        // Nesting never takes more cloth than laying the blanks in a column.
        let column: f64 = blanks.iter().map(|blank| blank[3] + 5.0).sum();
        prop_assert!(cut <= column + 1e-6);
    }
}

/// A repair of four plies of 7781 and one of 120, listed from the inner face.
fn repair() -> Value {
    let ply = |cloth: &str, angle: i32| json!({ "cloth": cloth, "fibre_fraction": 0.4, "angle": angle });
    let inner = "E-glass style 7781";
    json!([ply(inner, 0), ply(inner, 45), ply(inner, 90), ply(inner, -45), ply("E-glass style 120", 30)])
}

/// The example's hole, filled by a listed repair.
fn filled(changes: &Value) -> Value {
    let mut input = json!({ "damage": { "shape": "round", "diameter": "50 mm" }, "repair": repair() });
    for (key, value) in changes.as_object().unwrap() {
        input[key] = value.clone();
    }
    input
}

#[test]
fn a_listed_repair_says_its_own_angles_extra_plies_and_cloth() {
    let pieces = |changes: &Value| {
        let result = work(KIND, &filled(changes));
        let list = result.outputs["cut_list"].as_array().unwrap().clone();
        let piece = |it: &Value| {
            let side = it["side"].as_str().unwrap().to_owned();
            (side, it["ply"].as_u64().unwrap(), it["angle"].as_f64().unwrap(), it["extra"].as_bool().unwrap())
        };
        list.iter().map(piece).collect::<Vec<_>>()
    };
    let told = |list: &[(&str, u64, f64, bool)]| {
        list.iter()
            .map(|(side, ply, angle, extra)| ((*side).to_owned(), *ply, *angle, *extra))
            .collect::<Vec<_>>()
    };
    let outer = [
        ("outer", 1, 0.0, false),
        ("outer", 2, 45.0, false),
        ("outer", 3, 90.0, false),
        ("outer", 4, -45.0, false),
        ("outer", 5, 30.0, true),
    ];
    assert_eq!(pieces(&json!({})), told(&outer));
    // From inside the deepest is the one nearest the outer face, and the extra one the innermost.
    let inner = [
        ("inner", 5, 30.0, false),
        ("inner", 4, -45.0, false),
        ("inner", 3, 90.0, false),
        ("inner", 2, 45.0, false),
        ("inner", 1, 0.0, true),
    ];
    assert_eq!(pieces(&json!({ "side": "inner" })), told(&inner));
    let both = [
        ("inner", 2, 45.0, false),
        ("inner", 1, 0.0, true),
        ("outer", 3, 90.0, false),
        ("outer", 4, -45.0, false),
        ("outer", 5, 30.0, true),
    ];
    assert_eq!(pieces(&json!({ "side": "both" })), told(&both));
}

#[test]
fn each_cloth_of_a_repair_has_its_own_plan_and_the_thickest_ply_sets_the_step() {
    let result = work(KIND, &filled(&json!({})));
    assert_eq!(result.outputs["cut_plan"]["cloth"], "E-glass style 7781");
    assert_eq!(result.outputs["cut_plan"]["blanks"].as_array().unwrap().len(), 4);
    let further = result.outputs["further_cut_plans"].as_array().unwrap();
    assert_eq!(further.len(), 1);
    assert_eq!(further[0]["cloth"], "E-glass style 120");
    assert_eq!(further[0]["blanks"][0]["piece"], 5);
    // By hand: 303 g/m2 of glass at 2600 kg/m3 and a fraction of 0.4 make 0.2913 mm, 50 of them 14.57 mm.
    let ply = 303.0 / 2600.0 / 0.4;
    let step = (at(&result, "/diameters/0") - 50.0) / 2.0;
    close(step, 50.0 * ply, 0.03);
    // Dry: each ring's area by its cloth's weight.
    let area = |k: f64| std::f64::consts::PI / 4.0 * (50.0 + 2.0 * k * step) * (50.0 + 2.0 * k * step) * 1e-6;
    let dry = 303.0 * (1..=4).map(|k| area(f64::from(k))).sum::<f64>() + 107.0 * area(5.0);
    close(at(&result, "/cloth_mass"), dry, 1e-9);
    let cured = at(&result, "/patch_mass");
    assert!(cured > 1.3 * dry && cured < 2.2 * dry, "{cured} g of {dry} g dry");
}

#[test]
fn what_a_listed_repair_does_not_say_is_asked_for_once() {
    let by_material = json!([{ "material": "w7781_hand", "count": 3 }]);
    let bad = refused(KIND, &filled(&json!({ "repair": by_material })));
    let fields: Vec<_> = bad.iter().map(|it| it.field.as_str()).collect();
    assert_eq!(fields, ["areal_weight", "fibre_weight_fraction"]);
    let told = json!({ "repair": by_material, "areal_weight": "303 g/m2", "fibre_weight_fraction": 0.5 });
    close(
        at(&work(KIND, &filled(&told)), "/patch_mass"),
        2.0 * at(&work(KIND, &filled(&told)), "/cloth_mass"),
        1e-9,
    );
    for (changes, field) in [
        (json!({ "extra_plies": 5 }), "extra_plies"),
        (json!({ "side": "both", "extra_plies": 3 }), "extra_plies"),
        (json!({ "plies": 4 }), "plies"),
        (json!({ "cloth": "E-glass style 7781" }), "cloth"),
        (json!({ "step": "6 mm" }), "step"),
        (json!({ "repair": [{ "cloth": "no such cloth", "fibre_fraction": 0.4 }] }), "repair[0].cloth"),
    ] {
        let bad = refused(KIND, &filled(&changes));
        assert!(bad.iter().any(|it| it.field == field), "{changes}: {bad:?}");
    }
}

#[test]
fn the_template_is_a_drawing_too() {
    let result = work(KIND, &with(KIND, &json!({ "template": true })));
    let svg = result.outputs["template"]["svg"].as_str().unwrap();
    // The hole and five plies, each closed; the first number of a polygon is its rightmost x.
    assert_eq!(svg.matches("<polygon").count(), 6);
    let widths: Vec<f64> = svg
        .split("<polygon points=\"")
        .skip(1)
        .map(|rest| {
            let points = rest.split('"').next().unwrap().split_whitespace();
            let xs: Vec<f64> = points.map(|it| it.split(',').next().unwrap().parse().unwrap()).collect();
            xs.iter().copied().fold(f64::MIN, f64::max) - xs.iter().copied().fold(f64::MAX, f64::min)
        })
        .collect();
    for (got, expected) in widths.iter().zip([50.0, 75.4, 100.8, 126.2, 151.6, 177.0]) {
        close(*got, expected, 1e-4);
    }
    assert!(svg.contains("P5 outer 0 deg"), "{svg}");
}
