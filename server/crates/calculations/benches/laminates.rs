//! Speed of the laminate engine.
//!
//! The 16-ply laminate is L37 of `tests/reference/laminates.json`: glass, 0/45/-45/90 twice,
//! symmetric, under forces and moments together. Demands: full analysis with last-ply failure
//! under 15 µs; A, B, D, stresses and Tsai-Wu alone under 3 µs; a shelf search over 10,000
//! candidates under 200 ms; a 20-ply preview within a frame of 16 ms at a quarter of the speed.

use std::hint::black_box;

use calculations::laminates::mechanics::analysis::{Load, analyse, lowest_ratio};
use calculations::laminates::mechanics::compliance::Compliance;
use calculations::laminates::mechanics::criteria::Criterion;
use calculations::laminates::mechanics::discount::collapse;
use calculations::laminates::mechanics::laminate::{Change, Laminate, Resultants};
use calculations::laminates::mechanics::ply::{Elastic, Expansion, Material, Ply, Strengths};
use criterion::{Criterion as Bench, criterion_group, criterion_main};
use nalgebra::Vector3;
use serde_json::{Value, json};

fn glass() -> Material {
    let elastic = Elastic { e1: 38600.0, e2: 8270.0, g12: 4140.0, nu12: 0.26 };
    let strengths = Strengths { xt: 1062.0, xc: 610.0, yt: 31.0, yc: 118.0, s: 72.0 };
    let expansion = Expansion { a1: 8.6e-6, a2: 22.1e-6, b1: 0.0, b2: 0.6 };
    Material::new(elastic, Some(strengths), expansion, Some(1800.0))
}

fn plies(material: &Material) -> Vec<Ply<'_>> {
    let half = [0.0, 45.0, -45.0, 90.0, 0.0, 45.0, -45.0, 90.0];
    half.iter()
        .chain(half.iter().rev())
        .map(|angle| Ply { material, thickness: 0.125, angle: *angle })
        .collect()
}

fn load() -> Load {
    Load {
        mechanical: Resultants {
            force: Vector3::new(300.0, -80.0, 60.0),
            moment: Vector3::new(20.0, 8.0, -4.0),
        },
        change: Change::default(),
    }
}

fn sixteen_plies(bench: &mut Bench) {
    let material = glass();
    let plies = plies(&material);
    let load = load();
    let hot = Load { change: Change { temperature: -75.0, moisture: 0.002 }, ..load };
    bench.bench_function("ABD, stresses, Tsai-Wu", |b| {
        b.iter(|| {
            let laminate = Laminate::new(black_box(&plies));
            let compliance = Compliance::of(&laminate.stiffness());
            compliance.map(|it| lowest_ratio(&laminate, &it, black_box(&load), Criterion::TsaiWu))
        });
    });
    bench.bench_function("ABD and constants", |b| {
        b.iter(|| {
            let laminate = Laminate::new(black_box(&plies));
            let compliance = Compliance::of(&laminate.stiffness());
            let h = laminate.thickness();
            compliance.map(|it| (it.inplane(h), it.flexural(h)))
        });
    });
    bench.bench_function("full analysis", |b| {
        b.iter(|| analyse(&Laminate::new(black_box(&plies)), black_box(&load)));
    });
    bench.bench_function("full analysis, with thermal and moisture stress", |b| {
        b.iter(|| analyse(&Laminate::new(black_box(&plies)), black_box(&hot)));
    });
    bench.bench_function("full analysis and last-ply failure", |b| {
        b.iter(|| {
            let laminate = Laminate::new(black_box(&plies));
            let analysis = analyse(&laminate, black_box(&load));
            let last = collapse(&laminate, black_box(&load), Criterion::TsaiWu);
            (analysis, last)
        });
    });
}

fn worksheets(bench: &mut Bench) {
    let twenty: Vec<Value> = (0..20)
        .map(|ply| json!({ "material": "w7781_hand", "angle": if ply % 2 == 0 { 0 } else { 45 } }))
        .collect();
    let input = json!({ "plies": twenty, "load": { "N": [100, 20, 10], "dT": -20 } });
    bench.bench_function("worksheet of 20 plies, JSON to JSON", |b| {
        b.iter(|| calculations::calculate("laminate", black_box(&input)));
    });
    let shelf: Vec<Value> = ["w120_hand", "w3733_hand", "w7781_hand", "w7500_hand", "w7781_vac"]
        .iter()
        .map(|name| json!({ "ply": { "material": name } }))
        .collect();
    let parent = json!([{ "material": "w7781_vac", "count": 12 }]);
    let input = json!({ "parent": parent, "shelf": shelf, "most_plies": 40 });
    let searched = calculations::calculate("layup-compare", &input)
        .map(|result| result.outputs["searched"]["value"].clone());
    assert_eq!(searched, Ok(json!(10_000.0)), "the search is not over 10,000 candidates");
    let mut slow = bench.benchmark_group("shelf");
    slow.sample_size(10);
    slow.bench_function("search over 10,000 lay-ups", |b| {
        b.iter(|| calculations::calculate("layup-compare", black_box(&input)));
    });
    slow.finish();
}

criterion_group!(benches, sixteen_plies, worksheets);
criterion_main!(benches);
