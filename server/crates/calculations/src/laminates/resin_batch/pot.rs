//! Pot life at today's temperature, and why a full cup is dangerous.

use shared_types::quantity::{Duration, Entered, Mass, Temperature, TemperatureDifference};
use shared_types::worksheet::{Quantity, Verdict};

use super::ResinBatch;
use crate::input::{Accepted, Check};
use crate::laminates::mechanics::rate::time_at;
use crate::laminates::sheet::{self, grams, in_unit, plain, put};
use crate::laminates::sources;
use crate::working::Working;

/// Air in which someone laminates: -10 °C to 60 °C.
pub const ROOM: Accepted<Temperature> = Accepted::si(263.15, 333.15);
/// Pot lives.
const POT_LIFE: Accepted<Duration> = Accepted::si(60.0, 48.0 * 3600.0);
/// Masses that pot lives are stated for.
const POT_MASS: Accepted<Mass> = Accepted::si(1e-3, 20.0);
/// Further from the maker's temperature than this the rule is a guess.
const FAR: f64 = 15.0;
/// Where most laminating resins stop curing properly, when the maker does not say.
const USUALLY_TOO_COLD: f64 = 291.15;
/// Heat of cure of neat resin, J/kg, low and high.
const HEAT: [f64; 2] = [300e3, 500e3];
/// Heat capacity, J/(kg K), for the same two cases: together a rise of 150 K to 250 K.
const CAPACITY: f64 = 2000.0;

/// The maker's pot life, and today.
pub struct Pot {
    stated: Option<(f64, f64, Option<f64>)>,
    today: Option<f64>,
    minimum: Option<f64>,
}

impl Pot {
    /// Takes it out of the input.
    pub fn of(check: &mut Check, input: &ResinBatch) -> Self {
        let stated = input.pot_life.as_ref().map(|pot| {
            (
                check.within("pot_life.time", &pot.time, POT_LIFE),
                sheet::needed(check, "pot_life.at", pot.at.as_ref(), ROOM),
                check.maybe("pot_life.mass", pot.mass.as_ref(), POT_MASS),
            )
        });
        let mut room =
            |field, entered: &Option<Entered<Temperature>>| check.maybe(field, entered.as_ref(), ROOM);
        let today = room("temperature", &input.temperature);
        let minimum = room("minimum_temperature", &input.minimum_temperature);
        Self { stated, today, minimum }
    }

    /// Whether it is warm enough, and the pot life today: none below the maker's minimum, where
    /// the rule does not hold.
    pub fn lines(&self, working: &mut Working, cup: f64) -> (Option<Quantity>, Option<Verdict>) {
        let Some(today) = self.today else {
            return (None, None);
        };
        let verdict = self.warm_enough(working, today);
        let Some((time, at, mass)) = self.stated else {
            return (None, verdict);
        };
        if verdict == Some(Verdict::Outside) {
            return (None, verdict);
        }
        let life = time_at(time, at, today);
        let (stated, at_text) = (plain(time / 60.0), working.text::<Temperature>(at));
        let numbers =
            format!("{stated} min × 2^(({at_text} − {}) / 10 K)", working.text::<Temperature>(today));
        let value = in_unit(life / 60.0, "min");
        let far = (today - at).abs() > FAR;
        let limit = format!(
            "the rule is stated for the maker's temperature ± {}",
            working.text::<TemperatureDifference>(FAR)
        );
        let judged = if far { Verdict::TooClose } else { Verdict::Within };
        let meaning = "pot life today, for the maker's mass in a cup";
        working
            .line(
                "tp",
                meaning,
                "t0 2^((T0 − T) / 10 K)",
                numbers,
                value.clone(),
                sources::published(sources::RATE),
            )
            .against(limit, judged);
        if let Some(mass) = mass
            && cup > mass
        {
            working.caution(
                "bigger-cup",
                format!(
                    "Each cup holds {}, more than the {} that the pot life is stated for: it will \
                     be shorter, and nobody publishes by how much.",
                    grams(cup),
                    grams(mass)
                ),
            );
        }
        working.caution(
            "pot-life",
            "Pot life is for resin in a cup. Spread in a thin film it lasts longer; a cup that \
             feels warm is at its end.",
        );
        (Some(value), verdict)
    }

    fn warm_enough(&self, working: &mut Working, today: f64) -> Option<Verdict> {
        let Some(minimum) = self.minimum else {
            if today < USUALLY_TOO_COLD {
                working.caution(
                    "minimum-unknown",
                    "The maker's lowest temperature is not entered. Most room-temperature resins \
                     want at least 10 to 18 degC (from memory): look it up.",
                );
            }
            return None;
        };
        let verdict = if today >= minimum { Verdict::Within } else { Verdict::Outside };
        let (value, now) = (working.value::<Temperature>(today), working.text::<Temperature>(today));
        let limit = format!("at least {}, the maker's minimum", working.text::<Temperature>(minimum));
        let source = sources::published("the maker's data sheet, as entered");
        let meaning = "temperature of resin and room";
        working.line("T", meaning, "as measured", now, value, source).against(limit, verdict);
        if verdict == Verdict::Outside {
            working.caution(
                "too-cold",
                "Below the maker's minimum: do not mix. It may never cure through, and no rule \
                 gives its pot life. Warm the part, the resin and the room first.",
            );
        }
        Some(verdict)
    }
}

/// How hot neat resin gets when it keeps all its heat.
pub fn adiabatic_rise(working: &mut Working) -> [Quantity; 2] {
    let [low, high] = HEAT.map(|heat| heat / CAPACITY);
    let kelvin = |working: &Working, rise| working.text::<TemperatureDifference>(rise);
    let numbers = format!("300 J/g / 2 J/(g K) = {}, up to 500 J/g / 2 J/(g K)", kelvin(working, low));
    let source = sources::memory("heat of cure 300 to 500 J/g, heat capacity about 2 J/(g K)");
    let meaning = "temperature rise of a cup that keeps all its heat";
    let high = put::<TemperatureDifference>(working, "ΔT", meaning, "H / c", numbers, high, source);
    [working.value::<TemperatureDifference>(low), high]
}
