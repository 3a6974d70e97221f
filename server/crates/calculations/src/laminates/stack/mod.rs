//! A stack of plies as it is entered: by material constants, by a ply of the catalogue, or in the
//! shop's own terms (cloth, resin, fibre fraction or thickness, angle, count).

mod material;

use std::collections::BTreeMap;

use serde::Deserialize;
use shared_types::quantity::{Angle, Entered, Length, Ratio};
use shared_types::worksheet::Source;

use super::convention::{Conventional, range};
use super::mechanics::laminate::Laminate;
use super::mechanics::ply::{Material, Ply};
use super::sheet::VOLUME_FRACTION;
use crate::input::{Accepted, Check, List};
use crate::working::Working;

pub use material::MaterialInput;

/// The most plies of a stack, counts multiplied out.
pub const MOST_PLIES: usize = 1000;

/// Material constants by name.
pub type Materials = BTreeMap<String, MaterialInput>;

/// The plies of a stack, lowest (z = -h/2) first.
pub type Plies = List<PlyInput, 1, MOST_PLIES>;

/// One ply, or several alike.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct PlyInput {
    /// A name in `materials`, or a ply, metal or core of the catalogue.
    #[serde(default, alias = "m")]
    pub material: Option<String>,
    /// A dry cloth or mat of the catalogue, instead of a material.
    #[serde(default)]
    pub cloth: Option<String>,
    /// The resin of the catalogue that it is laid up in.
    #[serde(default)]
    pub resin: Option<String>,
    /// Fibre volume fraction; gives the thickness of a cloth.
    #[serde(default, alias = "vf")]
    pub fibre_fraction: Option<Entered<Ratio>>,
    /// Share of the fibre that runs along axis 1; half when left out.
    #[serde(default)]
    pub warp_fraction: Option<Entered<Ratio>>,
    /// Thickness; a bare number is in mm.
    #[serde(default, alias = "t")]
    pub thickness: Option<Conventional<Length>>,
    /// Angle from x to axis 1, anticlockwise; a bare number is in degrees.
    #[serde(default, alias = "a")]
    pub angle: Option<Conventional<Angle>>,
    /// How many alike.
    #[serde(default)]
    pub count: Option<u16>,
}

impl PlyInput {
    /// Is it of the same cloth and resin on the same terms? Angle and count may differ.
    fn is_made_like(&self, other: &Self) -> bool {
        self.material == other.material
            && self.cloth == other.cloth
            && self.resin == other.resin
            && self.fibre_fraction == other.fibre_fraction
            && self.warp_fraction == other.warp_fraction
            && self.thickness == other.thickness
    }
}

/// A ply, made out.
#[derive(Clone, Debug)]
pub struct MadeOut {
    /// Its material: index into the stack's.
    pub material: usize,
    /// Thickness, mm.
    pub thickness: f64,
    /// Angle, degrees.
    pub angle: f64,
}

/// A material of a stack.
#[derive(Clone, Debug)]
pub struct Named {
    /// What it is called.
    pub name: String,
    /// Its constants.
    pub constants: Material,
    /// Where they come from.
    pub source: Source,
    /// Thickness where the entry does not give one, mm.
    usual_thickness: Option<f64>,
}

/// A stack, made out: plies one by one, lowest first.
#[derive(Clone, Debug, Default)]
pub struct Stack {
    /// The materials in it.
    pub materials: Vec<Named>,
    /// The plies in it.
    pub plies: Vec<MadeOut>,
}

impl Stack {
    /// Makes a stack out, refusing what cannot be. `at` is the path of the list of plies.
    pub fn of(
        check: &mut Check,
        working: &mut Working,
        at: &str,
        plies: &Plies,
        materials: &Materials,
    ) -> Self {
        let mut stack = Self::default();
        // A material is made out, or refused, once, however many plies name it; a cloth once for the
        // same terms.
        let mut named: BTreeMap<&str, Option<usize>> = BTreeMap::new();
        let mut cloths: Vec<(&PlyInput, usize)> = Vec::new();
        for (place, ply) in plies.iter().enumerate() {
            let at = format!("{at}[{place}]");
            let known = ply.material.as_deref().filter(|_| ply.cloth.is_none());
            let alike = cloths.iter().find(|(other, _)| known.is_none() && other.is_made_like(ply));
            let material = match (known.and_then(|name| named.get(name)), alike) {
                (Some(material), _) => *material,
                (None, Some((_, material))) => Some(*material),
                (None, None) => stack.material(check, working, &at, ply, materials),
            };
            match (known, material) {
                (Some(name), _) => {
                    named.insert(name, material);
                }
                (None, Some(made)) if alike.is_none() => cloths.push((ply, made)),
                (None, _) => {}
            }
            let Some(material) = material else {
                continue;
            };
            let thickness = thickness(check, &at, ply, &stack.materials[material]);
            let angle = angle(check, &at, ply);
            let count = usize::from(ply.count.unwrap_or(1));
            if count == 0 || stack.plies.len() + count > MOST_PLIES {
                let accepted = format!("1 or more, {MOST_PLIES} plies in all");
                check.refuse(format!("{at}.count"), format!("is {count}"), accepted);
                continue;
            }
            let made_out = MadeOut { material, thickness, angle };
            stack.plies.extend(std::iter::repeat_n(made_out, count));
        }
        stack
    }

    /// A stack of one ply whose path is `at`.
    pub fn one(
        check: &mut Check,
        working: &mut Working,
        at: &str,
        ply: &PlyInput,
        materials: &Materials,
    ) -> Self {
        let mut stack = Self::default();
        if let Some(material) = stack.material(check, working, at, ply, materials) {
            let thickness = thickness(check, at, ply, &stack.materials[material]);
            stack.plies.push(MadeOut { material, thickness, angle: angle(check, at, ply) });
        }
        stack
    }

    /// The stack as the mechanics take it.
    #[must_use]
    pub fn laminate(&self) -> Laminate<'_> {
        let plies: Vec<_> = self.plies.iter().map(|ply| self.ply(ply)).collect();
        Laminate::new(&plies)
    }

    /// One ply as the mechanics take it.
    #[must_use]
    pub fn ply(&self, ply: &MadeOut) -> Ply<'_> {
        Ply { material: &self.materials[ply.material].constants, thickness: ply.thickness, angle: ply.angle }
    }

    /// The material of a ply.
    #[must_use]
    pub fn named(&self, ply: &MadeOut) -> &Named {
        &self.materials[ply.material]
    }

    /// Materials whose strengths are not known.
    #[must_use]
    pub fn without_strengths(&self) -> Vec<&str> {
        let unknown = self.materials.iter().filter(|it| it.constants.envelope().is_none());
        unknown.map(|it| it.name.as_str()).collect()
    }

    /// Finds or makes the material of a ply; equal entries share one.
    fn material(
        &mut self,
        check: &mut Check,
        working: &mut Working,
        at: &str,
        ply: &PlyInput,
        materials: &Materials,
    ) -> Option<usize> {
        let made = material::make(check, working, at, ply, materials)?;
        if let Some(known) = self
            .materials
            .iter()
            .position(|it| it.name == made.name && it.constants == made.constants && it.source == made.source)
        {
            return Some(known);
        }
        self.materials.push(made);
        Some(self.materials.len() - 1)
    }
}

/// Accepted thickness of a ply or core, mm.
fn accepted_thickness() -> Accepted<Length> {
    range(0.005, 200.0)
}

fn thickness(check: &mut Check, at: &str, ply: &PlyInput, material: &Named) -> f64 {
    let field = format!("{at}.{}", if ply.material.is_some() { "t" } else { "thickness" });
    match (&ply.thickness, material.usual_thickness) {
        (Some(given), _) => given.check(check, field, accepted_thickness()),
        (None, Some(usual)) => usual,
        (None, None) => {
            check.refuse(field, "is missing", accepted_thickness().to_string());
            1.0
        }
    }
}

fn angle(check: &mut Check, at: &str, ply: &PlyInput) -> f64 {
    ply.angle.as_ref().map_or(0.0, |angle| {
        let field = format!("{at}.{}", if ply.material.is_some() { "a" } else { "angle" });
        angle.check(check, field, range(-360.0, 360.0))
    })
}

/// The fibre fraction of a cloth ply, from what is entered: the fraction itself, or the thickness.
fn fibre_fraction(check: &mut Check, at: &str, ply: &PlyInput, solid: f64) -> Option<f64> {
    match (&ply.fibre_fraction, &ply.thickness) {
        (Some(_), Some(_)) => {
            check.refuse(
                format!("{at}.thickness"),
                "is given beside fibre_fraction, and each gives the other",
                "one of the two",
            );
            None
        }
        (Some(fraction), None) => {
            let field = format!("{at}.fibre_fraction");
            let fraction = check.within(field, fraction, VOLUME_FRACTION);
            (VOLUME_FRACTION.nearest(fraction) == fraction).then_some(fraction)
        }
        (None, Some(thickness)) => {
            let fraction = solid / thickness.value();
            if (0.05..=0.75).contains(&fraction) {
                return Some(fraction);
            }
            let accepted = range::<Length>(solid / 0.75, solid / 0.05);
            let reason = format!("makes the fibre fraction {fraction:.3}");
            check.refuse(format!("{at}.thickness"), reason, accepted.to_string());
            None
        }
        (None, None) => {
            let field = format!("{at}.fibre_fraction");
            check.refuse(field, "is missing, and no thickness is given", VOLUME_FRACTION.to_string());
            None
        }
    }
}
