//! A fibre or a resin, by name or by its constants.

use std::fmt;

use serde::de::{self, MapAccess, Visitor};
use serde::{Deserialize, Deserializer};
use shared_types::quantity::{Density, Entered, Expansion, Stress};
use shared_types::worksheet::Source;

use crate::input::{Accepted, Check};
use crate::laminates::hazards;
use crate::laminates::mechanics::micromechanics;
use crate::laminates::sheet::DENSITY;
use crate::laminates::shelf::{self, Form};
use crate::working::Working;

/// Moduli of fibres and resins, Pa.
const MODULUS: Accepted<Stress> = Accepted::si(1e7, 1e12);
/// Expansion of fibres and resins, 1/K.
const EXPANSION: Accepted<Expansion> = Accepted::si(-1e-5, 5e-4);

/// A fibre or a resin as entered: its name in the catalogue, or an object of its constants.
#[derive(Clone, Debug)]
pub enum Phase {
    /// A row of the catalogue.
    Named(String),
    /// Its own constants.
    Given(PhaseConstants),
}

/// Constants of a fibre or a resin.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct PhaseConstants {
    /// Modulus.
    #[serde(rename = "E")]
    e: Entered<Stress>,
    /// Poisson's ratio.
    nu: f64,
    /// Thermal expansion.
    #[serde(default)]
    alpha: Option<Entered<Expansion>>,
    /// Density.
    #[serde(default)]
    density: Option<Entered<Density>>,
}

impl<'de> Deserialize<'de> for Phase {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(Reader)
    }
}

struct Reader;

impl<'de> Visitor<'de> for Reader {
    type Value = Phase;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a name in the catalogue, or an object with E, nu, alpha and density")
    }

    fn visit_str<E: de::Error>(self, name: &str) -> Result<Phase, E> {
        Ok(Phase::Named(name.to_owned()))
    }

    fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Phase, A::Error> {
        PhaseConstants::deserialize(de::value::MapAccessDeserializer::new(map)).map(Phase::Given)
    }
}

#[cfg(feature = "schema")]
impl schemars::JsonSchema for Phase {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Phase".into()
    }

    fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
        let constants = generator.subschema_for::<PhaseConstants>();
        schemars::json_schema!({
            "description": "A fibre or a resin: its name in the catalogue, or its constants.",
            "anyOf": [{ "type": "string" }, constants],
        })
    }
}

/// The same, made out.
#[derive(Clone, Debug)]
pub struct MadeOut {
    /// What it is called.
    pub name: String,
    /// Modulus in MPa and Poisson's ratio.
    pub elastic: micromechanics::Phase,
    /// Thermal expansion, 1/K, where known.
    pub alpha: Option<f64>,
    /// Density, kg/m³, where known.
    pub density: Option<f64>,
    /// Where it comes from.
    pub source: Source,
}

/// Makes a phase out, or refuses it.
pub fn phase(
    check: &mut Check,
    working: &mut Working,
    field: &str,
    entered: Option<&Phase>,
    form: Form,
) -> Option<MadeOut> {
    match entered {
        None => {
            let accepted = format!("{}; or E and nu", shelf::names(&[form]));
            check.refuse(field, "is missing, and so are constants", accepted);
            None
        }
        Some(Phase::Named(name)) => {
            let row = shelf::find(name, &[form]);
            let found = row.and_then(|row| Some((row, row.modulus()?, row.nu()?)));
            let Some((row, e, nu)) = found else {
                let shown: String = name.chars().take(60).collect();
                let reason = match row {
                    Some(_) => format!("`{shown}` has no Poisson's ratio in the catalogue"),
                    None => format!("`{shown}` is not in the catalogue"),
                };
                check.refuse(field, reason, format!("{}; or E and nu", shelf::names(&[form])));
                return None;
            };
            hazards::typical(working);
            Some(MadeOut {
                name: row.name.clone(),
                elastic: micromechanics::Phase { e, nu },
                alpha: row.expansion(),
                density: row.density_kg_m3,
                source: row.source(),
            })
        }
        Some(Phase::Given(given)) => {
            let e = check.within(format!("{field}.E"), &given.e, MODULUS);
            // Isotropic and stable: between -1 and 1/2; no fibre or resin is below zero.
            if !(0.0..=0.499).contains(&given.nu) {
                check.refuse(format!("{field}.nu"), format!("is {}", given.nu), "0 to 0.499");
            }
            let density = given.density.as_ref();
            Some(MadeOut {
                name: field.to_owned(),
                elastic: micromechanics::Phase { e: e * 1e-6, nu: given.nu },
                alpha: check.maybe(format!("{field}.alpha"), given.alpha.as_ref(), EXPANSION),
                density: check.maybe(format!("{field}.density"), density, DENSITY),
                source: Source::Published("as entered".to_owned()),
            })
        }
    }
}
