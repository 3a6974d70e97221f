//! Numbers in the units of the laminate conventions: a bare JSON number is in millimetres,
//! megapascals, newtons per millimetre, kelvins, degrees. Text must carry its unit, so that
//! `"0.010"` is not taken for ten micrometres by one reader and ten mils by the next.

use std::fmt;
use std::marker::PhantomData;

use serde::de::{self, Visitor};
use serde::{Deserialize, Deserializer};
use shared_types::quantity::{
    Angle, Density, Entered, Expansion, Force, ForcePerLength, Length, Measure, Ratio, Stress,
    TemperatureDifference, tidy,
};
use shared_types::worksheet::Quantity;

use crate::input::{Accepted, Check};

/// A measure with a unit in the laminate conventions.
pub trait Convention: Measure {
    /// The unit of a bare number.
    const UNIT: &'static str;
}

macro_rules! conventions {
    ($($measure:ty = $unit:literal),*) => {$(
        impl Convention for $measure {
            const UNIT: &'static str = $unit;
        }
    )*};
}

conventions! {
    Length = "mm",
    Stress = "MPa",
    ForcePerLength = "N/mm",
    // A moment per width: N mm per mm.
    Force = "N",
    Density = "kg/m3",
    Angle = "deg",
    Expansion = "1/K",
    TemperatureDifference = "K",
    Ratio = "1"
}

/// A measure that was entered as a bare number in the convention's unit, or as text with its unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Conventional<M: Convention> {
    entered: Entered<M>,
    value: f64,
}

impl<M: Convention> Conventional<M> {
    /// The number in the convention's unit.
    #[must_use]
    pub const fn value(&self) -> f64 {
        self.value
    }

    /// Takes the number, refusing it outside a range.
    pub fn check(&self, check: &mut Check, field: impl fmt::Display, accepted: Accepted<M>) -> f64 {
        check.within(field, &self.entered, accepted);
        self.value
    }
}

/// A range in the convention's unit.
#[must_use]
pub fn range<M: Convention>(low: f64, high: f64) -> Accepted<M> {
    let si = |value| M::unit(M::UNIT).map_or(value, |unit| unit.to_si(value));
    Accepted::si(si(low), si(high))
}

impl<'de, M: Convention> Deserialize<'de> for Conventional<M> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(Reader(PhantomData))
    }
}

struct Reader<M>(PhantomData<M>);

impl<M: Convention> Reader<M> {
    fn number<E: de::Error>(value: f64) -> Result<Conventional<M>, E> {
        let quantity = Quantity { value, unit: M::UNIT.to_owned() };
        let entered = Entered::try_from(quantity).map_err(E::custom)?;
        Ok(Conventional { entered, value })
    }

    fn entered<E: de::Error>(entered: Entered<M>) -> Result<Conventional<M>, E> {
        let unit = M::unit(M::UNIT).ok_or_else(|| E::custom("has no unit"))?;
        // Text goes through SI and back: twelve digits are what it is good for.
        let value = tidy(unit.of_si(entered.si()));
        Ok(Conventional { entered, value })
    }
}

impl<'de, M: Convention> Visitor<'de> for Reader<M> {
    type Value = Conventional<M>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "a {} such as {}; a bare number is in {}", M::NAME, M::FORMS, M::UNIT)
    }

    fn visit_str<E: de::Error>(self, text: &str) -> Result<Self::Value, E> {
        let number_alone = text.trim().parse::<f64>().is_ok()
            || !text.contains(|c: char| c.is_alphabetic() || "\"'%°″′”#".contains(c));
        if number_alone && M::UNIT != "1" {
            let accepted = format!("{}; a bare JSON number is in {}", M::FORMS, M::UNIT);
            return Err(E::custom(format!("has no unit (accepted: {accepted})")));
        }
        Self::entered(text.parse().map_err(E::custom)?)
    }

    fn visit_f64<E: de::Error>(self, value: f64) -> Result<Self::Value, E> {
        Self::number(value)
    }

    fn visit_i64<E: de::Error>(self, value: i64) -> Result<Self::Value, E> {
        self.visit_f64(value as f64)
    }

    fn visit_u64<E: de::Error>(self, value: u64) -> Result<Self::Value, E> {
        self.visit_f64(value as f64)
    }

    fn visit_map<A: de::MapAccess<'de>>(self, map: A) -> Result<Self::Value, A::Error> {
        let quantity = Quantity::deserialize(de::value::MapAccessDeserializer::new(map))?;
        Self::entered(Entered::try_from(quantity).map_err(de::Error::custom)?)
    }
}

#[cfg(feature = "schema")]
impl<M: Convention> schemars::JsonSchema for Conventional<M> {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        format!("{} in {}", M::NAME, M::UNIT).into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        let units: Vec<_> = M::UNITS.iter().map(|unit| unit.symbol).collect();
        schemars::json_schema!({
            "description": format!(
                "A {}: {}. Text carries its unit; a bare number is in {}.", M::NAME, M::FORMS, M::UNIT
            ),
            "anyOf": [
                { "type": "string", "minLength": 1, "maxLength": 64 },
                { "type": "number" },
                {
                    "type": "object",
                    "properties": { "value": { "type": "number" }, "unit": { "enum": units } },
                    "required": ["value", "unit"],
                },
            ],
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bare_number_is_in_the_convention_and_text_carries_its_unit() {
        let read = |json: &str| serde_json::from_str::<Conventional<Length>>(json);
        assert_eq!(read("0.25").unwrap().value(), 0.25);
        assert_eq!(read("\"0.010 in\"").unwrap().value(), 0.254);
        assert_eq!(read(r#"{"value": 10, "unit": "mil"}"#).unwrap().value(), 0.254);
        for text in ["\"0.010\"", "\"1/8\"", "\"1e-3\""] {
            let error = read(text).unwrap_err().to_string();
            assert!(error.contains("has no unit"), "{error}");
        }
    }
}
