//! `resin-batch`: how much resin to mix, in which cups, and how long it stays usable.

mod mix;
mod pot;

use serde::{Deserialize, Serialize};
use shared_types::quantity::{
    Area, ArealMass, Density, Duration, Entered, Mass, Ratio, System, Temperature, Volume,
};
use shared_types::worksheet::{Quantity, Source, Verdict};

use super::mechanics::fractions;
use super::sheet::{self, FabricForm, WASTE, WEIGHT_FRACTION, grams, in_unit, plain, put};
use super::{hazards, sources};
use crate::Calculation;
use crate::input::{Accepted, Check, Refused};
use crate::working::Working;
use mix::{Cup, MixRatio, Recipe};
use pot::Pot;

/// Cloth in one job.
const AREA: Accepted<Area> = Accepted::si(1e-4, 100.0);
/// Mass of fabric in one job.
const FABRIC_MASS: Accepted<Mass> = Accepted::si(1e-3, 100.0);

/// The input of `resin-batch`.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ResinBatch {
    /// Mass of the dry fabric. Left out: area, plies and weight give it.
    #[serde(default)]
    fabric_mass: Option<Entered<Mass>>,
    /// Area of one ply, or of all plies when `plies` is left out.
    #[serde(default)]
    area: Option<Entered<Area>>,
    /// Number of plies of that area.
    #[serde(default)]
    plies: Option<u16>,
    /// The cloth, by its name in the catalogue.
    #[serde(default)]
    cloth: Option<String>,
    /// Weight per area of the dry cloth.
    #[serde(default)]
    areal_weight: Option<Entered<ArealMass>>,
    /// Cloth or mat, when it is not named.
    #[serde(default)]
    form: FabricForm,
    /// Target: mass of fibre in the mass of the laminate. 0.5 is equal weights of cloth and resin.
    #[cfg_attr(feature = "schema", schemars(required))]
    fibre_weight_fraction: Option<Entered<Ratio>>,
    /// Resin lost on brushes, rollers, bleeder and table, as a share of the resin in the laminate.
    #[serde(default)]
    waste: Option<Entered<Ratio>>,
    /// The maker's mixing ratio.
    ratio: MixRatio,
    /// Density of part A; needed for a ratio by volume.
    #[serde(default)]
    density_a: Option<Entered<Density>>,
    /// Density of part B; needed for a ratio by volume.
    #[serde(default)]
    density_b: Option<Entered<Density>>,
    /// The cups that are mixed in.
    #[serde(default)]
    cup: Option<Cup>,
    /// The smallest step of the scale: 1 g when left out.
    #[serde(default)]
    scale_step: Option<Entered<Mass>>,
    /// The maker's pot life.
    #[serde(default)]
    pot_life: Option<PotLife>,
    /// Temperature of resin and room today.
    #[serde(default)]
    temperature: Option<Entered<Temperature>>,
    /// The maker's lowest temperature for use.
    #[serde(default)]
    minimum_temperature: Option<Entered<Temperature>>,
    /// What kind of resin it is, for the cautions.
    #[serde(default)]
    resin: Chemistry,
    /// Units of the result.
    #[serde(default = "sheet::metric")]
    units: System,
}

/// The maker's pot life: how long, at which temperature, in how large a mass.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct PotLife {
    /// How long.
    time: Entered<Duration>,
    /// At which temperature.
    #[cfg_attr(feature = "schema", schemars(required))]
    at: Option<Entered<Temperature>>,
    /// In how large a mass; makers often state 100 g to 150 g.
    #[serde(default)]
    mass: Option<Entered<Mass>>,
}

/// A kind of resin.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
enum Chemistry {
    /// Two-part epoxy.
    #[default]
    Epoxy,
    /// Polyester with peroxide catalyst.
    Polyester,
    /// Vinyl ester with peroxide catalyst.
    VinylEster,
}

/// The result of `resin-batch`. Weighed amounts are in grams whatever the units.
#[derive(Debug, Serialize)]
pub struct ResinBatchResult {
    fabric_mass: Quantity,
    resin_in_laminate: Quantity,
    resin_mass: Quantity,
    cups: Quantity,
    ratio_by: mix::By,
    /// Mass of part B per mass of part A.
    mass_ratio: Quantity,
    per_cup: PerCup,
    part_a: Quantity,
    part_b: Quantity,
    mixed_mass: Quantity,
    ratio_error: Quantity,
    ratio_verdict: Verdict,
    pot_life: Option<Quantity>,
    temperature_verdict: Option<Verdict>,
    adiabatic_rise: [Quantity; 2],
}

/// What goes into each cup.
#[derive(Debug, Serialize)]
struct PerCup {
    part_a: Quantity,
    part_b: Quantity,
    mixed: Quantity,
    part_a_volume: Option<Quantity>,
    part_b_volume: Option<Quantity>,
}

impl Calculation for ResinBatch {
    const KIND: &'static str = "resin-batch";
    const ABOUT: &'static str =
        "Mixed resin for an area of cloth: grams of parts A and B per cup, and the pot life today.";
    const EXAMPLE: &'static str = r#"{
        "area": "0.12 m2", "plies": 4, "cloth": "E-glass style 7781",
        "fibre_weight_fraction": 0.5, "waste": "20 %",
        "ratio": { "by": "weight", "a": 100, "b": 27 },
        "density_a": "1.15 g/cm3", "density_b": "0.97 g/cm3",
        "cup": { "most": "120 g", "residue": "5 g" }, "scale_step": "1 g",
        "pot_life": { "time": "25 min", "at": "25 degC", "mass": "100 g" },
        "temperature": "18 degC", "minimum_temperature": "15 degC"
    }"#;
    type Output = ResinBatchResult;

    fn work(&self, working: &mut Working) -> Result<ResinBatchResult, Refused> {
        working.show_in(self.units);
        let mut check = Check::default();
        let fabric = self.fabric(&mut check, working);
        let wf = sheet::needed(
            &mut check,
            "fibre_weight_fraction",
            self.fibre_weight_fraction.as_ref(),
            WEIGHT_FRACTION,
        );
        let waste = check.maybe("waste", self.waste.as_ref(), WASTE).unwrap_or(0.0);
        let recipe = Recipe::of(&mut check, self);
        let pot = Pot::of(&mut check, self);
        check.done()?;

        let fabric_mass = fabric_line(working, &fabric);
        let [resin_in_laminate, resin_mass] = resin_lines(working, fabric.mass, wf, waste);
        recipe.ratio_lines(working);
        let batch = recipe.weigh(fractions::resin_mass(fabric.mass, wf, waste))?;
        let ratio_verdict = batch.lines(working, &recipe);
        let (pot_life, temperature_verdict) = pot.lines(working, batch.per_cup());
        let adiabatic_rise = pot::adiabatic_rise(working);
        self.cautions(working);

        Ok(ResinBatchResult {
            fabric_mass,
            resin_in_laminate,
            resin_mass,
            cups: working.ratio(batch.cups),
            ratio_by: recipe.by(),
            mass_ratio: working.ratio(recipe.ratio()),
            per_cup: PerCup {
                part_a: scale(batch.a),
                part_b: scale(batch.b),
                mixed: scale(batch.per_cup()),
                part_a_volume: recipe.volume_a(batch.a).map(|it| working.value::<Volume>(it)),
                part_b_volume: recipe.volume_b(batch.b).map(|it| working.value::<Volume>(it)),
            },
            part_a: scale(batch.cups * batch.a),
            part_b: scale(batch.cups * batch.b),
            mixed_mass: scale(batch.cups * batch.per_cup()),
            ratio_error: working.ratio(batch.ratio_error(&recipe)),
            ratio_verdict,
            pot_life,
            temperature_verdict,
            adiabatic_rise,
        })
    }
}

/// What a scale shows: grams, whatever the reader's units.
fn scale(kilograms: f64) -> Quantity {
    in_unit(kilograms * 1000.0, "g")
}

/// The dry fabric of the batch.
struct Dry {
    mass: f64,
    /// Area of a ply, plies, and weight per area, when the mass was worked out from them.
    from: Option<(String, f64, f64)>,
}

impl ResinBatch {
    fn fabric(&self, check: &mut Check, working: &mut Working) -> Dry {
        let mass = check.maybe("fabric_mass", self.fabric_mass.as_ref(), FABRIC_MASS);
        if let Some(mass) = mass {
            for (field, given) in [
                ("area", self.area.is_some()),
                ("plies", self.plies.is_some()),
                ("cloth", self.cloth.is_some()),
                ("areal_weight", self.areal_weight.is_some()),
            ] {
                if given {
                    check.refuse(field, "is given beside fabric_mass", "one or the other");
                }
            }
            return Dry { mass, from: None };
        }
        let Some(area) = &self.area else {
            check.refuse("area", "is missing, and no fabric_mass is given", "80 cm2, 0.5 ft2");
            return Dry { mass: 1.0, from: None };
        };
        let si = check.within("area", area, AREA);
        let plies = f64::from(self.plies.unwrap_or(1));
        if !(1.0..=500.0).contains(&plies) {
            check.refuse("plies", "is not a number of plies", "1 to 500");
        }
        let weight = self.areal_weight.as_ref();
        let weight = sheet::fabric(check, working, self.cloth.as_deref(), weight, self.form).weight;
        Dry { mass: si * plies * weight, from: Some((area.text().to_owned(), plies, weight)) }
    }

    fn cautions(&self, working: &mut Working) {
        hazards::resin(working);
        hazards::exotherm(working);
        match self.resin {
            Chemistry::Epoxy => working.caution(
                "ratio",
                "Epoxy is never mixed richer or leaner to change its speed: the wrong ratio stays \
                 soft for ever. Weigh, stir for as long as the maker says, scrape the sides.",
            ),
            Chemistry::Polyester | Chemistry::VinylEster => {
                hazards::styrene_and_peroxide(working);
                working.caution(
                    "catalyst",
                    "Catalyst is commonly 1 to 2 % of the resin's weight (resin suppliers' pages); \
                     the maker's limits for the day's temperature decide.",
                );
            }
        }
    }
}

fn fabric_line(working: &mut Working, fabric: &Dry) -> Quantity {
    match &fabric.from {
        Some((area, plies, weight)) => {
            let numbers = format!("{area} × {} × {}", plain(*plies), working.text::<ArealMass>(*weight));
            let formula = "area × plies × weight per area";
            let source = sources::arithmetic();
            put::<Mass>(working, "mf", "dry fabric", formula, numbers, fabric.mass, source)
        }
        None => {
            let source = sources::arithmetic();
            put::<Mass>(working, "mf", "dry fabric", "as weighed", grams(fabric.mass), fabric.mass, source)
        }
    }
}

fn resin_lines(working: &mut Working, fabric: f64, wf: f64, waste: f64) -> [Quantity; 2] {
    let inside = fractions::resin_mass(fabric, wf, 0.0);
    let fraction = Source::Published(format!(
        "weight fractions: lecture slides on fibre content; {}: resin equal to the weight of the \
         cloth, a 50 % ratio",
        sources::AC_3_3
    ));
    let numbers = format!("{} × (1 − {wf}) / {wf}", grams(fabric), wf = plain(wf));
    let meaning = "resin in the laminate";
    let laminate = put::<Mass>(working, "mr", meaning, "mf (1 − Wf) / Wf", numbers, inside, fraction);
    let all = fractions::resin_mass(fabric, wf, waste);
    let numbers = format!("{} × (1 + {})", grams(inside), plain(waste));
    let meaning = "resin to mix, with what is lost on tools and bleeder";
    let source = sources::arithmetic();
    [laminate, put::<Mass>(working, "mm", meaning, "mr (1 + waste)", numbers, all, source)]
}
