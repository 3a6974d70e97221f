//! Reference tables of open standards for fasteners and joints, each row with
//! its source. Lengths in inches and stresses in ksi, as the standards print them.
//! [`listing`] gives them as one list, for people to pick from.

pub mod allowables;
pub mod galvanic;
pub mod heads;
pub mod holes;
pub mod listing;
pub mod rivets;
pub mod sheets;
pub mod spacing;
pub mod washers;

use shared_types::worksheet::Source;

/// Metres in an inch (NIST SP 811).
pub const INCH: f64 = 0.0254;
/// Newtons in a pound-force (NIST SP 811).
pub const POUND_FORCE: f64 = 4.448_221_615_260_5;
/// Pascals in a ksi.
pub const KSI: f64 = 1000.0 * POUND_FORCE / (INCH * INCH);

/// Where a row comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// Read in a published document, or in a reprint or quotation of it.
    Read(&'static str),
    /// Remembered, not looked up: confirm before relying on it.
    Memory(&'static str),
    /// A typical value, not an allowable.
    Typical(&'static str),
    /// The trade does it so.
    Practice,
}

impl Origin {
    /// The same for a line of working.
    #[must_use]
    pub fn source(self) -> Source {
        match self {
            Self::Read(document) => Source::Published(document.to_owned()),
            Self::Memory(document) => Source::FromMemory(document.to_owned()),
            Self::Typical(what) => Source::Typical(what.to_owned()),
            Self::Practice => Source::CommonPractice,
        }
    }
}
