//! `inter-rivet`: buckling of thin sheet between rivets.

use std::f64::consts::PI;

use serde::{Deserialize, Serialize};
use shared_types::quantity::{Entered, Length, Stress, System};
use shared_types::worksheet::{Quantity, Verdict};

use super::parts::{STRENGTH, THICKNESS, check_name, material};
use super::solid::{GIVEN, stress_text};
use crate::Calculation;
use crate::catalogue::{INCH, Origin};
use crate::input::{Accepted, Check, Refused};
use crate::working::{Working, stays};

const FORMULA: Origin = Origin::Memory("Bruhn C7.12; NACA TN 3781/3782; nu = 0.3");
/// Beyond this share of yield the elastic formula is too hopeful.
const ELASTIC_SHARE: f64 = 0.75;

/// The input of `inter-rivet`.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct InterRivet {
    /// The sheet's thickness.
    thickness: Entered<Length>,
    /// The pitch in the direction of the compression.
    pitch: Entered<Length>,
    /// The heads that hold the sheet.
    #[serde(default)]
    head: Holding,
    /// The sheet's material, from the table of materials. Or give modulus and yield.
    #[serde(default)]
    material: Option<String>,
    /// Modulus in compression.
    #[serde(default)]
    modulus: Option<Entered<Stress>>,
    /// Yield in compression, which no buckling stress exceeds.
    #[serde(default)]
    yield_strength: Option<Entered<Stress>>,
    /// Units of the result.
    #[serde(default)]
    units: System,
}

/// How a head holds the sheet: end fixity c.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
enum Holding {
    /// Flat head: 4.
    Flat,
    /// Spot weld: 3.5.
    SpotWeld,
    /// Brazier head: 3.
    Brazier,
    /// Universal head: 3.
    #[default]
    Universal,
    /// Countersunk or dimpled: 1.
    Countersunk,
}

impl Holding {
    const fn fixity(self) -> f64 {
        match self {
            Self::Flat => 4.0,
            Self::SpotWeld => 3.5,
            Self::Brazier | Self::Universal => 3.0,
            Self::Countersunk => 1.0,
        }
    }
}

/// The result of `inter-rivet`.
#[derive(Debug, Serialize)]
pub struct InterRivetResult {
    allowable_stress: Quantity,
    elastic_stress: Quantity,
    fixity: Quantity,
    verdict: Verdict,
}

impl Calculation for InterRivet {
    const KIND: &'static str = "inter-rivet";
    const ABOUT: &'static str = "The compression stress at which thin sheet buckles between its rivets.";
    const EXAMPLE: &'static str = r#"{
        "thickness": "0.032 in", "pitch": "1 in", "head": "universal", "material": "2024-T3"
    }"#;
    type Output = InterRivetResult;

    fn work(&self, working: &mut Working) -> Result<InterRivetResult, Refused> {
        working.show_in(self.units);
        let mut check = Check::default();
        let t = check.within("thickness", &self.thickness, THICKNESS);
        let pitch = check.within("pitch", &self.pitch, Accepted::si(0.1 * INCH, 20.0 * INCH));
        let given = check.maybe("modulus", self.modulus.as_ref(), Accepted::si(1e9, 1e12));
        let yielding = check.maybe("yield_strength", self.yield_strength.as_ref(), STRENGTH);
        let sheet = self.material.as_ref().and_then(|name| {
            check_name(&mut check, "material", name);
            if given.is_some() {
                crate::catalogue::sheets::sheet(name)
            } else {
                material(&mut check, "material".to_owned(), name)
            }
        });
        if given.is_none() && self.material.is_none() {
            check.refuse("material", "is missing", "a material of the table, or `modulus`");
        }
        check.done()?;
        let modulus =
            given.map(|pascals| (pascals, GIVEN)).or(sheet.map(|sheet| (sheet.modulus, sheet.origin)));
        let (modulus, origin) = modulus
            .ok_or_else(|| Refused::one("material", "is missing", "a material of the table, or `modulus`"))?;
        let yielding =
            yielding.map(|pascals| (pascals, GIVEN)).or(sheet.map(|sheet| (sheet.yielding, sheet.origin)));

        let fixity = self.head.fixity();
        let value = working.value::<Stress>(modulus);
        let numbers = working.text::<Stress>(modulus);
        working.line("E", "modulus in compression", "table", numbers, value, origin.source());
        let slender = t / pitch;
        let elastic = fixity * PI * PI * modulus / (12.0 * (1.0 - 0.3 * 0.3)) * slender * slender;
        let value = working.value::<Stress>(elastic);
        let numbers = format!(
            "{fixity} × π² × {} / (12 × 0.91) × ({} / {})²",
            working.text::<Stress>(modulus),
            working.len(t),
            working.len(pitch)
        );
        let formula = "c π² E / (12 (1 − ν²)) (t/s)²";
        working.line("Fir", "elastic inter-rivet buckling stress", formula, numbers, value, FORMULA.source());
        let (allowable, verdict) = allowable(working, elastic, yielding);
        working.caution(
            "fixity",
            "The end fixity and the formula are from memory of the literature, and no published worked \
             case was found: confirm before relying on it.",
        );
        Ok(InterRivetResult {
            allowable_stress: working.value::<Stress>(allowable),
            elastic_stress: working.value::<Stress>(elastic),
            fixity: working.ratio(fixity),
            verdict,
        })
    }
}

/// No more than yield; near yield the elastic formula is too hopeful.
fn allowable(working: &mut Working, elastic: f64, yielding: Option<(f64, Origin)>) -> (f64, Verdict) {
    let Some((yielding, origin)) = yielding else {
        working.caution(
            "no-yield",
            "No yield strength is given: the stress is elastic only and may exceed yield.",
        );
        return (elastic, Verdict::TooClose);
    };
    let allowable = elastic.min(yielding);
    let elastic_enough = stays(elastic, ELASTIC_SHARE * yielding);
    let verdict = if elastic_enough { Verdict::Within } else { Verdict::TooClose };
    let value = working.value::<Stress>(allowable);
    let numbers = format!("min({}, {})", stress_text(working, elastic), stress_text(working, yielding));
    let limit = format!("elastic up to {}", stress_text(working, ELASTIC_SHARE * yielding));
    working
        .line("F", "allowable stress", "min(Fir, Fy)", numbers, value, origin.source())
        .against(limit, verdict);
    (allowable, verdict)
}
