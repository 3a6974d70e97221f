//! Checking what came in: bounded lists, accepted ranges, and refusals that
//! name field, reason and accepted range, all of them at once.

use std::fmt::{self, Display};
use std::marker::PhantomData;
use std::ops::Deref;

use serde::de::{self, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer};
use shared_types::quantity::{Entered, Measure, System};
use shared_types::worksheet::BadInput;

use crate::working::{reaches, stays};

/// The input is refused, with everything that is wrong with it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused(pub Vec<BadInput>);

impl Refused {
    /// Refused for one reason.
    #[must_use]
    pub fn one(field: impl Into<String>, reason: impl Into<String>, accepted: impl Into<String>) -> Self {
        Self(vec![BadInput { field: field.into(), reason: reason.into(), accepted: accepted.into() }])
    }
}

/// The range in which a measure is accepted, in SI, ends included.
#[derive(Clone, Copy, Debug)]
pub struct Accepted<M> {
    low: f64,
    high: f64,
    measure: PhantomData<M>,
}

impl<M: Measure> Accepted<M> {
    /// From `low` to `high`, both in SI.
    #[must_use]
    pub const fn si(low: f64, high: f64) -> Self {
        Self { low, high, measure: PhantomData }
    }

    /// Whether a value lies in the range, floating-point dust forgiven at its ends.
    #[must_use]
    pub fn holds(&self, si: f64) -> bool {
        reaches(si, self.low) && stays(si, self.high)
    }

    /// The value itself, or the end of the range that it lies beyond.
    #[must_use]
    pub fn nearest(&self, si: f64) -> f64 {
        si.clamp(self.low, self.high)
    }

    fn end(si: f64, system: System) -> String {
        M::from_si(si).map_or_else(|_| "no limit".to_owned(), |end| end.show(system))
    }
}

impl<M: Measure> Display for Accepted<M> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let range = |system| {
            let (low, high) = (Self::end(self.low, system), Self::end(self.high, system));
            format!("{low} to {high}")
        };
        let (inch, metric) = (range(System::Inch), range(System::Metric));
        if inch == metric { f.write_str(&inch) } else { write!(f, "{inch}, {metric}") }
    }
}

/// Gathers refusals while values are taken out of the input, so that a person
/// sees every field that is wrong and not only the first.
#[derive(Debug, Default)]
pub struct Check(Vec<BadInput>);

impl Check {
    /// Notes a refusal.
    pub fn refuse(
        &mut self,
        field: impl Into<String>,
        reason: impl Into<String>,
        accepted: impl Into<String>,
    ) {
        self.0.extend(Refused::one(field, reason, accepted).0);
    }

    /// Takes a measure that must lie in a range; gives its SI value.
    pub fn within<M: Measure>(
        &mut self,
        field: impl Display,
        entered: &Entered<M>,
        accepted: Accepted<M>,
    ) -> f64 {
        let si = entered.si();
        if !accepted.holds(si) {
            let reason = if si == 0.0 {
                "is zero".to_owned()
            } else if si < 0.0 && accepted.low >= 0.0 {
                format!("is negative ({})", entered.text())
            } else if si < accepted.low {
                format!("is too small ({})", entered.text())
            } else {
                format!("is too large ({})", entered.text())
            };
            self.refuse(field.to_string(), reason, accepted.to_string());
        }
        si
    }

    /// As [`Check::within`] for a value that may be left out.
    pub fn maybe<M: Measure>(
        &mut self,
        field: impl Display,
        entered: Option<&Entered<M>>,
        accepted: Accepted<M>,
    ) -> Option<f64> {
        entered.map(|entered| self.within(field, entered, accepted))
    }

    /// Ends the checking.
    ///
    /// # Errors
    /// Something was refused.
    pub fn done(self) -> Result<(), Refused> {
        if self.0.is_empty() { Ok(()) } else { Err(Refused(self.0)) }
    }
}

/// A list of `MIN` to `MAX` entries. A longer one is refused while it is read.
#[derive(Clone, Debug, PartialEq)]
pub struct List<T, const MIN: usize, const MAX: usize>(Vec<T>);

impl<T, const MIN: usize, const MAX: usize> Deref for List<T, MIN, MAX> {
    type Target = [T];

    fn deref(&self) -> &[T] {
        &self.0
    }
}

impl<T, const MAX: usize> Default for List<T, 0, MAX> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

impl<'de, T: Deserialize<'de>, const MIN: usize, const MAX: usize> Deserialize<'de> for List<T, MIN, MAX> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_seq(ListReader(PhantomData))
    }
}

struct ListReader<T, const MIN: usize, const MAX: usize>(PhantomData<T>);

impl<'de, T: Deserialize<'de>, const MIN: usize, const MAX: usize> Visitor<'de> for ListReader<T, MIN, MAX> {
    type Value = List<T, MIN, MAX>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "a list of {MIN} to {MAX} entries")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut entries: A) -> Result<Self::Value, A::Error> {
        let refused = |count: String| {
            let accepted = format!("{MIN} to {MAX} entries");
            de::Error::custom(format!("has {count} entries, expected {accepted}"))
        };
        if let Some(count) = entries.size_hint()
            && count > MAX
        {
            return Err(refused(count.to_string()));
        }
        let mut list = Vec::with_capacity(entries.size_hint().unwrap_or(0));
        while let Some(entry) = entries.next_element()? {
            if list.len() == MAX {
                return Err(refused(format!("more than {MAX}")));
            }
            list.push(entry);
        }
        if list.len() < MIN {
            return Err(refused(list.len().to_string()));
        }
        Ok(List(list))
    }
}

#[cfg(feature = "schema")]
impl<T: schemars::JsonSchema, const MIN: usize, const MAX: usize> schemars::JsonSchema for List<T, MIN, MAX> {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        format!("{}_list_{MIN}_{MAX}", T::schema_name()).into()
    }

    fn inline_schema() -> bool {
        true
    }

    fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
        let items = generator.subschema_for::<T>();
        schemars::json_schema!({ "type": "array", "items": items, "minItems": MIN, "maxItems": MAX })
    }
}
