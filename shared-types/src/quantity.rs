//! Lengths, forces, masses and their units: read as a mechanic writes them,
//! kept as entered, computed in SI, shown in inch or metric.
//!
//! Each kind of measure is a newtype over a finite SI number: [`Length`] in
//! metres, [`Force`] in newtons, … [`Entered`] keeps the text beside it.
//!
//! ```
//! use shared_types::quantity::{Entered, Length, Measure, System};
//!
//! let thickness: Entered<Length> = "1/8".parse()?;
//! assert_eq!(thickness.text(), "1/8");
//! assert_eq!(thickness.show(System::Metric), "3.175 mm");
//! assert_eq!(Length::parse("#30")?.show(System::Inch), "0.1285 in");
//! assert!(Length::parse("-0.8 furlong").is_err());
//! # Ok::<(), shared_types::quantity::NotAQuantity>(())
//! ```

mod decimal;
mod drills;
mod entered;
mod parse;
mod units;

pub use decimal::{decimal, push_decimal, push_fixed, tidy};
pub use drills::{Drill, LETTER_DRILLS, NUMBER_DRILLS};
pub use entered::Entered;
pub use units::{System, Unit};

use crate::worksheet::Quantity;

/// One kind of measure, as a newtype over a finite number in SI.
pub trait Measure: Copy + PartialEq + PartialOrd + Send + Sync + 'static {
    /// What it is called in messages: `length`.
    const NAME: &'static str;
    /// The units it may be written in. The first is SI.
    const UNITS: &'static [Unit];
    /// The symbol of the unit that a bare number is read in. `None`: the unit must be written.
    const BARE: Option<&'static str>;
    /// How to write one, for messages: `0.032, 1/8, 3/32 in, 0.8 mm, #30`.
    const FORMS: &'static str;
    /// The units for people who read inches, and for people who read metric.
    const SHOWN: (&'static Unit, &'static Unit);

    /// Takes a number in the SI unit.
    ///
    /// # Errors
    /// The number is NaN or infinite.
    fn from_si(si: f64) -> Result<Self, NotAQuantity>;

    /// The number in the SI unit.
    fn si(self) -> f64;

    /// Takes a number in a unit, named by its symbol or another spelling of it.
    ///
    /// # Errors
    /// The unit is not one of this measure, or the number is not finite.
    fn from_unit(value: f64, unit: &str) -> Result<Self, NotAQuantity> {
        let unit = Self::unit(unit).ok_or_else(|| NotAQuantity::unknown_unit::<Self>(unit))?;
        Self::from_si(unit.to_si(value))
    }

    /// Reads text; a bare number is in [`Measure::BARE`].
    ///
    /// # Errors
    /// With the reason and the accepted forms.
    fn parse(text: &str) -> Result<Self, NotAQuantity> {
        parse::measure(text, Self::BARE.and_then(Self::unit))
    }

    /// Reads text; a bare number is in the unit that the caller names.
    ///
    /// # Errors
    /// With the reason and the accepted forms.
    fn parse_in(text: &str, bare: &Unit) -> Result<Self, NotAQuantity> {
        parse::measure(text, Some(bare))
    }

    /// Looks a unit up by symbol or spelling; case matters only where it must.
    #[must_use]
    fn unit(symbol: &str) -> Option<&'static Unit> {
        units::find(Self::UNITS, symbol)
    }

    /// The unit in which a reader of `system` wants to see it.
    #[must_use]
    fn shown_unit(system: System) -> &'static Unit {
        match system {
            System::Inch => Self::SHOWN.0,
            System::Metric => Self::SHOWN.1,
        }
    }

    /// The number in the reader's unit, free of floating-point dust.
    #[must_use]
    fn value_in(self, system: System) -> f64 {
        tidy(Self::shown_unit(system).of_si(self.si()))
    }

    /// Number and unit for a result.
    #[must_use]
    fn quantity(self, system: System) -> Quantity {
        Quantity { value: self.value_in(system), unit: Self::shown_unit(system).symbol.to_owned() }
    }

    /// Number and unit for people, to five significant digits: `0.26750` reads `0.2675 in`.
    #[must_use]
    fn show(self, system: System) -> String {
        let mut text = String::with_capacity(24);
        self.push_shown(&mut text, system);
        text
    }

    /// The same at the end of a text.
    fn push_shown(self, text: &mut String, system: System) {
        let unit = Self::shown_unit(system);
        push_decimal(text, unit.of_si(self.si()), 5);
        if unit.symbol != "1" {
            text.push(' ');
            text.push_str(unit.symbol);
        }
    }
}

/// Why a text or a number is not a quantity.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{reason}{ACCEPTED}{accepted})")]
pub struct NotAQuantity {
    /// What is wrong, as a sentence part: "has no unit".
    pub reason: String,
    /// What would be accepted.
    pub accepted: String,
}

/// What stands between reason and accepted forms in the message.
const ACCEPTED: &str = " (accepted: ";

impl NotAQuantity {
    fn new<M: Measure>(reason: impl Into<String>) -> Self {
        Self { reason: reason.into(), accepted: M::FORMS.to_owned() }
    }

    fn unknown_unit<M: Measure>(unit: &str) -> Self {
        let known: Vec<_> = M::UNITS.iter().map(|unit| unit.symbol).collect();
        let shown: String = unit.chars().take(20).collect();
        Self { reason: format!("`{shown}` is not a unit of {}", M::NAME), accepted: known.join(", ") }
    }

    /// Takes a message apart that was carried through serde's text-only errors:
    /// reason and accepted forms, or `None` where the message is somebody else's.
    #[must_use]
    pub fn split(message: &str) -> Option<(&str, &str)> {
        let (reason, rest) = message.split_once(ACCEPTED)?;
        rest.rsplit_once(')').map(|(accepted, _)| (reason, accepted))
    }
}

/// Declares the measures: name, units, the unit of a bare number, accepted
/// forms, the unit shown to readers of inch and of metric.
macro_rules! measures {
    ($($(#[$doc:meta])* $type:ident = $name:literal, $units:ident, $bare:expr, $forms:literal, ($inch:literal, $metric:literal);)*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
        pub struct $type(f64);

        impl Measure for $type {
            const NAME: &'static str = $name;
            const UNITS: &'static [Unit] = units::$units;
            const BARE: Option<&'static str> = $bare;
            const FORMS: &'static str = $forms;
            const SHOWN: (&'static Unit, &'static Unit) =
                (units::named(units::$units, $inch), units::named(units::$units, $metric));

            fn from_si(si: f64) -> Result<Self, NotAQuantity> {
                if si.is_finite() {
                    Ok(Self(si))
                } else {
                    Err(NotAQuantity::new::<Self>("is not a finite number"))
                }
            }

            fn si(self) -> f64 {
                self.0
            }
        }
    )*};
}

measures! {
    /// A length, in metres. A bare number is in inches.
    Length = "length", LENGTH, Some("in"), "0.032, 1/8, 3/32 in, 1 1/2 in, 0.8 mm, #30, F", ("in", "mm");
    /// An area, in square metres.
    Area = "area", AREA, None, "12 in2, 0.5 ft2, 80 cm2, 0.1 m2", ("in2", "mm2");
    /// A volume, in cubic metres.
    Volume = "volume", VOLUME, None, "12 in3, 250 mL, 1 qt, 0.5 L", ("in3", "mL");
    /// A mass, in kilograms.
    Mass = "mass", MASS, None, "12 oz, 2.5 lb, 350 g, 1.2 kg", ("oz", "g");
    /// What an aircraft or a part of it weighs, in kilograms.
    Weight = "weight", MASS, None, "1169 lb, 2.5 lb, 8 oz, 530.2 kg, 250 g", ("lb", "kg");
    /// A weight times its arm, in kilogram metres.
    WeightMoment = "moment of a weight", WEIGHT_MOMENT, None, "12391 lb in, 142.8 kg m", ("lb in", "kg m");
    /// Mass per area of cloth or film, in kilograms per square metre.
    ArealMass = "areal mass", AREAL_MASS, None, "8.9 oz/yd2, 300 g/m2, 1.5 oz/ft2", ("oz/yd2", "g/m2");
    /// Mass per volume, in kilograms per cubic metre.
    Density = "density", DENSITY, None, "0.1 lb/in3, 1.2 g/cm3, 1150 kg/m3", ("lb/in3", "g/cm3");
    /// A force, in newtons.
    Force = "force", FORCE, None, "250 lbf, 1.2 kip, 900 N, 5 kN", ("lbf", "N");
    /// A moment, in newton metres.
    Moment = "moment", MOMENT, None, "300 lbf in, 20 lbf ft, 35 N m, 375 kN mm", ("lbf in", "N m");
    /// A second moment of area, in metres to the fourth.
    SecondMoment = "second moment of area", SECOND_MOMENT, None, "0.02 in4, 4900 mm4", ("in4", "mm4");
    /// A force per length of joint or laminate edge, in newtons per metre.
    ForcePerLength = "force per length", FORCE_PER_LENGTH, None, "250 lbf/in, 40 N/mm, 40 kN/m", ("lbf/in", "N/mm");
    /// A stress, pressure or modulus, in pascals.
    Stress = "stress", STRESS, None, "4500 psi, 30 ksi, 10.7 Msi, 65 MPa, 73 GPa, 22 inHg", ("psi", "MPa");
    /// A temperature, in kelvins.
    Temperature = "temperature", TEMPERATURE, None, "22 degC, 72 degF, 295 K", ("degF", "degC");
    /// A difference of two temperatures, in kelvins.
    TemperatureDifference = "temperature difference", TEMPERATURE_DIFFERENCE, None, "-75 K, -75 degC, -135 degF", ("degF", "K");
    /// A rate of heating or cooling, in kelvins per second.
    HeatingRate = "heating rate", HEATING_RATE, None, "1 degC/min, 3 degF/min", ("degF/min", "degC/min");
    /// Thermal expansion, in strain per kelvin.
    Expansion = "thermal expansion", EXPANSION, None, "12 1e-6/K, 13 1e-6/degF", ("1e-6/degF", "1e-6/K");
    /// How fast moisture spreads in a solid, in square metres per second.
    Diffusivity = "diffusivity", DIFFUSIVITY, None, "4e-6 mm2/s, 4e-12 m2/s", ("mm2/s", "mm2/s");
    /// A time span, in seconds.
    Duration = "duration", DURATION, None, "30 min, 8 h, 7 d, 90 s", ("h", "h");
    /// An angle, in radians. A bare number is in degrees.
    Angle = "angle", ANGLE, Some("deg"), "100 deg, 45, 0.5 rad", ("deg", "deg");
    /// A plain ratio. A bare number is itself; `65 %` is 0.65.
    Ratio = "ratio", RATIO, Some("1"), "0.65, 65 %", ("1", "1");
}

#[cfg(test)]
mod tests;
