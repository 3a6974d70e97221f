//! The result, under the keys of `tests/reference/laminates.json`.

use std::collections::BTreeMap;

use nalgebra::{Matrix3, Vector3};
use serde::Serialize;

use super::{Solved, behaviour, plots};
use crate::laminates::mechanics::analysis::{FirstFailure, Point};
use crate::laminates::mechanics::compliance::{Flexural, InPlane};
use crate::laminates::mechanics::criteria::{Criterion, Indices, Ratios};
use crate::laminates::mechanics::discount::{BROKEN, Collapse, KEPT};

/// The result of `laminate`.
#[derive(Debug, Serialize)]
pub struct LaminateResult {
    /// The units of the numbers below.
    units: Units,
    h: f64,
    areal_mass_g_m2: Option<f64>,
    z: Vec<f64>,
    #[serde(rename = "A")]
    a: [[f64; 3]; 3],
    #[serde(rename = "B")]
    b: [[f64; 3]; 3],
    #[serde(rename = "D")]
    d: [[f64; 3]; 3],
    abd_inv: Vec<Vec<f64>>,
    inplane: InPlaneOut,
    #[serde(rename = "inplane_A_only")]
    inplane_held: InPlaneOut,
    flexural: FlexuralOut,
    #[serde(rename = "flexural_D_only")]
    flexural_held: FlexuralOut,
    /// What each of the four sets of constants holds for.
    constants_hold_for: ConstantsHoldFor,
    #[serde(rename = "hygrothermal_N")]
    hygrothermal_force: [f64; 3],
    #[serde(rename = "hygrothermal_M")]
    hygrothermal_moment: [f64; 3],
    #[serde(rename = "cte_per_K")]
    cte_per_kelvin: [f64; 3],
    #[serde(rename = "curvature_per_K")]
    curvature_per_kelvin: [f64; 3],
    eps0: [f64; 3],
    kappa: [f64; 3],
    points: Vec<PointOut>,
    first_ply_failure: BTreeMap<&'static str, Option<FirstOut>>,
    last_ply_failure: Option<LastOut>,
    /// Whether strength could be judged, and if not, why not.
    strength: StrengthOut,
    behaviour: behaviour::Behaviour,
    plots: plots::Plots,
}

#[derive(Debug, Serialize)]
struct Units {
    length: &'static str,
    line_load: &'static str,
    line_moment: &'static str,
    stress: &'static str,
    #[serde(rename = "A")]
    a: &'static str,
    #[serde(rename = "B")]
    b: &'static str,
    #[serde(rename = "D")]
    d: &'static str,
    temperature: &'static str,
    moisture: &'static str,
    areal_mass: &'static str,
    expansion: &'static str,
    curvature: &'static str,
    angle: &'static str,
}

const UNITS: Units = Units {
    length: "mm",
    line_load: "N/mm",
    line_moment: "N",
    stress: "MPa",
    a: "N/mm",
    b: "N",
    d: "N mm",
    temperature: "K",
    moisture: "mass fraction",
    areal_mass: "g/m2",
    expansion: "1/K",
    curvature: "1/mm",
    angle: "deg",
};

#[derive(Debug, Serialize)]
struct ConstantsHoldFor {
    inplane: &'static str,
    #[serde(rename = "inplane_A_only")]
    inplane_held: &'static str,
    flexural: &'static str,
    #[serde(rename = "flexural_D_only")]
    flexural_held: &'static str,
}

const CONSTANTS_HOLD_FOR: ConstantsHoldFor = ConstantsHoldFor {
    inplane: "the laminate free to curl",
    inplane_held: "the laminate held flat",
    flexural: "the laminate free to stretch",
    flexural_held: "the mid-plane held from stretching",
};

#[derive(Debug, Serialize)]
struct InPlaneOut {
    #[serde(rename = "Ex")]
    ex: f64,
    #[serde(rename = "Ey")]
    ey: f64,
    #[serde(rename = "Gxy")]
    gxy: f64,
    nuxy: f64,
    nuyx: f64,
    eta_xy_x: f64,
    eta_xy_y: f64,
}

impl From<&InPlane> for InPlaneOut {
    fn from(it: &InPlane) -> Self {
        let InPlane { ex, ey, gxy, nuxy, nuyx, eta_xy_x, eta_xy_y } = *it;
        Self { ex, ey, gxy, nuxy, nuyx, eta_xy_x, eta_xy_y }
    }
}

#[derive(Debug, Serialize)]
struct FlexuralOut {
    #[serde(rename = "Ex")]
    ex: f64,
    #[serde(rename = "Ey")]
    ey: f64,
    #[serde(rename = "Gxy")]
    gxy: f64,
    nuxy: f64,
}

impl From<&Flexural> for FlexuralOut {
    fn from(it: &Flexural) -> Self {
        let Flexural { ex, ey, gxy, nuxy } = *it;
        Self { ex, ey, gxy, nuxy }
    }
}

/// One ply at one face. Index, mode and ratio are null where the ply's strengths are not known.
#[derive(Debug, Serialize)]
struct PointOut {
    ply: usize,
    face: &'static str,
    z: f64,
    eps_xy: [f64; 3],
    eps_12: [f64; 3],
    sig_xy: [f64; 3],
    sig_12: [f64; 3],
    fi: Option<IndicesOut>,
    mode: Option<&'static str>,
    sr: Option<RatiosOut>,
}

#[derive(Debug, Serialize)]
struct IndicesOut {
    max_stress: f64,
    max_strain: f64,
    tsai_hill: f64,
    tsai_wu: f64,
    hashin_fibre: f64,
    hashin_matrix: f64,
}

impl From<Indices> for IndicesOut {
    fn from(it: Indices) -> Self {
        let Indices { max_stress, max_strain, tsai_hill, tsai_wu, hashin_fibre, hashin_matrix } = it;
        Self { max_stress, max_strain, tsai_hill, tsai_wu, hashin_fibre, hashin_matrix }
    }
}

#[derive(Debug, Serialize)]
struct RatiosOut {
    max_stress: Option<f64>,
    max_strain: Option<f64>,
    tsai_hill: Option<f64>,
    tsai_wu: Option<f64>,
}

impl From<Ratios> for RatiosOut {
    fn from(it: Ratios) -> Self {
        let Ratios { max_stress, max_strain, tsai_hill, tsai_wu } = it;
        Self { max_stress, max_strain, tsai_hill, tsai_wu }
    }
}

impl From<&Point> for PointOut {
    fn from(point: &Point) -> Self {
        Self {
            ply: point.ply + 1,
            face: point.face.name(),
            z: point.z,
            eps_xy: list(&point.eps_xy),
            eps_12: list(&point.eps_12),
            sig_xy: list(&point.sig_xy),
            sig_12: list(&point.sig_12),
            fi: point.judged.map(|judged| judged.indices.into()),
            mode: point.judged.map(|judged| judged.mode.name()),
            sr: point.judged.map(|judged| judged.ratios.into()),
        }
    }
}

#[derive(Debug, Serialize)]
struct FirstOut {
    sr: f64,
    ply: usize,
    face: &'static str,
    mode: Option<&'static str>,
    ties: Vec<(usize, &'static str)>,
}

impl FirstOut {
    fn of(first: &FirstFailure, points: &[Point]) -> Option<Self> {
        let point = points.get(first.point)?;
        let tie = |index: &usize| points.get(*index).map(|it| (it.ply + 1, it.face.name()));
        Some(Self {
            sr: first.ratio,
            ply: point.ply + 1,
            face: point.face.name(),
            mode: point.judged.map(|judged| judged.mode.name()),
            ties: first.ties.iter().filter_map(tie).collect(),
        })
    }
}

/// The way to the last ply.
#[derive(Debug, Serialize)]
struct LastOut {
    sr: f64,
    criterion: &'static str,
    rule: String,
    steps: Vec<StepOut>,
}

#[derive(Debug, Serialize)]
struct StepOut {
    sr: f64,
    plies: Vec<(usize, &'static str)>,
}

impl LastOut {
    fn of(collapse: &Collapse, criterion: Criterion) -> Self {
        let step = |step: &crate::laminates::mechanics::discount::Step| StepOut {
            sr: step.ratio,
            plies: step.plies.iter().map(|(ply, mode)| (ply + 1, mode.name())).collect(),
        };
        Self {
            sr: collapse.ratio,
            criterion: criterion.name(),
            rule: rule(criterion),
            steps: collapse.steps.iter().map(step).collect(),
        }
    }
}

/// The discount rule in words: other rules give other numbers.
pub fn rule(criterion: Criterion) -> String {
    format!(
        "N and M rise together; temperature and moisture stay. The ply or plies with the lowest \
         {} ratio fail. Failed across or in shear: E2, G12 and nu12 fall to {KEPT:e} of their \
         value, the fibres stay until they meet Xt or Xc. Failed in the fibres: all stiffness \
         falls so. Plies keep their place; those that the weakening brings to failure at the load \
         in force fail with it, together. The laminate is broken when it gives way to the load \
         {BROKEN} times as far as when whole; the last-ply ratio is the highest reached until then.",
        criterion.name()
    )
}

/// Whether strength was judged.
#[derive(Debug, Serialize)]
struct StrengthOut {
    judged: bool,
    why_not: Option<String>,
    missing: Vec<String>,
}

impl LaminateResult {
    pub(super) fn of(solved: &Solved) -> Self {
        let a = &solved.analysis;
        let laminate = solved.stack.laminate();
        let first = Criterion::ALL.iter().zip(&a.first).map(|(criterion, first)| {
            let first = first.as_ref().and_then(|first| FirstOut::of(first, &a.points));
            (criterion.name(), first)
        });
        let why_not = solved.why_no_strength();
        let missing = solved.stack.without_strengths();
        let lowest = laminate.layers().first().map(|layer| layer.z0);
        Self {
            units: UNITS,
            h: laminate.thickness(),
            areal_mass_g_m2: laminate.areal_mass(),
            z: lowest.into_iter().chain(laminate.layers().iter().map(|layer| layer.z1)).collect(),
            a: rows(&a.stiffness.a),
            b: rows(&a.stiffness.b),
            d: rows(&a.stiffness.d),
            abd_inv: a.compliance.0.row_iter().map(|row| row.iter().copied().collect()).collect(),
            inplane: (&a.inplane).into(),
            inplane_held: (&a.inplane_held).into(),
            flexural: (&a.flexural).into(),
            flexural_held: (&a.flexural_held).into(),
            constants_hold_for: CONSTANTS_HOLD_FOR,
            hygrothermal_force: list(&a.hygrothermal.force),
            hygrothermal_moment: list(&a.hygrothermal.moment),
            cte_per_kelvin: list(&a.per_kelvin.strain),
            curvature_per_kelvin: list(&a.per_kelvin.curvature),
            eps0: list(&a.deformation.strain),
            kappa: list(&a.deformation.curvature),
            points: a.points.iter().map(PointOut::from).collect(),
            first_ply_failure: first.collect(),
            last_ply_failure: solved.collapse.as_ref().map(|it| LastOut::of(it, solved.criterion)),
            strength: StrengthOut {
                judged: why_not.is_none(),
                why_not,
                missing: missing.into_iter().map(str::to_owned).collect(),
            },
            behaviour: behaviour::Behaviour::of(solved),
            plots: plots::Plots::of(solved),
        }
    }
}

fn list(v: &Vector3<f64>) -> [f64; 3] {
    [v.x, v.y, v.z]
}

fn rows(m: &Matrix3<f64>) -> [[f64; 3]; 3] {
    [0, 1, 2].map(|row| [m[(row, 0)], m[(row, 1)], m[(row, 2)]])
}
