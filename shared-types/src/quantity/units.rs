//! The one table of units.
//!
//! Factors: NIST Special Publication 811 (2008), Appendix B. Factors printed
//! there in bold are exact and are given or derived here exactly; the others
//! are derived from the exact inch, pound and standard gravity, which agrees
//! with the seven printed digits.

use std::f64::consts::PI;

use serde::{Deserialize, Serialize};

/// Which units a reader wants.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum System {
    /// Inch, pound-force, psi, degrees Fahrenheit.
    #[default]
    Inch,
    /// Millimetre, newton, megapascal, degrees Celsius.
    Metric,
}

/// A unit: `SI = (value + offset) × factor`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// How we write it: `oz/yd2`.
    pub symbol: &'static str,
    /// Other spellings that are read.
    pub spellings: &'static [&'static str],
    /// SI units in one of it.
    pub factor: f64,
    /// Added before the factor: only temperatures have one.
    pub offset: f64,
}

impl Unit {
    const fn new(symbol: &'static str, factor: f64, spellings: &'static [&'static str]) -> Self {
        Self { symbol, spellings, factor, offset: 0.0 }
    }

    /// A value in this unit, turned to SI.
    #[must_use]
    pub fn to_si(&self, value: f64) -> f64 {
        (value + self.offset) * self.factor
    }

    /// An SI value, turned to this unit.
    #[must_use]
    pub fn of_si(&self, si: f64) -> f64 {
        si / self.factor - self.offset
    }
}

/// Finds a unit: exact spelling first, then without regard to case.
pub(super) fn find(units: &'static [Unit], text: &str) -> Option<&'static Unit> {
    let spelled = |unit: &&Unit, same: &dyn Fn(&str) -> bool| {
        same(unit.symbol) || unit.spellings.iter().any(|spelling| same(spelling))
    };
    units
        .iter()
        .find(|unit| spelled(unit, &|spelling| spelling == text))
        .or_else(|| units.iter().find(|unit| spelled(unit, &|spelling| spelling.eq_ignore_ascii_case(text))))
}

/// The unit with a symbol; a symbol that is not there stops the compiler.
pub(super) const fn named(units: &'static [Unit], symbol: &str) -> &'static Unit {
    let mut place = 0;
    while !same(units[place].symbol.as_bytes(), symbol.as_bytes()) {
        place += 1;
    }
    &units[place]
}

const fn same(one: &[u8], two: &[u8]) -> bool {
    let mut place = 0;
    while place < one.len() && place < two.len() && one[place] == two[place] {
        place += 1;
    }
    place == one.len() && place == two.len()
}

const INCH: f64 = 0.0254;
const FOOT: f64 = 0.3048;
const YARD: f64 = 0.9144;
const POUND: f64 = 0.453_592_37;
const OUNCE: f64 = POUND / 16.0;
const GRAVITY: f64 = 9.806_65;
const POUND_FORCE: f64 = 4.448_221_615_260_5;
const GALLON: f64 = 3.785_411_784e-3;
const FAHRENHEIT: f64 = 1.0 / 1.8;

const fn unit(symbol: &'static str, factor: f64, spellings: &'static [&'static str]) -> Unit {
    Unit::new(symbol, factor, spellings)
}

pub(super) const LENGTH: &[Unit] = &[
    unit("m", 1.0, &["metre", "metres", "meter", "meters"]),
    unit("mm", 1e-3, &["millimetre", "millimetres", "millimeter", "millimeters"]),
    unit("cm", 1e-2, &[]),
    unit("um", 1e-6, &["µm", "μm", "micron", "microns"]),
    unit("in", INCH, &["\"", "″", "”", "inch", "inches"]),
    unit("ft", FOOT, &["'", "′", "foot", "feet"]),
    unit("mil", INCH / 1000.0, &["mils", "thou"]),
];

pub(super) const AREA: &[Unit] = &[
    unit("m2", 1.0, &["m²", "m^2", "sq m"]),
    unit("cm2", 1e-4, &["cm²", "cm^2", "sq cm"]),
    unit("mm2", 1e-6, &["mm²", "mm^2", "sq mm"]),
    unit("in2", INCH * INCH, &["in²", "in^2", "sq in"]),
    unit("ft2", FOOT * FOOT, &["ft²", "ft^2", "sq ft"]),
    unit("yd2", YARD * YARD, &["yd²", "yd^2", "sq yd"]),
];

pub(super) const VOLUME: &[Unit] = &[
    unit("m3", 1.0, &["m³", "m^3"]),
    unit("L", 1e-3, &["litre", "litres", "liter", "liters"]),
    unit("mL", 1e-6, &["cm3", "cm³", "cm^3", "cc"]),
    unit("mm3", 1e-9, &["mm³", "mm^3"]),
    unit("in3", INCH * INCH * INCH, &["in³", "in^3", "cu in"]),
    unit("gal", GALLON, &["US gal"]),
    unit("qt", GALLON / 4.0, &["US qt"]),
    unit("fl oz", GALLON / 128.0, &["US fl oz", "floz"]),
];

pub(super) const MASS: &[Unit] = &[
    unit("kg", 1.0, &[]),
    unit("g", 1e-3, &["gram", "grams"]),
    unit("lb", POUND, &["lbs", "lbm", "pound", "pounds"]),
    unit("oz", OUNCE, &["ounce", "ounces"]),
];

pub(super) const WEIGHT_MOMENT: &[Unit] = &[
    unit("kg m", 1.0, &["kgm", "kg·m", "kg*m"]),
    unit("kg mm", 1e-3, &["kg·mm", "kg*mm"]),
    unit("lb in", POUND * INCH, &["in lb", "lb·in", "lb-in", "in-lb", "lb*in"]),
    unit("lb ft", POUND * FOOT, &["ft lb", "lb·ft", "lb-ft", "ft-lb", "lb*ft"]),
];

pub(super) const AREAL_MASS: &[Unit] = &[
    unit("kg/m2", 1.0, &["kg/m²"]),
    unit("g/m2", 1e-3, &["g/m²", "gsm"]),
    unit("oz/yd2", OUNCE / (YARD * YARD), &["oz/yd²", "oz/sq yd"]),
    unit("oz/ft2", OUNCE / (FOOT * FOOT), &["oz/ft²", "oz/sq ft"]),
    unit("lb/ft2", POUND / (FOOT * FOOT), &["lb/ft²", "lb/sq ft"]),
];

pub(super) const DENSITY: &[Unit] = &[
    unit("kg/m3", 1.0, &["kg/m³"]),
    unit("g/cm3", 1e3, &["g/cm³", "g/mL", "g/cc", "kg/L"]),
    unit("lb/in3", POUND / (INCH * INCH * INCH), &["lb/in³"]),
    unit("lb/ft3", POUND / (FOOT * FOOT * FOOT), &["lb/ft³"]),
    unit("lb/gal", POUND / GALLON, &[]),
];

pub(super) const FORCE: &[Unit] = &[
    unit("N", 1.0, &["newton", "newtons"]),
    unit("kN", 1e3, &[]),
    unit("lbf", POUND_FORCE, &["lb", "lbs"]),
    unit("kip", POUND_FORCE * 1e3, &["kips", "klbf"]),
    unit("kgf", GRAVITY, &[]),
];

pub(super) const MOMENT: &[Unit] = &[
    unit("N m", 1.0, &["Nm", "N·m", "N*m"]),
    unit("N mm", 1e-3, &["Nmm", "N·mm"]),
    unit("kN mm", 1.0, &["kNmm", "kN·mm"]),
    unit("lbf in", POUND_FORCE * INCH, &["in-lb", "in-lbf", "in lb", "in lbf", "lb in", "lbf·in", "lbf-in"]),
    unit("lbf ft", POUND_FORCE * FOOT, &["ft-lb", "ft-lbf", "ft lb", "ft lbf", "lb ft", "lbf·ft", "lbf-ft"]),
];

pub(super) const SECOND_MOMENT: &[Unit] = &[
    unit("m4", 1.0, &["m⁴", "m^4"]),
    unit("mm4", 1e-12, &["mm⁴", "mm^4"]),
    unit("in4", INCH * INCH * INCH * INCH, &["in⁴", "in^4"]),
];

pub(super) const FORCE_PER_LENGTH: &[Unit] = &[
    unit("N/m", 1.0, &[]),
    unit("N/mm", 1e3, &["kN/m"]),
    unit("lbf/in", POUND_FORCE / INCH, &["lb/in"]),
    unit("lbf/ft", POUND_FORCE / FOOT, &["lb/ft"]),
];

pub(super) const STRESS: &[Unit] = &[
    unit("Pa", 1.0, &["N/m2"]),
    unit("kPa", 1e3, &[]),
    unit("MPa", 1e6, &["N/mm2", "N/mm²"]),
    unit("GPa", 1e9, &[]),
    unit("psi", POUND_FORCE / (INCH * INCH), &["lbf/in2", "lb/in2"]),
    unit("ksi", POUND_FORCE / (INCH * INCH) * 1e3, &[]),
    unit("Msi", POUND_FORCE / (INCH * INCH) * 1e6, &[]),
    unit("bar", 1e5, &[]),
    unit("mbar", 1e2, &["hPa"]),
    unit("inHg", 3386.389, &["in Hg"]),
];

pub(super) const TEMPERATURE: &[Unit] = &[
    unit("K", 1.0, &["kelvin"]),
    Unit { offset: 273.15, ..unit("degC", 1.0, &["°C", "℃", "C", "deg C"]) },
    Unit { offset: 459.67, ..unit("degF", FAHRENHEIT, &["°F", "℉", "F", "deg F"]) },
];

pub(super) const TEMPERATURE_DIFFERENCE: &[Unit] = &[
    unit("K", 1.0, &["kelvin", "degC", "°C", "℃", "C", "deg C"]),
    unit("degF", FAHRENHEIT, &["°F", "℉", "F", "deg F"]),
];

pub(super) const HEATING_RATE: &[Unit] = &[
    unit("K/s", 1.0, &[]),
    unit("degC/min", 1.0 / 60.0, &["°C/min", "C/min", "K/min"]),
    unit("degF/min", FAHRENHEIT / 60.0, &["°F/min", "F/min"]),
    unit("degC/h", 1.0 / 3600.0, &["°C/h", "C/h", "K/h"]),
    unit("degF/h", FAHRENHEIT / 3600.0, &["°F/h", "F/h"]),
];

pub(super) const EXPANSION: &[Unit] = &[
    unit("1/K", 1.0, &["1/degC", "1/°C"]),
    unit("1e-6/K", 1e-6, &["ppm/K", "um/m/K", "µm/m/K", "1e-6/degC"]),
    unit("1e-6/degF", 1.8e-6, &["ppm/degF", "1e-6/°F"]),
];

pub(super) const DIFFUSIVITY: &[Unit] =
    &[unit("m2/s", 1.0, &["m²/s"]), unit("mm2/s", 1e-6, &["mm²/s"]), unit("in2/s", INCH * INCH, &["in²/s"])];

pub(super) const DURATION: &[Unit] = &[
    unit("s", 1.0, &["sec", "second", "seconds"]),
    unit("min", 60.0, &["mins", "minute", "minutes"]),
    unit("h", 3600.0, &["hr", "hrs", "hour", "hours"]),
    unit("d", 86400.0, &["day", "days"]),
];

pub(super) const ANGLE: &[Unit] =
    &[unit("rad", 1.0, &[]), unit("deg", PI / 180.0, &["°", "degree", "degrees"])];

pub(super) const RATIO: &[Unit] = &[unit("1", 1.0, &[]), unit("%", 1e-2, &["percent", "pct"])];
