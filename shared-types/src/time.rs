//! Moments and days. Nothing here reads a clock: moments arrive as arguments.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use time::format_description::well_known::Iso8601;
use time::{Date, OffsetDateTime};

/// A moment in UTC, in milliseconds since 1970-01-01.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct UtcMillis(pub i64);

impl UtcMillis {
    /// The first moment of 1990 and of 2200: a date of work outside of them is a slip of the finger.
    pub const ACCEPTED: std::ops::Range<Self> = Self(631_152_000_000)..Self(7_258_118_400_000);

    /// This moment moved by some minutes.
    #[must_use]
    pub const fn plus_minutes(self, minutes: i64) -> Self {
        Self(self.0.saturating_add(minutes.saturating_mul(60_000)))
    }

    /// Milliseconds from `earlier` to here; negative when it is later.
    #[must_use]
    pub const fn since(self, earlier: Self) -> i64 {
        self.0.saturating_sub(earlier.0)
    }
}

/// RFC 3339 in UTC, to the second: `2026-11-25T12:42:00Z`.
impl fmt::Display for UtcMillis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match OffsetDateTime::from_unix_timestamp(self.0.div_euclid(1000)) {
            Ok(at) => write!(f, "{}T{:02}:{:02}:{:02}Z", at.date(), at.hour(), at.minute(), at.second()),
            Err(_) => write!(f, "{} ms", self.0),
        }
    }
}

/// A day in the calendar, without a time zone: an expiry, a calibration due.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Day(pub Date);

impl Day {
    /// The years a day may lie in.
    pub const YEARS: std::ops::RangeInclusive<i32> = 1950..=2150;
}

/// No day: before all others.
impl Default for Day {
    fn default() -> Self {
        Self(Date::MIN)
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// The text is not a day.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("not a day: write it as 2026-11-25, between the years 1950 and 2150")]
pub struct NotADay;

impl FromStr for Day {
    type Err = NotADay;

    fn from_str(text: &str) -> Result<Self, NotADay> {
        let date = Date::parse(text.trim(), &Iso8601::DATE).map_err(|_| NotADay)?;
        if Self::YEARS.contains(&date.year()) { Ok(Self(date)) } else { Err(NotADay) }
    }
}

impl TryFrom<String> for Day {
    type Error = NotADay;

    fn try_from(text: String) -> Result<Self, NotADay> {
        text.parse()
    }
}

impl From<Day> for String {
    fn from(day: Day) -> Self {
        day.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_print_as_rfc_3339() {
        assert_eq!(UtcMillis(0).to_string(), "1970-01-01T00:00:00Z");
        assert_eq!(UtcMillis(i64::MAX).to_string(), "9223372036854775807 ms");
    }

    #[test]
    fn days_outside_the_accepted_years_are_refused() {
        assert!("2026-11-25".parse::<Day>().is_ok());
        for text in ["9999-01-01", "1949-12-31", "2026-13-01", "soon", ""] {
            assert_eq!(text.parse::<Day>(), Err(NotADay), "{text}");
        }
    }
}
