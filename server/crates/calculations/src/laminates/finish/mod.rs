//! `finish`: paint for an area, the dew point, and the recoat window.

mod air;
mod recoat;

use serde::{Deserialize, Serialize};
use shared_types::quantity::{Area, Density, Entered, Length, Mass, Ratio, System, Volume};
use shared_types::worksheet::Quantity;

use super::sheet::{self, DENSITY, in_unit, plain, put};
use super::{hazards, sources};
use crate::Calculation;
use crate::input::{Accepted, Check, List, Refused};
use crate::working::Working;
use air::{Air, AirOut};
use recoat::{Recoat, RecoatOut};

/// Painted areas, m².
const AREA: Accepted<Area> = Accepted::si(1e-4, 200.0);
/// Dry films of one coat, m.
const FILM: Accepted<Length> = Accepted::si(1e-6, 2e-3);
/// Solids by volume.
const SOLIDS: Accepted<Ratio> = Accepted::si(0.05, 1.0);
/// Losses: overspray, cups, hoses.
const LOSS: Accepted<Ratio> = Accepted::si(0.0, 0.9);
/// Thinner, as a share of the mixed paint.
const THINNER: Accepted<Ratio> = Accepted::si(0.0, 1.0);

/// The input of `finish`.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct FinishInput {
    /// Area to be painted.
    area: Entered<Area>,
    /// Number of coats: one when left out.
    #[serde(default)]
    coats: Option<u16>,
    /// Dry film of each coat.
    film: Entered<Length>,
    /// Solids by volume of the mixed paint, before thinning.
    solids: Entered<Ratio>,
    /// Share of the paint that is lost: overspray, cup and hose.
    #[serde(default)]
    loss: Option<Entered<Ratio>>,
    /// The maker's mixing ratio by volume, base first: 4 and 1 for 4 : 1.
    #[serde(default)]
    parts_by_volume: List<f64, 0, 4>,
    /// Thinner, as a share of the mixed paint's volume.
    #[serde(default)]
    thinner: Option<Entered<Ratio>>,
    /// Density of the dry film, for its weight.
    #[serde(default)]
    dry_density: Option<Entered<Density>>,
    /// What kind of paint it is, for the cautions.
    paint: Paint,
    /// The air, for the dew point.
    #[serde(default)]
    air: Option<Air>,
    /// The maker's recoat window.
    #[serde(default)]
    recoat: Option<Recoat>,
    /// Units of the result.
    #[serde(default = "sheet::metric")]
    units: System,
}

/// A kind of paint.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
enum Paint {
    /// Two-part epoxy primer.
    EpoxyPrimer,
    /// Primer with chromate.
    ChromatePrimer,
    /// Two-part urethane: isocyanate.
    Urethane,
    /// One part: enamel, lacquer.
    OnePart,
    /// Polyester gelcoat.
    Gelcoat,
    /// Water-borne.
    WaterBorne,
}

/// The result of `finish`.
#[derive(Debug, Serialize)]
pub struct FinishResult {
    coats: Quantity,
    wet_film: Quantity,
    dry_film: Quantity,
    /// Mixed and thinned paint for all coats, with what is lost.
    volume: Quantity,
    volume_per_coat: Quantity,
    /// Parts in the order of the ratio, for all coats.
    parts: Vec<Quantity>,
    thinner: Option<Quantity>,
    /// Weight of the dry film, for weight and balance.
    film_mass: Option<Quantity>,
    air: Option<AirOut>,
    recoat: Option<RecoatOut>,
}

/// What was asked, in SI.
struct Asked {
    area: f64,
    coats: f64,
    film: f64,
    solids: f64,
    loss: f64,
    thinner: f64,
    parts: Vec<f64>,
    dry_density: Option<f64>,
}

impl Calculation for FinishInput {
    const KIND: &'static str = "finish";
    const ABOUT: &'static str =
        "Paint for an area: coats, film, mixed volume, dew-point margin and recoat window.";
    const EXAMPLE: &'static str = r#"{
        "area": "0.8 m2", "coats": 2, "film": "25 um", "solids": "45 %", "loss": "40 %",
        "parts_by_volume": [4, 1], "thinner": "10 %", "dry_density": "1.4 g/cm3",
        "paint": "urethane",
        "air": { "temperature": "20 degC", "humidity": "60 %", "surface": "17 degC" },
        "recoat": { "earliest": "4 h", "latest": "24 h", "at": "20 degC", "today": "17 degC", "elapsed": "6 h" }
    }"#;
    type Output = FinishResult;

    fn work(&self, working: &mut Working) -> Result<FinishResult, Refused> {
        working.show_in(self.units);
        let mut check = Check::default();
        let asked = self.take(&mut check);
        let air = self.air.as_ref().map(|air| air.take(&mut check));
        let recoat = self.recoat.as_ref().map(|recoat| recoat.take(&mut check));
        check.done()?;

        // The thinner evaporates: solids count in the paint before it.
        let wet = asked.film / asked.solids * (1.0 + asked.thinner);
        let wet_film = asked.wet_line(working, wet);
        let paint = asked.area * asked.coats * asked.film / asked.solids / (1.0 - asked.loss);
        let volume = asked.volume_line(working, paint);
        let film_mass = asked.mass_line(working);
        self.cautions(working);
        Ok(FinishResult {
            coats: working.ratio(asked.coats),
            wet_film,
            dry_film: micrometres(asked.film * asked.coats),
            volume,
            volume_per_coat: working.value::<Volume>(paint * (1.0 + asked.thinner) / asked.coats),
            parts: asked.part_lines(working, paint),
            thinner: (asked.thinner > 0.0).then(|| working.value::<Volume>(paint * asked.thinner)),
            film_mass,
            air: air.map(|air| air.lines(working)),
            recoat: recoat.map(|recoat| recoat.lines(working)),
        })
    }
}

/// Films are in micrometres whatever the reader's units.
fn micrometres(metres: f64) -> Quantity {
    in_unit(metres * 1e6, "um")
}

impl FinishInput {
    fn take(&self, check: &mut Check) -> Asked {
        let coats = self.coats.unwrap_or(1);
        if !(1..=30).contains(&coats) {
            check.refuse("coats", format!("is {coats}"), "1 to 30");
        }
        for (place, part) in self.parts_by_volume.iter().enumerate() {
            if !(1e-3..=1000.0).contains(part) {
                let field = format!("parts_by_volume[{place}]");
                check.refuse(field, format!("is not a number of parts ({part})"), "0.001 to 1000");
            }
        }
        Asked {
            area: check.within("area", &self.area, AREA),
            coats: f64::from(coats),
            film: check.within("film", &self.film, FILM),
            solids: check.within("solids", &self.solids, SOLIDS),
            loss: check.maybe("loss", self.loss.as_ref(), LOSS).unwrap_or(0.0),
            thinner: check.maybe("thinner", self.thinner.as_ref(), THINNER).unwrap_or(0.0),
            parts: self.parts_by_volume.to_vec(),
            dry_density: check.maybe("dry_density", self.dry_density.as_ref(), DENSITY),
        }
    }

    fn cautions(&self, working: &mut Working) {
        if self.paint != Paint::WaterBorne {
            hazards::solvent(working);
        }
        match self.paint {
            Paint::Urethane => hazards::isocyanate(working),
            Paint::EpoxyPrimer => hazards::resin(working),
            Paint::Gelcoat => hazards::styrene_and_peroxide(working),
            Paint::ChromatePrimer => working.caution(
                "chromate",
                "Chromate causes cancer: no dry sanding, no dust, particle and vapour protection, \
                 waste kept apart.",
            ),
            Paint::OnePart | Paint::WaterBorne => {}
        }
        hazards::dust(working);
        working.caution(
            "paint-weight",
            "Paint weighs, and most where it matters most: control surfaces are balanced again \
             after painting, by the type's own manual. No paint over static ports, drains, \
             placards or antennas where the data forbid it.",
        );
    }
}

impl Asked {
    fn wet_line(&self, working: &mut Working, wet: f64) -> Quantity {
        let numbers =
            format!("{} um / {} × (1 + {})", plain(self.film * 1e6), plain(self.solids), plain(self.thinner));
        let source = sources::published("solids by volume, as on data sheets: what stays is film");
        let value = micrometres(wet);
        let meaning = "wet film of each coat, for the comb";
        working.line("w", meaning, "d / S (1 + thinner)", numbers, value.clone(), source);
        value
    }

    fn volume_line(&self, working: &mut Working, paint: f64) -> Quantity {
        let numbers = format!(
            "{} × {} × {} um / {} / (1 − {}) × (1 + {})",
            working.text::<Area>(self.area),
            plain(self.coats),
            plain(self.film * 1e6),
            plain(self.solids),
            plain(self.loss),
            plain(self.thinner)
        );
        let formula = "area × coats × d / S / (1 − loss) × (1 + thinner)";
        let volume = paint * (1.0 + self.thinner);
        let meaning = "paint to mix for all coats";
        put::<Volume>(working, "V", meaning, formula, numbers, volume, sources::arithmetic())
    }

    fn part_lines(&self, working: &mut Working, paint: f64) -> Vec<Quantity> {
        let sum: f64 = self.parts.iter().sum();
        let mut parts = Vec::new();
        for (place, part) in self.parts.iter().enumerate() {
            let numbers = format!("{} × {} / {}", working.text::<Volume>(paint), plain(*part), plain(sum));
            let symbol = format!("V{}", place + 1);
            let meaning = format!("part {} by volume, as the maker states it", place + 1);
            let source = sources::published("the maker's label, as entered");
            let formula = "V without thinner × part / Σ parts";
            parts.push(put::<Volume>(
                working,
                &symbol,
                &meaning,
                formula,
                numbers,
                paint * part / sum,
                source,
            ));
        }
        parts
    }

    fn mass_line(&self, working: &mut Working) -> Option<Quantity> {
        let density = self.dry_density?;
        let mass = self.area * self.coats * self.film * density;
        let numbers = format!(
            "{} × {} × {} um × {}",
            working.text::<Area>(self.area),
            plain(self.coats),
            plain(self.film * 1e6),
            working.text::<Density>(density)
        );
        let formula = "area × coats × d × density";
        let meaning = "weight of the dry film";
        Some(put::<Mass>(working, "m", meaning, formula, numbers, mass, sources::arithmetic()))
    }
}
