//! The drill template is full size in every format: what a person would measure on the paper.

use serde_json::{Value, json};

use super::{calc, near, number, text};

fn layout() -> Value {
    calc(
        "row-layout",
        &json!({
            "edge_length": "12 in", "radius": "20 in", "end_clearance": "0.375 in", "diameter": "1/8 in",
            "pitch_target": "0.75 in", "rows": 2, "staggered": true,
        }),
    )
}

/// The distances of the holes from the first, in millimetres.
fn from_the_first(holes: &[(f64, f64)]) -> Vec<(f64, f64)> {
    holes.iter().map(|(x, y)| (x - holes[0].0, y - holes[0].1)).collect()
}

fn asked(result: &Value) -> Vec<(f64, f64)> {
    let holes: Vec<(f64, f64)> = result["positions"]
        .as_array()
        .unwrap()
        .iter()
        .map(|hole| (number(hole, "/x") * 25.4, number(hole, "/y") * 25.4))
        .collect();
    from_the_first(&holes)
}

#[track_caller]
fn same(found: &[(f64, f64)], expected: &[(f64, f64)], tolerance: f64) {
    assert_eq!(found.len(), expected.len());
    for (found, expected) in found.iter().zip(expected) {
        near(found.0, expected.0, tolerance);
        near(found.1, expected.1, tolerance);
    }
}

/// The numbers after a DXF entity's group codes.
fn dxf<'a>(text: &'a str, entity: &'a str, layer: &'a str) -> impl Iterator<Item = Vec<(u16, f64)>> + 'a {
    let lines: Vec<&str> = text.split("\r\n").collect();
    let pairs: Vec<(u16, &str)> =
        lines.chunks_exact(2).map(|pair| (pair[0].parse().unwrap(), pair[1])).collect();
    let entities: Vec<Vec<(u16, &str)>> =
        pairs.chunk_by(|_, next| next.0 != 0).map(<[(u16, &str)]>::to_vec).collect();
    entities.into_iter().filter_map(move |pairs| {
        let is = pairs[0] == (0, entity) && pairs.get(1) == Some(&(8, layer));
        is.then(|| pairs[2..].iter().map(|(code, value)| (*code, value.parse().unwrap())).collect())
    })
}

fn value(pairs: &[(u16, f64)], code: u16) -> f64 {
    pairs.iter().find(|pair| pair.0 == code).unwrap().1
}

#[test]
fn the_dxf_is_full_size_in_millimetres() {
    let result = layout();
    let text = text(&result, "/template/dxf");
    let circles: Vec<_> = dxf(text, "CIRCLE", "HOLES").collect();
    let centres: Vec<(f64, f64)> =
        circles.iter().map(|circle| (value(circle, 10), value(circle, 20))).collect();
    same(&from_the_first(&centres), &asked(&result), 2e-5);
    for circle in &circles {
        near(value(circle, 40), 25.4 / 16.0, 1e-5);
    }
    let bars: Vec<f64> = dxf(text, "LINE", "SCALE")
        .map(|line| value(&line, 11) - value(&line, 10))
        .filter(|w| *w > 0.0)
        .collect();
    assert_eq!(bars, [50.0, 50.8]);
}

/// The number after each `key="` in an SVG.
fn attributes<'a>(svg: &'a str, key: &'a str) -> impl Iterator<Item = f64> + 'a {
    svg.split(key).skip(1).map(|rest| rest.split(['"', 'm']).next().unwrap().parse().unwrap())
}

#[test]
fn the_svg_is_full_size_in_millimetres() {
    let result = layout();
    let svg = text(&result, "/template/svg");
    // A unit of the picture is a millimetre of the paper.
    let (width, height) =
        (attributes(svg, " width=\"").next().unwrap(), attributes(svg, " height=\"").next().unwrap());
    assert!(svg.contains(&format!("width=\"{width:.3}mm\" height=\"{height:.3}mm\"")));
    assert!(svg.contains(&format!("viewBox=\"0 0 {width:.3} {height:.3}\"")));
    let centres: Vec<(f64, f64)> =
        attributes(svg, "cx=\"").zip(attributes(svg, "cy=\"").map(|down| -down)).collect();
    same(&from_the_first(&centres), &asked(&result), 2e-4);
    for (start, end) in [("12.0000", "62.0000"), ("72.0000", "122.8000")] {
        assert!(svg.contains(&format!("M{start} ")) && svg.contains(&format!("H{end}M{end}")), "{svg}");
    }
}

#[cfg(feature = "templates")]
#[test]
fn the_pdf_has_both_scale_bars_on_every_sheet() {
    use base64::Engine as _;
    let result = layout();
    let pdf =
        base64::engine::general_purpose::STANDARD.decode(text(&result, "/template/pdf_base64")).unwrap();
    let words = String::from_utf8_lossy(&pdf);
    let pages = number(&result, "/template/pages") as usize;
    assert!(pages > 1, "12 in do not fit on one sheet");
    let lines: Vec<(f64, f64)> = words
        .lines()
        .zip(words.lines().skip(1))
        .filter_map(|(from, to)| {
            let (from, to) = (from.strip_suffix(" m")?, to.strip_suffix(" l")?);
            let point = |text: &str| -> Option<(f64, f64)> {
                let (x, y) = text.split_once(' ')?;
                Some((x.parse().ok()?, y.parse().ok()?))
            };
            let ((x0, y0), (x1, y1)) = (point(from)?, point(to)?);
            (y0 == y1).then_some((x0, x1))
        })
        .collect();
    // 72 points to the inch.
    for bar in [50.0 / 25.4 * 72.0, 144.0] {
        let found = lines.iter().filter(|(from, to)| (to - from - bar).abs() < 1e-3).count();
        assert_eq!(found, pages, "{bar} in {lines:?}");
    }
}
