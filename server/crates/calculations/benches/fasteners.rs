//! Speed of the fastener kinds, whole calls: reading, working lines, drawing, digest.

#![allow(clippy::unwrap_used, reason = "a bench fails by panicking")]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use serde_json::{Value, json};

fn pattern(count: usize) -> Value {
    let holes: Vec<Value> = (0..count)
        .map(|place| {
            let (column, row) = (place % 50, place / 50);
            json!({
                "id": place.to_string(), "row": row.to_string(),
                "x": format!("{} in", 0.5 + 0.75 * column as f64), "y": format!("{} in", 0.3 + 0.5 * row as f64),
            })
        })
        .collect();
    json!({
        "diameter": "1/8 in", "layers": [{ "thickness": "0.032 in" }], "holes": holes,
        "edges": [[["0", "0"], ["40 in", "0"], ["40 in", "10 in"], ["0", "10 in"], ["0", "0"]]],
    })
}

fn joint(count: usize) -> Value {
    let side = |holes: Vec<Value>| {
        json!({
            "alloy": "AD", "diameter": "1/8 in", "pitch": "0.75 in", "holes": holes,
            "layers": [
                { "material": "2024-T3", "thickness": "0.032 in", "edge": "0.3 in" },
                { "material": "glass cloth laminate", "thickness": "0.063 in", "edge": "0.4 in" },
            ],
        })
    };
    let hole = |place: usize| match place % 3 {
        0 => json!({ "id": place.to_string(), "diameter": "5/32 in", "edge": "0.31 in" }),
        _ => json!({ "id": place.to_string() }),
    };
    json!({
        "as_found": side((0..count).map(|place| json!({ "id": place.to_string() })).collect()),
        "repaired": side((0..count).map(hole).collect()),
    })
}

fn kinds(criterion: &mut Criterion) {
    let mut bench = |name: &str, kind: &str, input: &Value| {
        criterion.bench_function(name, |bencher| {
            bencher.iter(|| black_box(calculations::calculate(kind, black_box(input))).unwrap());
        });
    };
    bench("pattern, 200 holes", "pattern", &pattern(200));
    let mut upsized = pattern(200);
    upsized["upsize"] = json!({ "diameter": "5/32 in" });
    bench("pattern, 200 holes before and after upsizing", "pattern", &upsized);
    bench("joint-compare, 200 holes", "joint-compare", &joint(200));
    for kind in calculations::kinds()
        .filter(|kind| calculations::fasteners::KINDS.iter().any(|own| own.name == kind.name))
    {
        bench(kind.name, kind.name, &kind.example());
    }
}

criterion_group!(benches, kinds);
criterion_main!(benches);
