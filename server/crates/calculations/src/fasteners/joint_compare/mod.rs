//! `joint-compare`: the joint as it was against the joint as repaired, per unit length.

mod side;
mod strength;
mod substitution;

use serde::{Deserialize, Serialize};
use shared_types::quantity::{ForcePerLength, System};
use shared_types::worksheet::{Quantity, Verdict};

use crate::Calculation;
use crate::catalogue::Origin;
use crate::catalogue::rivets::Alloy;
use crate::catalogue::sheets::Nature;
use crate::input::{Check, Refused};
use crate::working::{Working, reaches, verdict};
use side::{Joint, Side};
use strength::{Mode, Strengths};
use substitution::Substitution;

/// The input of `joint-compare`.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct JointCompare {
    /// The joint as it was before.
    as_found: Side,
    /// The joint as repaired.
    repaired: Side,
    /// Units of the result.
    #[serde(default)]
    units: System,
}

/// The result of `joint-compare`: strengths per length of joint, ultimate.
#[derive(Debug, Serialize)]
pub struct JointCompareResult {
    verdict: Verdict,
    as_found: SideResult,
    repaired: SideResult,
    /// Repaired over as found; none where a mode is not in both.
    ratios: Ratios,
    /// The modes that became weaker.
    weaker: Vec<&'static str>,
    substitution: Substitution,
    /// The same in plain sentences.
    says: Vec<String>,
}

#[derive(Debug, Serialize)]
struct SideResult {
    shear: Quantity,
    bearing: Vec<LayerStrength>,
    net_section: Vec<LayerStrength>,
    shear_out: Vec<LayerStrength>,
    pull_through: Option<Quantity>,
    governing: String,
    strength: Quantity,
}

#[derive(Debug, Serialize)]
struct LayerStrength {
    layer: usize,
    material: Option<String>,
    strength: Quantity,
}

#[derive(Debug, Serialize)]
struct Ratios {
    shear: Option<Quantity>,
    bearing: Option<Quantity>,
    net_section: Option<Quantity>,
    shear_out: Option<Quantity>,
    pull_through: Option<Quantity>,
    strength: Option<Quantity>,
}

impl Calculation for JointCompare {
    const KIND: &'static str = "joint-compare";
    const ABOUT: &'static str =
        "The joint as it was against the joint as repaired: what became weaker, and by how much.";
    const EXAMPLE: &'static str = r#"{
        "as_found": {
            "alloy": "AD", "diameter": "1/8 in", "pitch": "0.75 in",
            "layers": [
                { "material": "2024-T3", "thickness": "0.032 in", "edge": "0.3 in" },
                { "material": "glass cloth laminate", "thickness": "0.063 in", "edge": "0.4 in" }
            ]
        },
        "repaired": {
            "alloy": "A", "diameter": "5/32 in", "pitch": "0.75 in", "shop_washer": "0.375 in",
            "layers": [
                { "material": "2024-T3", "thickness": "0.032 in", "edge": "0.3 in" },
                { "material": "glass cloth laminate", "thickness": "0.075 in", "edge": "0.4 in" }
            ]
        }
    }"#;
    type Output = JointCompareResult;

    fn work(&self, working: &mut Working) -> Result<JointCompareResult, Refused> {
        working.show_in(self.units);
        let mut check = Check::default();
        let before = self.as_found.check(&mut check, "as_found");
        let after = self.repaired.check(&mut check, "repaired");
        check.done()?;
        let (Some(before), Some(after)) = (before, after) else {
            return Err(Refused::one("", "is incomplete", "two joints"));
        };
        let found = Strengths::of(&before);
        let repaired = Strengths::of(&after);
        found.lines(working, &before, "as found");
        repaired.lines(working, &after, "as repaired");
        let mut weaker = Vec::new();
        let mut says = Vec::new();
        let ratios = Mode::ALL.map(|mode| {
            let (old, new) = (found.least(mode).filter(|old| *old > 0.0)?, repaired.least(mode)?);
            let ratio = new / old;
            ratio_line(working, mode, old, new);
            if !reaches(ratio, 1.0) {
                weaker.push(mode.name());
                says.push(sentence(mode, ratio, &before, &after));
            }
            Some(working.ratio(ratio))
        });
        let [shear, bearing, net_section, shear_out, pull_through] = ratios;
        let (old, new) = (found.governing().1, repaired.governing().1);
        let strength = (old > 0.0).then(|| working.ratio(new / old));
        let substitution = Substitution::of(&before, &after);
        substitution.line(working);
        says.push(substitution.says.to_owned());
        cautions(working, &before, &after);
        let worst = verdict(weaker.is_empty()).max(substitution.verdict);
        Ok(JointCompareResult {
            verdict: worst,
            as_found: side_result(working, &before, &found),
            repaired: side_result(working, &after, &repaired),
            ratios: Ratios { shear, bearing, net_section, shear_out, pull_through, strength },
            weaker,
            substitution,
            says,
        })
    }
}

fn side_result(working: &mut Working, joint: &Joint, strengths: &Strengths) -> SideResult {
    let mut layers = |values: &[Option<f64>]| -> Vec<LayerStrength> {
        let present = values.iter().enumerate().filter_map(|(layer, value)| Some((layer, (*value)?)));
        let results = present.map(|(layer, value)| LayerStrength {
            layer: layer + 1,
            material: joint.layers[layer].material.clone(),
            strength: working.value::<ForcePerLength>(value),
        });
        results.collect()
    };
    let bearing = layers(&strengths.bearing);
    let net_section = layers(&strengths.net_section);
    let shear_out = layers(&strengths.shear_out);
    let (governing, strength) = strengths.governing();
    SideResult {
        shear: working.value::<ForcePerLength>(strengths.shear),
        bearing,
        net_section,
        shear_out,
        pull_through: strengths.pull_through.map(|pull| working.value::<ForcePerLength>(pull)),
        governing: governing.name().to_owned(),
        strength: working.value::<ForcePerLength>(strength),
    }
}

fn ratio_line(working: &mut Working, mode: Mode, old: f64, new: f64) {
    let value = working.ratio(new / old);
    let numbers =
        format!("{} / {}", working.text::<ForcePerLength>(new), working.text::<ForcePerLength>(old));
    let meaning = format!("{}, repaired over as found", mode.words());
    let symbol = format!("k {}", mode.symbol());
    working
        .line(&symbol, meaning, "repaired / as found", numbers, value, Origin::Read("division").source())
        .against("at least 1", verdict(reaches(new / old, 1.0)));
}

/// Says plainly what became weaker, and why where that is plain.
fn sentence(mode: Mode, ratio: f64, before: &Joint, after: &Joint) -> String {
    let percent = (ratio * 1000.0).round() / 10.0;
    let words = mode.words();
    let mut text = format!("{words} falls to {percent} percent of what it was");
    if mode == Mode::Shear
        && let (Some(old), Some(new)) = (before.alloy, after.alloy)
        && new.shear_strength(false) < old.shear_strength(false)
    {
        let (old, new) = (old.row(), new.row());
        let softer = (1.0 - new.shear_ksi / old.shear_ksi) * 100.0;
        text = format!(
            "{text}: {} ({}) is {softer:.0} percent weaker in shear than {} ({})",
            new.code, new.name, old.code, old.name
        );
    }
    format!("{text}. A structural joint needs its own data.")
}

fn cautions(working: &mut Working, before: &Joint, after: &Joint) {
    working.caution(
        "compare",
        "A comparison by simple formulas, ultimate, without fitting factor, fatigue, secondary bending \
         or damage. As strong as before is not the same as approved.",
    );
    let laminate = |joint: &Joint| joint.layers.iter().any(|layer| layer.nature == Nature::Laminate);
    if laminate(before) || laminate(after) {
        working.caution(
            "laminate-values",
            "Laminate strengths are typical values, not allowables: the type's data or a test of the \
             real laminate decide.",
        );
    }
    if after.alloy == Some(Alloy::A) {
        working.caution(
            "soft-alloy",
            "1100 rivets are for nonstructural parts only (AC 43.13-1B par 7-2c; NAVEDTRA 14315 ch 3).",
        );
    }
    if before.has_unknown_edge() || after.has_unknown_edge() {
        working.caution(
            "edge-missing",
            "Where no edge distance is given, bearing takes e/D = 1.5 and shear-out is left out.",
        );
    }
}
