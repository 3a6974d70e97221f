//! Limits on what people and networks may send: each refusal names field, reason and accepted range.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use crate::digest::Digest;
use crate::order::OrderKey;
use crate::text::{LongText, Registration, ShortText};
use crate::time::{Day, UtcMillis};

/// The most changes in one push; a client splits a longer outbox.
pub const MAX_CHANGES_PER_PUSH: usize = 500;
/// The most bytes in one change's text.
pub const MAX_CHANGE_BYTES: usize = 64 * 1024;
/// The most changes in one pulled page.
pub const MAX_CHANGES_PER_PULL: usize = 1_000;
/// A log's state is folded anew once this many changes have come since: that many may follow a
/// snapshot, and a log that is no longer is opened by its changes.
pub const SNAPSHOT_AFTER: u64 = 256;
/// The most bytes in one photo.
pub const MAX_PHOTO_BYTES: u64 = 64 * 1024 * 1024;
/// The most items in any list inside a change.
pub const MAX_LIST: usize = 200;

/// One field that can't be taken.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, thiserror::Error)]
#[error("{field} {reason}; accepted: {accepted}")]
pub struct Problem {
    /// The field's name on the wire.
    pub field: String,
    /// What is wrong, as a sentence part.
    pub reason: String,
    /// What would be accepted.
    pub accepted: String,
}

impl Problem {
    /// A problem with a field.
    pub fn new(field: impl Into<String>, reason: impl Into<String>, accepted: impl Into<String>) -> Self {
        Self { field: field.into(), reason: reason.into(), accepted: accepted.into() }
    }
}

/// A value that can be held against its limits.
pub trait Checked {
    /// What is wrong with the value, and what would be accepted.
    fn fault(&self) -> Option<(String, String)>;
}

/// The problem with one field's value, if there is one.
pub fn problem(field: &str, value: &impl Checked) -> Option<Problem> {
    value.fault().map(|(reason, accepted)| Problem::new(field, reason, accepted))
}

impl Checked for ShortText {
    fn fault(&self) -> Option<(String, String)> {
        let accepted = || format!("one line of at most {} characters", Self::MAX);
        if self.0.chars().count() > Self::MAX {
            return Some((format!("has {} characters", self.0.chars().count()), accepted()));
        }
        self.0
            .chars()
            .any(char::is_control)
            .then(|| ("holds a control character or a line break".into(), accepted()))
    }
}

impl Checked for LongText {
    fn fault(&self) -> Option<(String, String)> {
        let accepted = || format!("at most {} characters", Self::MAX);
        if self.0.chars().count() > Self::MAX {
            return Some((format!("has {} characters", self.0.chars().count()), accepted()));
        }
        let control = |c: char| c.is_control() && !matches!(c, '\n' | '\r' | '\t');
        self.0.chars().any(control).then(|| ("holds a control character".into(), accepted()))
    }
}

impl Checked for Registration {
    fn fault(&self) -> Option<(String, String)> {
        let fits =
            self.0.len() <= Self::MAX && self.0.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-');
        (!fits).then(|| {
            (
                "is not a registration mark".into(),
                format!("up to {} letters A-Z, digits and hyphens", Self::MAX),
            )
        })
    }
}

impl Checked for OrderKey {
    fn fault(&self) -> Option<(String, String)> {
        let fits = self.0.len() <= Self::MAX && self.0.bytes().all(|b| b.is_ascii_hexdigit());
        (!fits).then(|| ("is not an order key".into(), format!("up to {} hexadecimal digits", Self::MAX)))
    }
}

impl Checked for Day {
    fn fault(&self) -> Option<(String, String)> {
        let years = Self::YEARS;
        (!years.contains(&self.0.year())).then(|| {
            (
                format!("lies in the year {}", self.0.year()),
                format!("years {} to {}", years.start(), years.end()),
            )
        })
    }
}

impl Checked for UtcMillis {
    fn fault(&self) -> Option<(String, String)> {
        let accepted = Self::ACCEPTED;
        (!accepted.contains(self))
            .then(|| (format!("is {self}"), format!("from {} until {}", accepted.start, accepted.end)))
    }
}

impl Checked for f64 {
    fn fault(&self) -> Option<(String, String)> {
        (!self.is_finite() || self.abs() > 1e12)
            .then(|| (format!("is {self}"), "a number of at most 1e12".into()))
    }
}

impl Checked for serde_json::Value {
    fn fault(&self) -> Option<(String, String)> {
        // Depth is bounded by serde_json's own recursion limit, size by MAX_CHANGE_BYTES.
        None
    }
}

macro_rules! always_fine {
    ($($ty:ty),* $(,)?) => { $(
        impl Checked for $ty {
            fn fault(&self) -> Option<(String, String)> {
                None
            }
        }
    )* };
}
pub(crate) use always_fine;

always_fine!(bool, u32, u64, Digest, crate::worksheet::WorksheetKind);

impl<T: Checked> Checked for Option<T> {
    fn fault(&self) -> Option<(String, String)> {
        self.as_ref().and_then(Checked::fault)
    }
}

impl<T: Checked> Checked for Vec<T> {
    fn fault(&self) -> Option<(String, String)> {
        list_fault(self.len(), MAX_LIST, self.iter())
    }
}

impl<T: Checked> Checked for BTreeSet<T> {
    fn fault(&self) -> Option<(String, String)> {
        list_fault(self.len(), MAX_LIST, self.iter())
    }
}

/// What is wrong with a list: too many items, or one of them.
pub(crate) fn list_fault<'a, T: Checked + 'a>(
    length: usize,
    most: usize,
    items: impl Iterator<Item = &'a T>,
) -> Option<(String, String)> {
    if length > most {
        return Some((format!("has {length} items"), format!("at most {most} items")));
    }
    let (at, (reason, accepted)) = items.enumerate().find_map(|(at, item)| Some((at, item.fault()?)))?;
    Some((format!("item {}: {reason}", at + 1), accepted))
}
