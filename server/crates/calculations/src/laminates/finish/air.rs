//! The dew point, and how far the surface is above it.

use serde::{Deserialize, Serialize};
use shared_types::quantity::{Entered, Measure, Ratio, Temperature, TemperatureDifference};
use shared_types::worksheet::{Quantity, Verdict};

use crate::input::{Accepted, Check};
use crate::laminates::sheet::{plain, put};
use crate::laminates::sources;
use crate::working::Working;

/// Air in which someone paints: 0 °C to 50 °C.
pub const ROOM: Accepted<Temperature> = Accepted::si(273.15, 323.15);
/// Relative humidity.
const HUMIDITY: Accepted<Ratio> = Accepted::si(0.01, 1.0);
/// How far above the dew point a surface must be, K: 3 K, about 5 F.
const MARGIN: f64 = 3.0;
/// Magnus' constants over water.
const A: f64 = 17.625;
const B: f64 = 243.04;

/// The air and the surface.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Air {
    /// Of the air.
    temperature: Entered<Temperature>,
    /// Relative humidity.
    humidity: Entered<Ratio>,
    /// Of the surface to be painted.
    surface: Entered<Temperature>,
}

/// The same, in kelvins.
pub struct TakenAir {
    temperature: f64,
    humidity: f64,
    surface: f64,
}

/// Dew point and margin.
#[derive(Debug, Serialize)]
pub struct AirOut {
    dew_point: Quantity,
    margin: Quantity,
    verdict: Verdict,
}

impl Air {
    /// Takes it.
    pub fn take(&self, check: &mut Check) -> TakenAir {
        TakenAir {
            temperature: check.within("air.temperature", &self.temperature, ROOM),
            humidity: check.within("air.humidity", &self.humidity, HUMIDITY),
            surface: check.within("air.surface", &self.surface, ROOM),
        }
    }
}

/// Dew point in degrees Celsius, from air temperature in degrees Celsius and relative humidity.
fn dew_point(celsius: f64, humidity: f64) -> f64 {
    let gamma = libm::log(humidity) + A * celsius / (B + celsius);
    B * gamma / (A - gamma)
}

impl TakenAir {
    /// Works dew point and margin out.
    pub fn lines(&self, working: &mut Working) -> AirOut {
        let celsius = self.temperature - 273.15;
        let dew = dew_point(celsius, self.humidity) + 273.15;
        let numbers =
            format!("γ = ln {} + {A} × {c} / ({B} + {c})", plain(self.humidity), c = plain(celsius));
        let source = sources::memory("Magnus formula over water, constants 17.625 and 243.04 °C");
        let formula = "243.04 γ / (17.625 − γ), γ = ln RH + 17.625 T / (243.04 + T), in °C";
        let dew_point = put::<Temperature>(working, "Td", "dew point", formula, numbers, dew, source);
        let margin = self.surface - dew;
        let numbers =
            format!("{} − {}", working.text::<Temperature>(self.surface), working.text::<Temperature>(dew));
        let verdict = if margin >= MARGIN {
            Verdict::Within
        } else if margin > 0.0 {
            Verdict::TooClose
        } else {
            Verdict::Outside
        };
        let value = working.value::<TemperatureDifference>(margin);
        let limit = format!("at least {}", difference(MARGIN, working));
        let source = sources::memory("surface 3 °C (5 °F) above the dew point, as coating standards ask");
        working
            .line("M", "margin of the surface over the dew point", "Ts − Td", numbers, value.clone(), source)
            .against(limit, verdict);
        if verdict != Verdict::Within {
            working.caution(
                "dew",
                "The surface is too near the dew point, or below it: water you may not see spoils \
                 the bond. Warm the part or dry the air; do not paint.",
            );
        }
        AirOut { dew_point, margin: value, verdict }
    }
}

fn difference(kelvin: f64, working: &Working) -> String {
    TemperatureDifference::from_si(kelvin).map_or_else(|_| String::new(), |it| it.show(working.system()))
}
