//! What of two lay-ups is compared.

use nalgebra::Vector3;
use serde::Serialize;
use shared_types::quantity::{ArealMass, ForcePerLength, Length, Moment, Ratio};
use shared_types::worksheet::Quantity;

use crate::laminates::mechanics::analysis::{Load, lowest_ratio};
use crate::laminates::mechanics::compliance::{Compliance, Flexural, InPlane, Singular};
use crate::laminates::mechanics::criteria::Criterion;
use crate::laminates::mechanics::laminate::{Change, Laminate, Resultants};
use crate::working::Working;

/// Names and meanings of the stiffnesses, in the order of [`Stiffnesses::list`].
pub const STIFFNESSES: [(&str, &str); 5] = [
    ("EA_x", "stretching stiffness along x"),
    ("EA_y", "stretching stiffness along y"),
    ("GA", "in-plane shear stiffness"),
    ("EI_x", "bending stiffness along x"),
    ("EI_y", "bending stiffness along y"),
];

/// The loads per width under which strengths are compared.
pub const LOADS: [(&str, [f64; 3]); 5] = [
    ("x_tension", [1.0, 0.0, 0.0]),
    ("x_compression", [-1.0, 0.0, 0.0]),
    ("y_tension", [0.0, 1.0, 0.0]),
    ("y_compression", [0.0, -1.0, 0.0]),
    ("shear", [0.0, 0.0, 1.0]),
];

/// Thickness, stiffnesses (held flat, as the parts around a repair hold it) and mass.
#[derive(Clone, Copy, Debug)]
pub struct Stiffnesses {
    /// mm.
    pub thickness: f64,
    /// N/mm, N/mm, N/mm, N mm, N mm, in the order of [`STIFFNESSES`].
    pub list: [f64; 5],
    /// g/m², when known.
    pub mass: Option<f64>,
}

impl Stiffnesses {
    /// Measures a laminate.
    pub fn of(laminate: &Laminate<'_>) -> Result<Self, Singular> {
        let h = laminate.thickness();
        let stiffness = laminate.stiffness();
        let inplane = InPlane::held_flat(&stiffness.a, h)?;
        let flexural = Flexural::held_flat(&stiffness.d, h)?;
        let bending = h * h * h / 12.0;
        Ok(Self {
            thickness: h,
            list: [
                inplane.ex * h,
                inplane.ey * h,
                inplane.gxy * h,
                flexural.ex * bending,
                flexural.ey * bending,
            ],
            mass: laminate.areal_mass(),
        })
    }

    /// Each stiffness over the other's.
    pub fn over(&self, parent: &Self) -> [f64; 5] {
        std::array::from_fn(|i| self.list[i] / parent.list[i])
    }

    /// For the result.
    pub fn out(&self, working: &mut Working) -> StiffnessesOut {
        let [ea_x, ea_y, ga, ei_x, ei_y] = self.list;
        let mut stretch = |it: f64| working.value::<ForcePerLength>(it * 1e3);
        let (ea_x, ea_y, ga) = (stretch(ea_x), stretch(ea_y), stretch(ga));
        let mut bend = |it: f64| working.value::<Moment>(it * 1e-3);
        let (ei_x, ei_y) = (bend(ei_x), bend(ei_y));
        StiffnessesOut {
            thickness: working.value::<Length>(self.thickness * 1e-3),
            mass: self.mass.map(|it| working.value::<ArealMass>(it * 1e-3)),
            ea_x,
            ea_y,
            ga,
            ei_x,
            ei_y,
        }
    }
}

/// Stiffnesses per width: force per width and strain, moment per width and curvature.
#[derive(Debug, Serialize)]
pub struct StiffnessesOut {
    thickness: Quantity,
    mass: Option<Quantity>,
    #[serde(rename = "EA_x")]
    ea_x: Quantity,
    #[serde(rename = "EA_y")]
    ea_y: Quantity,
    #[serde(rename = "GA")]
    ga: Quantity,
    #[serde(rename = "EI_x")]
    ei_x: Quantity,
    #[serde(rename = "EI_y")]
    ei_y: Quantity,
}

/// Force per width, N/mm, at which the first ply fails under each of [`LOADS`] (Tsai-Wu).
pub fn strengths(laminate: &Laminate<'_>) -> Option<[f64; 5]> {
    let compliance = Compliance::of(&laminate.stiffness()).ok()?;
    let mut strengths = [0.0; 5];
    for (strength, (_, load)) in strengths.iter_mut().zip(LOADS) {
        *strength = under(laminate, &compliance, Vector3::from(load))?;
    }
    Some(strengths)
}

fn under(laminate: &Laminate<'_>, compliance: &Compliance, force: Vector3<f64>) -> Option<f64> {
    let load = Load { mechanical: Resultants { force, moment: Vector3::zeros() }, change: Change::default() };
    lowest_ratio(laminate, compliance, &load, Criterion::TsaiWu)
}

/// The strength ratio of a laminate under a load.
pub fn ratio_under(laminate: &Laminate<'_>, load: &Load) -> Option<f64> {
    let compliance = Compliance::of(&laminate.stiffness()).ok()?;
    lowest_ratio(laminate, &compliance, load, Criterion::TsaiWu)
}

/// A ratio for the result.
pub fn ratio(working: &mut Working, value: f64) -> Quantity {
    working.value::<Ratio>(value)
}
