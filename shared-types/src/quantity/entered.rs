//! A measure together with the text it was entered as.

use std::fmt;
use std::ops::Deref;
use std::str::FromStr;

use serde::de::{self, MapAccess, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::{Measure, NotAQuantity, decimal};
use crate::worksheet::Quantity;

/// A measure as somebody entered it: what was typed stays, the SI value stands beside it.
///
/// In JSON it is the text (`"1/8 in"`); a bare number and `{"value": 3.2, "unit": "mm"}` are read too.
#[derive(Clone, PartialEq)]
pub struct Entered<M> {
    text: String,
    measure: M,
}

impl<M: Measure> Entered<M> {
    /// The text as it was entered.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The measure.
    #[must_use]
    pub fn measure(&self) -> M {
        self.measure
    }
}

impl<M> Deref for Entered<M> {
    type Target = M;

    fn deref(&self) -> &M {
        &self.measure
    }
}

impl<M: Measure> FromStr for Entered<M> {
    type Err = NotAQuantity;

    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        Ok(Self { measure: M::parse(text)?, text: text.trim().to_owned() })
    }
}

impl<M: Measure> TryFrom<Quantity> for Entered<M> {
    type Error = NotAQuantity;

    fn try_from(quantity: Quantity) -> Result<Self, NotAQuantity> {
        Ok(Self {
            measure: M::from_unit(quantity.value, &quantity.unit)?,
            text: format!("{} {}", quantity.value, quantity.unit),
        })
    }
}

impl<M: Measure> fmt::Display for Entered<M> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

impl<M: Measure> fmt::Debug for Entered<M> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let si = decimal(self.measure.si(), 9);
        write!(f, "Entered({:?}, {si} {})", self.text, M::UNITS[0].symbol)
    }
}

impl<M: Measure> Serialize for Entered<M> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.text)
    }
}

impl<'de, M: Measure> Deserialize<'de> for Entered<M> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(Reader(std::marker::PhantomData))
    }
}

struct Reader<M>(std::marker::PhantomData<M>);

impl<'de, M: Measure> Visitor<'de> for Reader<M> {
    type Value = Entered<M>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "a {} such as {}", M::NAME, M::FORMS)
    }

    fn visit_str<E: de::Error>(self, text: &str) -> Result<Self::Value, E> {
        text.parse().map_err(E::custom)
    }

    fn visit_f64<E: de::Error>(self, value: f64) -> Result<Self::Value, E> {
        self.visit_str(&value.to_string())
    }

    fn visit_i64<E: de::Error>(self, value: i64) -> Result<Self::Value, E> {
        self.visit_str(&value.to_string())
    }

    fn visit_u64<E: de::Error>(self, value: u64) -> Result<Self::Value, E> {
        self.visit_str(&value.to_string())
    }

    fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Self::Value, A::Error> {
        let quantity = Quantity::deserialize(de::value::MapAccessDeserializer::new(map))?;
        quantity.try_into().map_err(de::Error::custom)
    }
}

#[cfg(feature = "schema")]
impl<M: Measure> schemars::JsonSchema for Entered<M> {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        M::NAME.into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        let units: Vec<_> = M::UNITS.iter().map(|unit| unit.symbol).collect();
        let mut forms = vec![
            schemars::json_schema!({ "type": "string", "minLength": 1, "maxLength": 64 }),
            schemars::json_schema!({
                "type": "object",
                "properties": { "value": { "type": "number" }, "unit": { "enum": units } },
                "required": ["value", "unit"],
            }),
        ];
        let mut about = format!("A {}: {}.", M::NAME, M::FORMS);
        if let Some(unit) = M::BARE {
            about = format!("{about} A bare number is in {unit}.");
            forms.push(schemars::json_schema!({ "type": "number" }));
        }
        schemars::json_schema!({ "description": about, "anyOf": forms })
    }
}
