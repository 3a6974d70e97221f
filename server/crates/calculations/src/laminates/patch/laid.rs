//! What a patch is laid of: the plies to cut, their cloth and how thick they are.

use shared_types::quantity::Length;

use super::input::PatchInput;
use super::plan::{Face, ToCut};
use crate::input::{Accepted, Check};
use crate::laminates::mechanics::ply::Material;
use crate::laminates::own_cloth;
use crate::laminates::sheet::{self, FABRIC_WEIGHT, WEIGHT_FRACTION};
use crate::laminates::stack::{Plies, PlyInput, Stack};
use crate::working::Working;

/// Cured plies.
pub const PLY: Accepted<Length> = Accepted::si(2e-5, 3e-3);
/// The most plies of a patch.
const MOST_PLIES: usize = 60;

/// A cloth that pieces are cut from.
#[derive(Clone, Debug, PartialEq)]
pub struct Cloth {
    /// What it is called; empty where nobody named it.
    pub name: String,
    /// Dry, kg/m².
    pub weight: f64,
    /// Mass of fibre in the mass of the laminate.
    pub wf: f64,
}

/// The plies of a patch.
pub struct Laid {
    /// Those that replace the parent's, inner face first.
    pub plies: Vec<ToCut>,
    /// Those over its surface, deepest first, for each face.
    pub extras: Vec<Vec<ToCut>>,
    /// The cloths that they are cut from.
    pub cloths: Vec<Cloth>,
    /// Thickness of a cured ply, of the thickest where they differ, mm.
    pub ply: f64,
}

impl PatchInput {
    /// The plies to cut, and what from.
    pub(super) fn laid(&self, check: &mut Check, working: &mut Working, faces: &[Face]) -> Laid {
        let extra = usize::from(self.extra_plies.unwrap_or(1));
        if extra > 10 {
            check.refuse("extra_plies", format!("is {extra}"), "0 to 10");
        }
        match &self.repair {
            Some(repair) => self.of_repair(check, working, repair, faces, extra.min(10)),
            None => self.of_parent(check, working, faces, extra.min(10)),
        }
    }

    /// As many plies as the parent has, at its angles, and the extra ones at the outermost's.
    fn of_parent(&self, check: &mut Check, working: &mut Working, faces: &[Face], extra: usize) -> Laid {
        let to_cut = |angle| ToCut { angle, cloth: 0, ply: None };
        let plies: Vec<_> = self.angles(check, working).into_iter().map(to_cut).collect();
        let extras = faces.iter().map(|face| {
            let outermost = if *face == Face::Inner { plies.first() } else { plies.last() };
            vec![outermost.copied().unwrap_or(to_cut(0.0)); extra]
        });
        let thickness = match &self.ply_thickness {
            Some(entered) => check.within("ply_thickness", entered, PLY) * 1e3,
            None => {
                check.refuse("ply_thickness", "is missing", PLY.to_string());
                1.0
            }
        };
        let name = self.cloth.as_deref();
        let fabric = sheet::fabric(check, working, name, self.areal_weight.as_ref(), self.form);
        let cloth = Cloth {
            name: name.unwrap_or_default().to_owned(),
            weight: fabric.weight,
            wf: self.entered_fraction(check).unwrap_or_else(|| {
                check.refuse("fibre_weight_fraction", "is missing", WEIGHT_FRACTION.to_string());
                0.5
            }),
        };
        Laid {
            extras: extras.collect(),
            plies,
            cloths: vec![cloth],
            ply: PLY.nearest(thickness * 1e-3) * 1e3,
        }
    }

    /// The repair's own plies.
    fn of_repair(
        &self,
        check: &mut Check,
        working: &mut Working,
        repair: &Plies,
        faces: &[Face],
        extra: usize,
    ) -> Laid {
        for (field, given) in [
            ("parent", self.parent.is_some()),
            ("plies", self.plies.is_some()),
            ("cloth", self.cloth.is_some()),
        ] {
            if given {
                check.refuse(field, "is given beside repair, whose plies say it", "one or the other");
            }
        }
        let stack = Stack::of(check, working, "repair", repair, &self.materials);
        let entries = repair.iter().flat_map(|ply| std::iter::repeat_n(ply, ply.count.unwrap_or(1).into()));
        let entered = Entered {
            weight: check.maybe("areal_weight", self.areal_weight.as_ref(), FABRIC_WEIGHT),
            wf: self.entered_fraction(check),
        };
        let mut laid = Laid { plies: Vec::new(), extras: Vec::new(), cloths: Vec::new(), ply: 0.0 };
        let (mut weightless, mut fractionless) = (false, false);
        for (place, (made, entry)) in stack.plies.iter().zip(entries).enumerate() {
            let terms = entered.or_of(entry, &stack.named(made).constants, made.thickness);
            (weightless, fractionless) =
                (weightless || terms.weight.is_none(), fractionless || terms.wf.is_none());
            let cloth = Cloth {
                name: entry.cloth.as_ref().or(entry.material.as_ref()).cloned().unwrap_or_default(),
                weight: terms.weight.unwrap_or(FABRIC_WEIGHT.nearest(0.3)),
                wf: terms.wf.unwrap_or(0.5),
            };
            let at = laid.cloths.iter().position(|it| *it == cloth).unwrap_or_else(|| {
                laid.cloths.push(cloth);
                laid.cloths.len() - 1
            });
            laid.plies.push(ToCut { angle: made.angle, cloth: at, ply: Some(place + 1) });
            laid.ply = laid.ply.max(made.thickness);
        }
        if weightless {
            let reason = "is missing, and plies named by their material don't say their cloth's";
            check.refuse("areal_weight", reason, "300 g/m2, 8.9 oz/yd2");
        }
        if fractionless {
            no_fraction(check);
        }
        if let Some(entered) = &self.ply_thickness {
            laid.ply = check.within("ply_thickness", entered, PLY) * 1e3;
        }
        let count = laid.plies.len();
        if count > MOST_PLIES {
            check.refuse("repair", format!("has {count} plies"), format!("1 to {MOST_PLIES} plies"));
        }
        if extra * faces.len() >= count {
            let reason = format!("leave none of the {count} plies of the repair in the scarf");
            let most = count.saturating_sub(1) / faces.len().max(1);
            check.refuse("extra_plies", reason, format!("0 to {most} on each side"));
            return laid;
        }
        for face in faces {
            let extras = match face {
                Face::Outer => laid.plies.split_off(laid.plies.len() - extra),
                Face::Inner => laid.plies.drain(..extra).rev().collect(),
            };
            laid.extras.push(extras);
        }
        laid
    }

    fn entered_fraction(&self, check: &mut Check) -> Option<f64> {
        check.maybe("fibre_weight_fraction", self.fibre_weight_fraction.as_ref(), WEIGHT_FRACTION)
    }

    /// Angles of the parent's plies, innermost first.
    fn angles(&self, check: &mut Check, working: &mut Working) -> Vec<f64> {
        let angles = match (&self.parent, self.plies) {
            (Some(parent), None) => {
                let stack = Stack::of(check, working, "parent", parent, &self.materials);
                stack.plies.iter().map(|ply| ply.angle).collect()
            }
            (None, Some(plies)) => vec![0.0; usize::from(plies)],
            (Some(_), Some(_)) => {
                check.refuse("plies", "is given beside parent", "one or the other");
                Vec::new()
            }
            (None, None) => {
                check.refuse("parent", "is missing, and no count of plies is given", "its plies");
                return Vec::new();
            }
        };
        if angles.len() > MOST_PLIES || (angles.is_empty() && self.parent.is_none()) {
            let field = if self.parent.is_some() { "parent" } else { "plies" };
            let reason = format!("has {} plies", angles.len());
            check.refuse(field, reason, format!("1 to {MOST_PLIES} plies"));
        }
        angles
    }
}

fn no_fraction(check: &mut Check) {
    let reason = "is missing, and plies named by their material don't say it";
    check.refuse("fibre_weight_fraction", reason, WEIGHT_FRACTION.to_string());
}

/// Weight and fraction, as far as they are entered for all plies.
struct Entered {
    weight: Option<f64>,
    wf: Option<f64>,
}

impl Entered {
    /// What is not entered, as a ply of a named cloth says it by its own terms.
    fn or_of(&self, ply: &PlyInput, cured: &Material, thickness: f64) -> Self {
        let row = ply.cloth.as_deref().and_then(own_cloth::fabric);
        let listed = row.and_then(|row| row.areal_g_m2).map(|grams| grams / 1000.0);
        // Fibre in a square metre over that square metre.
        let whole = cured.density().map(|density| density * thickness * 1e-3);
        let wf = || Some(WEIGHT_FRACTION.nearest(listed? / whole?));
        Self { weight: self.weight.or(listed), wf: self.wf.or_else(wf) }
    }
}
