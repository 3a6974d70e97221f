//! Speed of the laminate engine, on the 16-ply laminate L37 of `tests/reference/laminates.json`:
//! glass, 0/45/-45/90 twice, symmetric, under forces and moments together.
//!
//! Demands: full analysis with last-ply failure under 15 µs; A, B, D, stresses and Tsai-Wu alone
//! under 3 µs.

use std::hint::black_box;

use calculations::laminates::mechanics::analysis::{Face, Load, Split, analyse};
use calculations::laminates::mechanics::compliance::Compliance;
use calculations::laminates::mechanics::criteria::Criterion;
use calculations::laminates::mechanics::discount::collapse;
use calculations::laminates::mechanics::laminate::{Change, Laminate, Resultants};
use calculations::laminates::mechanics::ply::{Elastic, Expansion, Material, Ply, Strengths};
use criterion::{Criterion as Bench, criterion_group, criterion_main};
use nalgebra::Vector3;

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
    bench.bench_function("analysis", |b| {
        b.iter(|| analyse(&Laminate::new(black_box(&plies)), black_box(&load)));
    });
    bench.bench_function("analysis, with thermal and moisture stress", |b| {
        b.iter(|| analyse(&Laminate::new(black_box(&plies)), black_box(&hot)));
    });
    bench.bench_function("last-ply failure", |b| {
        let laminate = Laminate::new(&plies);
        b.iter(|| collapse(black_box(&laminate), black_box(&load), Criterion::TsaiWu));
    });
    bench.bench_function("full analysis and last-ply failure", |b| {
        b.iter(|| {
            let laminate = Laminate::new(black_box(&plies));
            let analysis = analyse(&laminate, black_box(&load));
            let last = collapse(&laminate, black_box(&load), Criterion::TsaiWu);
            (analysis, last)
        });
    });
    bench.bench_function("ABD, stresses, Tsai-Wu", |b| {
        b.iter(|| {
            let laminate = Laminate::new(black_box(&plies));
            stresses_and_tsai_wu(&laminate, black_box(&load))
        });
    });
}

/// What the libraries of the reference's table do: A, B, D, their inverse, the stress on three
/// faces of each ply, and its Tsai-Wu strength ratio. Gives the lowest.
fn stresses_and_tsai_wu(laminate: &Laminate<'_>, load: &Load) -> Option<f64> {
    let compliance = Compliance::of(&laminate.stiffness()).ok()?;
    let split = Split::of(&compliance, load, &Resultants::default(), laminate.thickness());
    let mut lowest = f64::INFINITY;
    for layer in laminate.layers() {
        for face in Face::ALL {
            let (scaled, held) = split.stresses(layer, face.height(layer));
            let envelope = layer.material.envelope()?;
            if let Some(ratio) = envelope.ratio(Criterion::TsaiWu, &held, &scaled) {
                lowest = lowest.min(ratio);
            }
            black_box(scaled + held);
        }
    }
    Some(lowest)
}

criterion_group!(benches, sixteen_plies);
criterion_main!(benches);
