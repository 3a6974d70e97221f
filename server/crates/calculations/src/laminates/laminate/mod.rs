//! `laminate`: what lamination theory says about a stack of plies under a load.

mod behaviour;
mod lines;
mod output;
mod plots;

use serde::Deserialize;
use serde_json::Value;
use shared_types::layup::Summary;
use shared_types::quantity::{Force, ForcePerLength, Ratio, System, TemperatureDifference};
use shared_types::worksheet::BadInput;

use super::convention::{Conventional, range};
use super::mechanics::analysis::{self, Load};
use super::mechanics::compliance::Singular;
use super::mechanics::criteria::Criterion;
use super::mechanics::discount::{self, Collapse};
use super::mechanics::laminate::Change;
use super::sheet;
use super::stack::{Materials, Plies, Stack};
use crate::input::{Check, Refused};
use crate::working::Working;
use crate::{CalcError, Calculation};

pub use output::LaminateResult;
pub use plots::ply_polar;

/// The input of `laminate`. Bare numbers are in mm, MPa, N/mm, N, K, kg/m³ and degrees.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct LaminateInput {
    /// A name of its own, kept with the worksheet.
    #[serde(default, rename = "id")]
    _id: Option<String>,
    /// What family it belongs to, kept with the worksheet.
    #[serde(default, rename = "kind")]
    _kind: Option<String>,
    /// What it is, in words, kept with the worksheet.
    #[serde(default, rename = "desc")]
    _desc: Option<String>,
    /// The plies, lowest (z = -h/2) first.
    plies: Plies,
    /// The load.
    #[serde(default)]
    load: LoadInput,
    /// Material constants by name; plies may also name a ply of the catalogue.
    #[serde(default)]
    materials: Materials,
    /// The criterion that the last-ply failure follows.
    #[serde(default)]
    last_ply_criterion: CriterionName,
    /// Units of the working lines. The result's keys are in the conventions' units in any case.
    #[serde(default = "sheet::metric")]
    units: System,
}

/// A load on a laminate.
#[derive(Clone, Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct LoadInput {
    /// Forces per width: x, y, xy.
    #[serde(default, rename = "N")]
    force: Option<[Conventional<ForcePerLength>; 3]>,
    /// Moments per width: x, y, xy.
    #[serde(default, rename = "M")]
    moment: Option<[Conventional<Force>; 3]>,
    /// Temperature difference from the one at which the plies were free of stress.
    #[serde(default, rename = "dT")]
    temperature: Option<Conventional<TemperatureDifference>>,
    /// Moisture difference, as a mass fraction.
    #[serde(default, rename = "dC")]
    moisture: Option<Conventional<Ratio>>,
}

impl LoadInput {
    /// Takes the load, in the conventions' units. `at` is its path.
    pub fn take(&self, check: &mut Check, at: &str) -> Load {
        let mut load = Load::default();
        if let Some(force) = &self.force {
            for (place, it) in force.iter().enumerate() {
                let field = format!("{at}.N[{place}]");
                load.mechanical.force[place] = it.check(check, field, range(-1e6, 1e6));
            }
        }
        if let Some(moment) = &self.moment {
            for (place, it) in moment.iter().enumerate() {
                let field = format!("{at}.M[{place}]");
                load.mechanical.moment[place] = it.check(check, field, range(-1e7, 1e7));
            }
        }
        let dt = self.temperature.as_ref();
        let dt = dt.map(|it| it.check(check, format!("{at}.dT"), range(-500.0, 500.0)));
        let dc = self.moisture.as_ref();
        let dc = dc.map(|it| it.check(check, format!("{at}.dC"), range(-0.2, 0.2)));
        load.change = Change { temperature: dt.unwrap_or(0.0), moisture: dc.unwrap_or(0.0) };
        load
    }
}

/// The name of a criterion.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum CriterionName {
    /// Max stress.
    MaxStress,
    /// Max strain.
    MaxStrain,
    /// Tsai-Hill, sign-aware.
    TsaiHill,
    /// Tsai-Wu.
    #[default]
    TsaiWu,
}

impl From<CriterionName> for Criterion {
    fn from(name: CriterionName) -> Self {
        match name {
            CriterionName::MaxStress => Self::MaxStress,
            CriterionName::MaxStrain => Self::MaxStrain,
            CriterionName::TsaiHill => Self::TsaiHill,
            CriterionName::TsaiWu => Self::TsaiWu,
        }
    }
}

/// What was worked out, for lines, plots and result.
struct Solved {
    stack: Stack,
    load: Load,
    analysis: analysis::Analysis,
    collapse: Option<Collapse>,
    criterion: Criterion,
}

impl Calculation for LaminateInput {
    const KIND: &'static str = "laminate";
    const ABOUT: &'static str = "A stack of plies under load: stiffness, constants, every ply's \
        strains, stresses and failure, and how the laminate warps.";
    const EXAMPLE: &'static str = r#"{
        "plies": [
            { "material": "w7781_hand", "angle": 0 },
            { "material": "w7781_hand", "angle": 45, "count": 2 },
            { "material": "w7781_hand", "angle": 0 }
        ],
        "load": { "N": [55, -30, 25], "M": [0, 0, 0], "dT": -20 }
    }"#;
    type Output = LaminateResult;

    fn work(&self, working: &mut Working) -> Result<LaminateResult, Refused> {
        let mut solved = self.solve(working)?;
        let collapse = discount::collapse(&solved.stack.laminate(), &solved.load, solved.criterion);
        solved.collapse = collapse.map_err(singular)?;
        lines::write(working, &solved);
        behaviour::warn(working, &solved);
        working.draw(plots::stack(&solved.stack));
        Ok(LaminateResult::of(&solved))
    }
}

impl LaminateInput {
    /// Works out everything but the last ply's failure.
    fn solve(&self, working: &mut Working) -> Result<Solved, Refused> {
        working.show_in(self.units);
        let mut check = Check::default();
        let stack = Stack::of(&mut check, working, "plies", &self.plies, &self.materials);
        let load = self.load.take(&mut check, "load");
        check.done()?;
        let analysis = analysis::analyse(&stack.laminate(), &load).map_err(singular)?;
        let criterion = self.last_ply_criterion.into();
        let solved = Solved { load, analysis, collapse: None, criterion, stack };
        if solved.is_finite() { Ok(solved) } else { Err(singular(Singular)) }
    }
}

/// The few things to see at every tap while a stack is built: a worksheet without its lines,
/// plots and failures.
///
/// # Errors
/// The input is refused, in the same words as by the worksheet.
pub fn summary(input: &Value) -> Result<Summary, Vec<BadInput>> {
    let Ok(laminate) = LaminateInput::deserialize(input) else {
        return match crate::calculate(LaminateInput::KIND, input) {
            Err(CalcError::BadInput(problems)) => Err(problems),
            Ok(_) | Err(CalcError::UnknownKind(_)) => Err(Vec::new()),
        };
    };
    let mut working = Working::default();
    let solved = laminate.solve(&mut working).map_err(|refused| refused.0)?;
    behaviour::warn(&mut working, &solved);
    let behaviour = behaviour::Behaviour::of(&solved);
    let laminate = solved.stack.laminate();
    Ok(Summary {
        thickness_mm: laminate.thickness(),
        face_ply_mm: laminate.layers().last().map_or(0.0, |layer| layer.z1 - layer.z0),
        areal_mass_g_m2: laminate.areal_mass(),
        symmetric: behaviour.symmetric,
        balanced: behaviour.balanced,
        cautions: working.finish().map_err(|refused| refused.0)?.cautions,
    })
}

fn singular(singular: Singular) -> Refused {
    Refused::one(
        "plies",
        singular.to_string(),
        "plies whose stiffnesses and thicknesses are within a factor of 1e6 of each other",
    )
}

impl Solved {
    fn is_finite(&self) -> bool {
        let a = &self.analysis;
        let all = |vector: &nalgebra::Vector3<f64>| vector.iter().all(|it| it.is_finite());
        all(&a.deformation.strain)
            && all(&a.deformation.curvature)
            && all(&a.per_kelvin.strain)
            && all(&a.per_kelvin.curvature)
            && a.points.iter().all(|point| all(&point.sig_12) && all(&point.eps_xy))
    }

    /// Why there is no first-ply failure, if there is none.
    fn why_no_strength(&self) -> Option<String> {
        let unknown = self.stack.without_strengths();
        if !unknown.is_empty() {
            Some(format!(
                "strengths are not known for {}: all five (Xt, Xc, Yt, Yc, S) are needed of every \
                 ply, for a first ply to fail can only be named among plies that were all judged",
                unknown.join(", ")
            ))
        } else if self.load.mechanical.is_none() {
            Some("there is no mechanical load to multiply".to_owned())
        } else {
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn a_summary_says_what_the_worksheet_says() {
        let ply = |angle: i32| json!({ "material": "w7781_hand", "angle": angle });
        let stacks = [
            vec![ply(0), ply(45), ply(-45), ply(0)],
            vec![ply(0), ply(45), ply(45), ply(0)],
            vec![ply(0); 20],
            vec![json!({ "cloth": "E-glass style 7781", "fibre_fraction": "0.35" }), ply(90)],
        ];
        for plies in stacks {
            let input = json!({ "plies": plies });
            let whole = crate::calculate("laminate", &input).unwrap();
            assert_eq!(Some(summary(&input).unwrap()), Summary::of(&whole), "{input}");
        }
    }

    #[test]
    fn a_summary_is_refused_in_the_worksheets_words() {
        for input in
            [json!({ "plies": [] }), json!({ "plies": [{ "material": "no such" }] }), json!({ "plies": 1 })]
        {
            let Err(CalcError::BadInput(problems)) = crate::calculate("laminate", &input) else {
                panic!("{input}")
            };
            assert_eq!(summary(&input), Err(problems), "{input}");
        }
    }
}
