//! Texts that people type, with the limits they are held to.
//!
//! Reading is lenient, so that the fold never fails on what an older version
//! let through; [`crate::check`] enforces the limits where a change enters.

use std::fmt;

use serde::{Deserialize, Serialize};

macro_rules! texts {
    ($($(#[$meta:meta])* $name:ident)+) => { $(
        $(#[$meta])*
        #[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub String);

        impl $name {
            /// The text.
            #[must_use]
            pub fn as_str(&self) -> &str {
                &self.0
            }

            /// Nothing but white space was entered.
            #[must_use]
            pub fn is_empty(&self) -> bool {
                self.0.trim().is_empty()
            }
        }

        impl From<&str> for $name {
            fn from(text: &str) -> Self {
                Self(text.to_owned())
            }
        }

        impl From<String> for $name {
            fn from(text: String) -> Self {
                Self(text)
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }
    )+ };
}

texts! {
    /// One line: a title, a part number, a batch. At most [`ShortText::MAX`] characters.
    ShortText
    /// Several lines: a note, a discrepancy, a finding. At most [`LongText::MAX`] characters.
    LongText
    /// An aircraft's nationality and registration marks: letters, digits and
    /// hyphens (ICAO Annex 7, 3.3 and 3.4), at most [`Registration::MAX`].
    Registration
}

impl ShortText {
    /// The most characters in one line.
    pub const MAX: usize = 200;
}

impl LongText {
    /// The most characters in a text.
    pub const MAX: usize = 10_000;
}

impl Registration {
    /// The most characters in a registration. Annex 7 names no figure; every
    /// mark in use is shorter (common practice, no source).
    pub const MAX: usize = 10;
}
