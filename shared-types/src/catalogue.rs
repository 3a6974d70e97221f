//! The catalogue: reference data of open standards, each row with its source and its mark.
//! The rows themselves belong to the engines' crate; this is how they travel.

use serde::{Deserialize, Serialize};

/// All rows of one edition.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Catalogue {
    /// The edition; it changes with the rows.
    pub version: String,
    /// The rows.
    pub rows: Vec<Row>,
}

/// One thing of the trade.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Row {
    /// What it is.
    pub group: Group,
    /// Part number or designation.
    pub name: String,
    /// What a later standard calls it; may be empty.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub also: String,
    /// In words: head, alloy, sizes with their units.
    pub text: String,
    /// Where the row comes from.
    pub source: String,
    /// How well it is known.
    pub mark: Mark,
}

/// What a row is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Group {
    /// Solid rivets.
    Rivet,
    /// Flat washers.
    Washer,
    /// Twist drills.
    Drill,
    /// Alloys of rivets.
    Alloy,
    /// What sheets and laminates are reckoned with.
    Sheet,
    /// Cloth without resin.
    Cloth,
    /// Mat without resin.
    Mat,
    /// Fibre.
    Fibre,
    /// Resin.
    Resin,
    /// Adhesive.
    Adhesive,
    /// Core.
    Core,
    /// A ply with its resin.
    Ply,
}

impl Group {
    /// Every group, in the order screens list them.
    pub const ALL: [Self; 12] = [
        Self::Rivet,
        Self::Washer,
        Self::Drill,
        Self::Alloy,
        Self::Sheet,
        Self::Cloth,
        Self::Mat,
        Self::Fibre,
        Self::Resin,
        Self::Adhesive,
        Self::Core,
        Self::Ply,
    ];

    /// The group's name on screens.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Rivet => "solid rivet",
            Self::Washer => "washer",
            Self::Drill => "drill",
            Self::Alloy => "rivet alloy",
            Self::Sheet => "sheet material",
            Self::Cloth => "cloth",
            Self::Mat => "mat",
            Self::Fibre => "fibre",
            Self::Resin => "resin",
            Self::Adhesive => "adhesive",
            Self::Core => "core",
            Self::Ply => "ply, cured",
        }
    }
}

/// How well a row is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mark {
    /// Read in the source, or in a reprint or quotation of it.
    Read,
    /// Some of it read, the rest remembered.
    PartlyRead,
    /// Remembered, not looked up.
    Memory,
    /// A typical value, not an allowable.
    Typical,
    /// The trade does it so.
    Practice,
}

impl Mark {
    /// The mark in words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Read => "read in the source",
            Self::PartlyRead => "partly read, the rest from memory: confirm it",
            Self::Memory => "from memory: confirm it",
            Self::Typical => "typical value, no allowable",
            Self::Practice => "common practice, no source",
        }
    }
}
