//! Small things that all laminate worksheets share.

use serde::Deserialize;
use shared_types::quantity::{ArealMass, Density, Entered, Mass, Measure, Ratio, System, decimal};
use shared_types::worksheet::{Quantity, Source};

use super::hazards;
use super::own_cloth;
use super::shelf::{self, FABRICS, Form};
use crate::input::{Accepted, Check};
use crate::working::Working;

/// The system that laminate results are shown in unless another is asked for.
#[must_use]
pub fn metric() -> System {
    System::Metric
}

/// Weight of fabric per area that is accepted: 10 g/m² scrim to 2 kg/m² roving.
pub const FABRIC_WEIGHT: Accepted<ArealMass> = Accepted::si(0.010, 2.0);
/// Density of a fibre or resin.
pub const DENSITY: Accepted<Density> = Accepted::si(500.0, 8000.0);
/// Fibre fractions by volume: below, it is not a laminate; above, fibres would have to overlap.
pub const VOLUME_FRACTION: Accepted<Ratio> = Accepted::si(0.05, 0.75);
/// Fibre fractions by weight.
pub const WEIGHT_FRACTION: Accepted<Ratio> = Accepted::si(0.10, 0.90);
/// Allowances for waste.
pub const WASTE: Accepted<Ratio> = Accepted::si(0.0, 3.0);

/// Adds a line and gives its value, for the result: symbol, meaning, formula, numbers, SI value, source.
pub fn put<M: Measure>(
    working: &mut Working,
    symbol: &str,
    meaning: &str,
    formula: &str,
    numbers: impl AsRef<str>,
    si: f64,
    source: Source,
) -> Quantity {
    let value = working.value::<M>(si);
    working.line(symbol, meaning, formula, numbers, value.clone(), source);
    value
}

/// A value that is needed. Its field may be left out of the input, so that it is refused together
/// with whatever else is wrong.
pub fn needed<M: Measure>(
    check: &mut Check,
    field: &str,
    entered: Option<&Entered<M>>,
    accepted: Accepted<M>,
) -> f64 {
    let Some(entered) = entered else {
        check.refuse(field, "is missing", accepted.to_string());
        return accepted.nearest(1.0);
    };
    check.within(field, entered, accepted)
}

/// A mass in grams: what a scale shows, whatever the reader's units.
#[must_use]
pub fn grams(kilograms: f64) -> String {
    Mass::from_si(kilograms).map_or_else(|_| "beyond number".to_owned(), |m| m.show(System::Metric))
}

/// A plain number for a line's text.
#[must_use]
pub fn plain(value: f64) -> String {
    decimal(value, 5)
}

/// A quantity in a unit that has no [`Measure`].
#[must_use]
pub fn in_unit(value: f64, unit: &str) -> Quantity {
    Quantity { value: shared_types::quantity::tidy(value), unit: unit.to_owned() }
}

/// Cloth or mat: the trade weighs one per square yard and the other per square foot.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum FabricForm {
    /// Woven or unidirectional cloth.
    #[default]
    Cloth,
    /// Chopped strand mat.
    Mat,
}

/// A dry fabric: its weight per area and the density of its fibre.
#[derive(Clone, Debug)]
pub struct Fabric {
    /// Weight per area, kg/m².
    pub weight: f64,
    /// Density of the fibre, kg/m³, where known.
    pub fibre_density: Option<f64>,
}

/// Takes a fabric by its name in the catalogue, by its weight, or both (the weight then counts).
/// Refuses when neither is there.
pub fn fabric(
    check: &mut Check,
    working: &mut Working,
    name: Option<&str>,
    weight: Option<&Entered<ArealMass>>,
    form: FabricForm,
) -> Fabric {
    let row = name.and_then(|name| {
        let row = own_cloth::fabric(name);
        if row.is_none() {
            let shown: String = name.chars().take(40).collect();
            check.refuse(
                "cloth",
                format!("`{shown}` {}", own_cloth::NOT_KNOWN),
                format!("{}; {}; or give areal_weight", shelf::names(FABRICS), own_cloth::ACCEPTED),
            );
        }
        row
    });
    let entered = check.maybe("areal_weight", weight, FABRIC_WEIGHT);
    let listed = row.as_ref().and_then(|row| row.areal_g_m2).map(|grams| grams / 1000.0);
    if name.is_none() && weight.is_none() {
        check.refuse("areal_weight", "is missing, and no cloth is named", "300 g/m2, 8.9 oz/yd2");
    }
    if let (Some(entered), Some(listed)) = (entered, listed)
        && (entered / listed - 1.0).abs() > 0.05
    {
        working.caution(
            "weight-differs",
            "The weight entered is more than 5 % off the catalogue's for this cloth: weigh a \
             measured piece.",
        );
    }
    let form = match row.as_ref().map(|row| row.form) {
        Some(Form::Mat) => FabricForm::Mat,
        Some(_) => FabricForm::Cloth,
        None => form,
    };
    if let Some(weight) = weight {
        guard_ounces(working, weight, form);
    }
    if let Some(row) = &row {
        own_cloth::caution(working, row);
        hazards::typical(working);
    }
    Fabric {
        weight: entered.or(listed).unwrap_or(FABRIC_WEIGHT.nearest(0.3)),
        fibre_density: row.as_ref().and_then(|row| row.density_kg_m3),
    }
}

/// Warns when a weight is in the other trade's ounces: the two differ by a factor of nine.
fn guard_ounces(working: &mut Working, weight: &Entered<ArealMass>, form: FabricForm) {
    let unit: String = weight.text().chars().filter(|c| c.is_ascii_alphabetic()).collect();
    let unit = unit.to_ascii_lowercase();
    let warning = match form {
        FabricForm::Cloth if unit.contains("ft") => {
            "Cloth is sold in ounces per square yard; this weight is per square foot, nine times \
             as much. Check the label."
        }
        FabricForm::Mat if unit.contains("yd") => {
            "Mat is sold in ounces per square foot; this weight is per square yard, a ninth of \
             it. Check the label."
        }
        _ => return,
    };
    working.caution("ounces", warning);
}
