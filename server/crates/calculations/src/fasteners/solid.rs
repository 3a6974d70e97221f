//! Layers with their strengths, in SI: out of the table of materials, or as given.

use serde::Deserialize;
use shared_types::quantity::{Entered, Length, Measure, Stress};

use super::parts::{DISTANCE, STRENGTH, THICKNESS, check_name, layer_name};
use crate::catalogue::Origin;
use crate::catalogue::sheets::{self, Nature, Sheet};
use crate::input::Check;

/// A layer that carries load.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct LoadedLayer {
    /// What it is made of; a name of the table of materials, or any where all strengths are given.
    #[serde(default)]
    material: Option<String>,
    /// A laminate's plies in words: `3 × 7781, 0/45/0`. Its strengths follow from the
    /// material, or from `strengths`.
    #[serde(default)]
    layup: Option<String>,
    /// How thick it is.
    thickness: Entered<Length>,
    /// From the hole's centre to the edge, in the direction of the load.
    #[serde(default)]
    edge: Option<Entered<Length>>,
    /// Strengths that replace the table's.
    #[serde(default)]
    strengths: Strengths,
}

/// Strengths of a layer, from its own data.
#[derive(Clone, Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Strengths {
    /// Ultimate tension in the plane.
    #[serde(default)]
    tension: Option<Entered<Stress>>,
    /// Ultimate shear in the plane.
    #[serde(default)]
    shear: Option<Entered<Stress>>,
    /// Ultimate bearing, for the edge distance at hand.
    #[serde(default)]
    bearing: Option<Entered<Stress>>,
    /// Shear through the thickness, as when a head punches through.
    #[serde(default)]
    punch: Option<Entered<Stress>>,
}

/// A checked layer, in SI.
#[derive(Clone, Debug)]
pub struct Solid {
    /// `layer 2 (glass cloth laminate)`.
    pub name: String,
    pub material: Option<String>,
    pub nature: Nature,
    pub thickness: f64,
    pub edge: Option<f64>,
    pub tension: Strength,
    pub shear: Strength,
    pub punch: Strength,
    bearing: Bearing,
}

/// A strength and where it comes from.
#[derive(Clone, Copy, Debug)]
pub struct Strength {
    pub pascals: f64,
    pub origin: Origin,
}

/// How a layer bears.
#[derive(Clone, Copy, Debug)]
enum Bearing {
    /// By the table, which depends on e/D.
    Table(&'static Sheet),
    /// As given.
    Given(f64),
}

/// Bearing strength at an edge distance.
#[derive(Clone, Copy, Debug)]
pub struct BearingStrength {
    pub ultimate: f64,
    /// The table's yield value, where there is one.
    pub yielding: Option<f64>,
    pub origin: Origin,
}

/// A value that came in with the worksheet.
pub const GIVEN: Origin = Origin::Read("as entered: the layer's own data");

impl LoadedLayer {
    /// Checks a layer; `None` where something about it was refused.
    pub fn check(&self, check: &mut Check, list: &str, place: usize) -> Option<Solid> {
        let at = |field: &str| format!("{list}[{place}].{field}");
        let thickness = check.within(at("thickness"), &self.thickness, THICKNESS);
        let edge = check.maybe(at("edge"), self.edge.as_ref(), DISTANCE);
        let name = self.material.as_deref();
        if let Some(name) = name {
            check_name(check, at("material"), name);
        }
        if let Some(layup) = &self.layup {
            check_name(check, at("layup"), layup);
        }
        let sheet = name.and_then(sheets::sheet);
        let given = &self.strengths;
        let mut take = |field: &str, given: &Option<Entered<Stress>>| {
            check.maybe(at(&format!("strengths.{field}")), given.as_ref(), STRENGTH)
        };
        let tension = take("tension", &given.tension);
        let shear = take("shear", &given.shear);
        let bearing = take("bearing", &given.bearing);
        let punch = take("punch", &given.punch);
        let strength = |given: Option<f64>, table: fn(&Sheet) -> f64| match (given, sheet) {
            (Some(pascals), _) => Some(Strength { pascals, origin: GIVEN }),
            (None, Some(sheet)) => Some(Strength { pascals: table(sheet), origin: sheet.origin }),
            (None, None) => None,
        };
        let tension = strength(tension, |sheet| sheet.tension);
        let shear = strength(shear, |sheet| sheet.shear);
        // Without a value of its own, punching is taken as shear in the plane.
        let punch = strength(punch, |sheet| sheet.punch).or(shear);
        let bearing = bearing.map(Bearing::Given).or(sheet.map(Bearing::Table));
        let (Some(tension), Some(shear), Some(punch), Some(bearing)) = (tension, shear, punch, bearing)
        else {
            self.refuse_material(check, at("material"));
            return None;
        };
        Some(Solid {
            name: layer_name(place, self.words().as_deref()),
            material: self.material.clone(),
            nature: name.map_or(Nature::Metal, sheets::nature),
            thickness,
            edge,
            tension,
            shear,
            punch,
            bearing,
        })
    }

    /// Material and layup, as far as they are given.
    fn words(&self) -> Option<String> {
        match (&self.material, &self.layup) {
            (Some(material), Some(layup)) => Some(format!("{material}, {layup}")),
            (material, layup) => material.clone().or_else(|| layup.clone()),
        }
    }

    fn refuse_material(&self, check: &mut Check, field: String) {
        let reason = match self.material.as_deref() {
            None => "is missing, and not all strengths are given".to_owned(),
            Some(name) => {
                let shown: String = name.chars().take(40).collect();
                format!("`{shown}` is not in the table of materials, and not all strengths are given")
            }
        };
        let accepted = format!("{}; or strengths: tension, shear, bearing", sheets::names());
        check.refuse(field, reason, accepted);
    }
}

/// The edge distance that is taken where none is given: the least the tables have.
pub const UNKNOWN_EDGE: f64 = 1.5;
/// Edge distance at which a laminate bears fully, in diameters (common practice).
const LAMINATE_EDGE: f64 = 3.0;

impl Solid {
    /// The edge distance in diameters.
    pub fn edge_ratio(&self, d: f64) -> f64 {
        self.edge.map_or(UNKNOWN_EDGE, |edge| edge / d)
    }

    /// Bearing strength at an edge distance in diameters. Metal: the table's
    /// values at 1.5 and 2.0, straight between them, in proportion below.
    /// Laminate: in proportion up to 3.0.
    pub fn bearing(&self, ratio: f64) -> BearingStrength {
        match self.bearing {
            Bearing::Given(ultimate) => BearingStrength { ultimate, yielding: None, origin: GIVEN },
            Bearing::Table(sheet) => match sheet.nature {
                Nature::Metal => BearingStrength {
                    ultimate: between(sheet.bearing, ratio),
                    yielding: Some(between(sheet.bearing_yield, ratio)),
                    origin: sheet.origin,
                },
                Nature::Laminate => BearingStrength {
                    ultimate: 2.0 * sheet.bearing[0] * (ratio / LAMINATE_EDGE).min(1.0),
                    yielding: None,
                    origin: sheet.origin,
                },
            },
        }
    }
}

fn between([low, high]: [f64; 2], ratio: f64) -> f64 {
    if ratio < 1.5 { low * ratio / 1.5 } else { low + (high - low) * ((ratio - 1.5) / 0.5).min(1.0) }
}

/// Reads a stress for a line's text.
pub fn stress_text(working: &crate::working::Working, pascals: f64) -> String {
    match working.system() {
        // Strengths are printed in ksi.
        shared_types::quantity::System::Inch => {
            let ksi = Stress::unit("ksi").map_or(pascals, |ksi| ksi.of_si(pascals));
            format!("{} ksi", shared_types::quantity::decimal(ksi, 5))
        }
        shared_types::quantity::System::Metric => working.text::<Stress>(pascals),
    }
}
