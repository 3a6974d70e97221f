//! A ply seen from axes at an angle: matrices, constants, and what a stress does to it.

use nalgebra::{Matrix3, Vector3};
use serde::Serialize;
use shared_types::quantity::Stress;

use crate::laminates::mechanics::criteria::Criterion;
use crate::laminates::mechanics::ply::{Direction, Material};
use crate::laminates::sheet::{plain, put};
use crate::laminates::sources;
use crate::working::Working;
use std::collections::BTreeMap;

/// Under the keys of the reference: MPa, 1/MPa, 1/K.
#[derive(Debug, Serialize)]
#[expect(non_snake_case, reason = "the keys of the reference")]
pub struct AtAngle {
    Q: [[f64; 3]; 3],
    S: [[f64; 3]; 3],
    Qbar: [[f64; 3]; 3],
    Sbar: [[f64; 3]; 3],
    nu21: f64,
    alpha_xy: [f64; 3],
    Ex: f64,
    Ey: f64,
    Gxy: f64,
    nuxy: f64,
    eps_xy: Option<[f64; 3]>,
    sig_12: Option<[f64; 3]>,
    eps_12: Option<[f64; 3]>,
    sr: Option<BTreeMap<&'static str, Option<f64>>>,
}

impl AtAngle {
    /// Turns a ply and loads it.
    pub fn of(working: &mut Working, material: &Material, angle: f64, stress: Option<[f64; 3]>) -> Self {
        let direction = Direction::degrees(angle);
        let own = material.elastic().compliance();
        // S-bar column by column: the strain that each unit stress causes.
        let sbar = Matrix3::from_columns(
            &[Vector3::x(), Vector3::y(), Vector3::z()]
                .map(|unit| direction.strain_out(&own.times(&direction.stress_in(&unit)))),
        );
        let expansion = material.expansion();
        let alpha = direction.strain_out(&Vector3::new(expansion.a1, expansion.a2, 0.0));
        let ex = 1.0 / sbar[(0, 0)];
        modulus_line(working, material, angle, ex);
        let loaded = stress.map(|stress| {
            let stress = Vector3::from(stress);
            let sig_12 = direction.stress_in(&stress);
            let eps_xy = sbar * stress;
            (eps_xy, sig_12, direction.strain_in(&eps_xy))
        });
        let ratios = loaded.and_then(|(_, sig_12, _)| {
            let ratios = material.envelope()?.ratios(&Vector3::zeros(), &sig_12);
            Some(Criterion::ALL.map(|criterion| (criterion.name(), ratios.by(criterion))).into())
        });
        Self {
            Q: rows(&material.reduced().matrix()),
            S: rows(&own.matrix()),
            Qbar: rows(&material.reduced().rotated(&direction)),
            Sbar: rows(&sbar),
            nu21: material.elastic().nu21(),
            alpha_xy: alpha.into(),
            Ex: ex,
            Ey: 1.0 / sbar[(1, 1)],
            Gxy: 1.0 / sbar[(2, 2)],
            nuxy: -sbar[(0, 1)] / sbar[(0, 0)],
            eps_xy: loaded.map(|(eps_xy, ..)| eps_xy.into()),
            sig_12: loaded.map(|(_, sig_12, _)| sig_12.into()),
            eps_12: loaded.map(|(.., eps_12)| eps_12.into()),
            sr: ratios,
        }
    }
}

fn rows(m: &Matrix3<f64>) -> [[f64; 3]; 3] {
    [0, 1, 2].map(|row| [m[(row, 0)], m[(row, 1)], m[(row, 2)]])
}

fn modulus_line(working: &mut Working, material: &Material, angle: f64, ex: f64) {
    let elastic = material.elastic();
    let mpa = |it: f64| working.text::<Stress>(it * 1e6);
    let numbers = format!(
        "1 / (c⁴ / {} + s⁴ / {} + c² s² (1 / {} − 2 × {} / {})), c = cos {a}°, s = sin {a}°",
        mpa(elastic.e1),
        mpa(elastic.e2),
        mpa(elastic.g12),
        plain(elastic.nu12),
        mpa(elastic.e1),
        a = plain(angle)
    );
    let formula = "1 / (c⁴/E1 + s⁴/E2 + c² s² (1/G12 − 2 ν12/E1))";
    let source = sources::published(
        "off-axis compliance; checked on Roylance 2000 ex 1 and TU Eindhoven 4MM00 (after Mallick 2008)",
    );
    let meaning = "modulus along x, free to shear";
    put::<Stress>(working, "Ex", meaning, formula, numbers, ex * 1e6, source);
}
