//! What must hold for any laminate: laws of statics and geometry, not figures from a table.

use calculations::laminates::mechanics::analysis::{Analysis, Load, analyse, lowest_ratio};
use calculations::laminates::mechanics::criteria::Criterion;
use calculations::laminates::mechanics::discount::collapse;
use calculations::laminates::mechanics::laminate::{Change, Laminate, Resultants};
use calculations::laminates::mechanics::ply::{Direction, Elastic, Expansion, Material, Ply, Strengths};
use nalgebra::{Matrix3, Vector3};
use proptest::prelude::*;

/// A possible orthotropic material with strengths, expansion and density.
fn material() -> impl Strategy<Value = Material> {
    let elastic = (1e3..2e5_f64, 0.02..1.0_f64, 0.02..0.5_f64, -0.9..0.9_f64);
    let strengths = (0.002..0.03_f64, 0.002..0.03_f64, 0.001..0.03_f64, 0.002..0.03_f64, 0.002..0.03_f64);
    let expansion = (-5e-6..1e-4_f64, 0.0..1e-4_f64, 0.0..0.6_f64, 0.0..0.6_f64);
    (elastic, strengths, expansion).prop_map(|((e1, across, shear, poisson), s, x)| {
        let (e2, g12) = (e1 * across, e1 * shear);
        let nu12 = poisson * (e1 / e2).sqrt().min(1.0);
        let elastic = Elastic { e1, e2, g12, nu12 };
        let (xt, xc) = (s.0 * e1, s.1 * e1);
        // Across no more than twice along: beyond it Tsai-Hill's form is open, and some stress
        // never fails by it.
        let most = 1.9 * xt.min(xc);
        let (yt, yc) = ((s.2 * e2).min(most), (s.3 * e2).min(most));
        let strengths = Strengths { xt, xc, yt, yc, s: s.4 * g12 };
        let expansion = Expansion { a1: x.0, a2: x.1, b1: x.2, b2: x.3 };
        Material::new(elastic, Some(strengths), expansion, Some(1800.0))
    })
}

/// Two materials and plies of them: which, thickness, angle.
fn stack() -> impl Strategy<Value = (Vec<Material>, Vec<(usize, f64, f64)>)> {
    let plies = prop::collection::vec((0..2_usize, 0.05..2.0_f64, -180.0..180.0_f64), 1..10);
    (prop::collection::vec(material(), 2), plies)
}

fn load() -> impl Strategy<Value = Load> {
    let part = || prop::array::uniform3(-200.0..200.0_f64);
    (part(), part(), -100.0..100.0_f64, 0.0..0.01_f64).prop_map(|(n, m, temperature, moisture)| Load {
        mechanical: Resultants { force: Vector3::from(n), moment: Vector3::from(m) * 0.1 },
        change: Change { temperature, moisture },
    })
}

fn laminate<'m>(materials: &'m [Material], plies: &[(usize, f64, f64)], turn: f64) -> Laminate<'m> {
    let plies: Vec<_> = plies
        .iter()
        .map(|(which, thickness, angle)| Ply {
            material: &materials[*which],
            thickness: *thickness,
            angle: angle + turn,
        })
        .collect();
    Laminate::new(&plies)
}

fn near(one: f64, other: f64, scale: f64) -> bool {
    (one - other).abs() <= 1e-9 * scale
}

/// Scale of the stresses, for differences.
fn scale(analysis: &Analysis) -> f64 {
    analysis.points.iter().map(|p| p.sig_12.amax()).fold(1e-300, f64::max)
}

proptest! {
    #[test]
    fn an_isotropic_stack_is_its_material(
        e in 1e3..3e5_f64, nu in 0.0..0.49_f64, alpha in 0.0..1e-4_f64,
        plies in prop::collection::vec((0.05..2.0_f64, -180.0..180.0_f64), 1..12),
    ) {
        let elastic = Elastic { e1: e, e2: e, g12: e / (2.0 * (1.0 + nu)), nu12: nu };
        let expansion = Expansion { a1: alpha, a2: alpha, b1: 0.0, b2: 0.0 };
        let material = [Material::new(elastic, None, expansion, None)];
        let plies: Vec<_> = plies.iter().map(|(t, a)| (0, *t, *a)).collect();
        let laminate = laminate(&material, &plies, 0.0);
        let hot = Load { change: Change { temperature: 100.0, moisture: 0.0 }, ..Load::default() };
        let analysis = analyse(&laminate, &hot).unwrap();
        for modulus in [analysis.inplane.ex, analysis.inplane.ey, analysis.flexural.ex, analysis.inplane_held.ex] {
            prop_assert!(near(modulus, e, e));
        }
        prop_assert!(near(analysis.inplane.gxy, elastic.g12, e));
        prop_assert!(near(analysis.inplane.nuxy, nu, 1.0));
        prop_assert!(near(analysis.per_kelvin.strain.x, alpha, alpha.max(1e-9)));
        // Free to expand: no stress.
        prop_assert!(scale(&analysis) <= 1e-9 * e * alpha * 100.0 + 1e-300);
    }

    #[test]
    fn ply_stresses_carry_the_load((materials, plies) in stack(), load in load()) {
        let laminate = laminate(&materials, &plies, 0.0);
        let analysis = analyse(&laminate, &load).unwrap();
        let (mut force, mut moment) = (Vector3::zeros(), Vector3::zeros());
        for (layer, points) in laminate.layers().iter().zip(analysis.points.chunks(3)) {
            // Stress is linear and stress times z quadratic in z: Simpson's rule is exact.
            let t = layer.thickness();
            let weights = [1.0, 4.0, 1.0].map(|weight| weight * t / 6.0);
            for (point, weight) in points.iter().zip(weights) {
                force += point.sig_xy * weight;
                moment += point.sig_xy * (point.z * weight);
            }
        }
        let h = laminate.thickness();
        let size = scale(&analysis) * h;
        prop_assert!((force - load.mechanical.force).amax() <= 1e-9 * size);
        prop_assert!((moment - load.mechanical.moment).amax() <= 1e-9 * size * h);
    }

    #[test]
    fn turning_laminate_and_load_together_changes_no_ply(
        (materials, plies) in stack(), load in load(), turn in -180.0..180.0_f64,
    ) {
        let still = analyse(&laminate(&materials, &plies, 0.0), &load).unwrap();
        // Seen from axes turned by -turn, every ply is turned by +turn, and so is the load.
        let back = Direction::degrees(-turn);
        let turned_load = Load {
            mechanical: Resultants {
                force: back.stress_in(&load.mechanical.force),
                moment: back.stress_in(&load.mechanical.moment),
            },
            ..load
        };
        let turned = analyse(&laminate(&materials, &plies, turn), &turned_load).unwrap();
        let size = scale(&still);
        for (one, other) in still.points.iter().zip(&turned.points) {
            prop_assert!((one.sig_12 - other.sig_12).amax() <= 1e-8 * size);
        }
    }

    #[test]
    fn the_mirrored_stack_has_the_opposite_coupling((materials, plies) in stack()) {
        let mirrored: Vec<_> = plies.iter().rev().copied().collect();
        let one = laminate(&materials, &plies, 0.0).stiffness();
        let other = laminate(&materials, &mirrored, 0.0).stiffness();
        let h: f64 = plies.iter().map(|ply| ply.1).sum();
        let size = one.a.amax();
        prop_assert!((one.a - other.a).amax() <= 1e-12 * size);
        prop_assert!((one.b + other.b).amax() <= 1e-12 * size * h);
        prop_assert!((one.d - other.d).amax() <= 1e-12 * size * h * h);
    }

    #[test]
    fn a_strength_ratio_is_where_the_index_reaches_one((materials, plies) in stack(), load in load()) {
        let laminate = laminate(&materials, &plies, 0.0);
        let analysis = analyse(&laminate, &load).unwrap();
        // The stress of thermal and moisture change alone.
        let held = analyse(&laminate, &Load { change: load.change, ..Load::default() }).unwrap();
        for (layer, (all, held)) in laminate.layers().iter().flat_map(|l| [l; 3]).zip(analysis.points.iter().zip(&held.points)) {
            let envelope = layer.material.envelope().unwrap();
            let scaled = all.sig_12 - held.sig_12;
            let judged = all.judged.unwrap();
            for criterion in Criterion::ALL {
                let index = |r: f64| {
                    let indices = envelope.indices(&(held.sig_12 + scaled * r));
                    match criterion {
                        Criterion::MaxStress => indices.max_stress,
                        Criterion::MaxStrain => indices.max_strain,
                        Criterion::TsaiHill => indices.tsai_hill,
                        Criterion::TsaiWu => indices.tsai_wu,
                    }
                };
                match judged.ratios.by(criterion) {
                    Some(ratio) if ratio > 0.0 && ratio < 1e6 => {
                        prop_assert!((index(ratio) - 1.0).abs() < 1e-6, "{criterion:?} {ratio} {}", index(ratio));
                        for part in [0.0, 0.25, 0.5, 0.75, 0.99] {
                            prop_assert!(index(part * ratio) < 1.0 + 1e-9);
                        }
                    }
                    Some(ratio) => prop_assert!(ratio >= 1e6 || index(0.0) >= 1.0 - 1e-9),
                    None => prop_assert!(scaled.amax() <= 1e-9 * scale(&analysis)),
                }
            }
        }
    }

    #[test]
    fn the_quick_ratio_is_the_first_failure((materials, plies) in stack(), load in load()) {
        let laminate = laminate(&materials, &plies, 0.0);
        let analysis = analyse(&laminate, &load).unwrap();
        let quick = lowest_ratio(&laminate, &analysis.compliance, &load, Criterion::TsaiWu).unwrap();
        let full = analysis.first[3].as_ref().unwrap().ratio;
        prop_assert!((quick - full).abs() <= 1e-9 * full + 1e-15);
    }

    #[test]
    fn the_last_ply_comes_no_sooner_than_the_first((materials, plies) in stack(), load in load()) {
        let laminate = laminate(&materials, &plies, 0.0);
        let analysis = analyse(&laminate, &load).unwrap();
        let last = collapse(&laminate, &load, Criterion::TsaiWu).unwrap().unwrap();
        let first = analysis.first[3].as_ref().unwrap();
        prop_assert!((last.steps[0].ratio - first.ratio).abs() <= 1e-9 * first.ratio + 1e-15);
        prop_assert!(last.ratio >= first.ratio * (1.0 - 1e-9));
        prop_assert!(last.steps.len() <= 2 * plies.len());
    }

    #[test]
    fn the_stiffness_is_symmetric_and_positive((materials, plies) in stack()) {
        let stiffness = laminate(&materials, &plies, 0.0).stiffness();
        for matrix in [stiffness.a, stiffness.b, stiffness.d] {
            prop_assert_eq!(matrix, matrix.transpose());
        }
        for matrix in [stiffness.a, stiffness.d] {
            prop_assert!(nalgebra::Cholesky::new(matrix).is_some());
        }
    }

    #[test]
    fn the_inverse_is_the_inverse((materials, plies) in stack(), load in load()) {
        let laminate = laminate(&materials, &plies, 0.0);
        let analysis = analyse(&laminate, &load).unwrap();
        let (s, d) = (&analysis.stiffness, &analysis.deformation);
        let force: Vector3<f64> = s.a * d.strain + s.b * d.curvature;
        let moment: Vector3<f64> = s.b * d.strain + s.d * d.curvature;
        let expected = load.mechanical.force + analysis.hygrothermal.force;
        let expected_moment = load.mechanical.moment + analysis.hygrothermal.moment;
        let h = laminate.thickness();
        let size = s.a.amax() * d.bound(h);
        prop_assert!((force - expected).amax() <= 1e-10 * size);
        prop_assert!((moment - expected_moment).amax() <= 1e-10 * size * h);
    }
}

#[test]
fn a_quasi_isotropic_stack_is_isotropic_in_its_plane() {
    // [0/60/-60]: G = E / (2 (1 + nu)), whatever the material.
    let elastic = Elastic { e1: 38600.0, e2: 8270.0, g12: 4140.0, nu12: 0.26 };
    let materials = [Material::new(elastic, None, Expansion::default(), None)];
    let plies = [(0, 0.25, 0.0), (0, 0.25, 60.0), (0, 0.25, -60.0)];
    let a = laminate(&materials, &plies, 0.0).stiffness().a;
    let turned = laminate(&materials, &plies, 17.0).stiffness().a;
    assert!((a - turned).amax() < 1e-11 * a.amax());
    let difference: Matrix3<f64> = a - a.transpose();
    assert_eq!(difference.amax(), 0.0);
    assert!((a[(2, 2)] - 0.5 * (a[(0, 0)] - a[(0, 1)])).abs() < 1e-11 * a.amax());
}
