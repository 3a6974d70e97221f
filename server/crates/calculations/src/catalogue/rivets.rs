//! Solid rivets: alloys, diameters, strength of the driven rivet.

use std::f64::consts::PI;

use serde::{Deserialize, Serialize};
pub use shared_types::dash::Dash;

use super::{KSI, Origin};

/// The alloy letters of a solid-rivet part number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum Alloy {
    /// 1100: soft, nonstructural parts only.
    A,
    /// 2117: the usual structural rivet.
    AD,
    /// 5056: for magnesium.
    B,
    /// 2017: driven soon after heat treatment.
    D,
    /// 2024: driven soon after heat treatment.
    DD,
}

/// What the standards say of an alloy.
#[derive(Clone, Copy, Debug)]
pub struct AlloyRow {
    /// The letters.
    pub code: &'static str,
    /// Alloy and temper as supplied.
    pub name: &'static str,
    /// Alloy and temper once driven.
    pub driven: &'static str,
    /// What is seen on the manufactured head.
    pub marking: &'static str,
    /// Where alloy and marking come from.
    pub origin: Origin,
    /// Shear strength of the driven rivet, ksi.
    pub shear_ksi: f64,
    /// Where the shear strength comes from.
    pub shear_origin: Origin,
}

const NAVY: Origin = Origin::Read("NAVEDTRA 14315 Table 3-1");
const HDBK: Origin = Origin::Memory("MIL-HDBK-5 Table 8.1.2(b)");
const AD_SHEAR: Origin = Origin::Read(
    "MIL-HDBK-5F single-shear values of 3/32 and 1/8 AD rivets as quoted on a builder page; \
     other sizes by the same stress",
);
const A_SHEAR: Origin =
    Origin::Memory("structures tables for driven 1100-F rivets, low confidence: some print 10 or 11 ksi");

impl Alloy {
    /// Every alloy, in alphabetical order of its code.
    pub const ALL: [Self; 5] = [Self::A, Self::AD, Self::B, Self::D, Self::DD];

    /// The alloy's row.
    #[must_use]
    pub const fn row(self) -> AlloyRow {
        let (code, name, driven, marking, shear_ksi, shear_origin) = match self {
            Self::A => ("A", "1100-F", "1100-F", "plain", 9.5, A_SHEAR),
            Self::AD => ("AD", "2117-T4", "2117-T3", "indented dimple", 30.0, AD_SHEAR),
            Self::B => ("B", "5056-H32", "5056-H321", "raised cross", 28.0, HDBK),
            Self::D => ("D", "2017-T4", "2017-T31", "raised teat (dot)", 34.0, HDBK),
            Self::DD => ("DD", "2024-T4", "2024-T31", "raised double dash", 41.0, HDBK),
        };
        AlloyRow { code, name, driven, marking, origin: NAVY, shear_ksi, shear_origin }
    }

    /// Shear strength of the driven rivet in pascals. 2017 that has aged before
    /// it is driven is stronger (38 ksi, 2017-T3).
    #[must_use]
    pub fn shear_strength(self, aged: bool) -> f64 {
        if self == Self::D && aged { 38.0 * KSI } else { self.row().shear_ksi * KSI }
    }

    /// Whether the rivet must be driven soon after heat treatment or kept cold.
    #[must_use]
    pub const fn needs_cold_storage(self) -> bool {
        matches!(self, Self::D | Self::DD)
    }
}

/// The area of a circle.
#[must_use]
pub fn circle(diameter: f64) -> f64 {
    PI / 4.0 * diameter * diameter
}
