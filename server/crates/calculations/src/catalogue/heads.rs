//! Rivet heads: manufactured head dimensions, and limits of the driven head.

use serde::{Deserialize, Serialize};

use super::rivets::Dash;
use super::{INCH, Origin};

/// The manufactured head.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Head {
    /// MS20470 / AN470: protruding.
    #[default]
    Universal,
    /// MS20426 / AN426: 100 degree countersunk.
    Countersunk,
}

/// The half angle's tangent of a 100 degree head: tan 50°.
pub const TAN_50: f64 = 1.191_753_592_594_21;

/// Diameter, tolerance and height of a manufactured head, inches: dash, universal
/// head, countersunk head. Source: MS20470 and MS20426 drawing tables, from memory.
const HEADS: [(u8, [f64; 3], [f64; 3]); 4] = [
    (3, [0.187, 0.009, 0.040], [0.179, 0.004, 0.036]),
    (4, [0.250, 0.012, 0.054], [0.225, 0.004, 0.042]),
    (5, [0.312, 0.016, 0.067], [0.286, 0.004, 0.055]),
    (6, [0.375, 0.019, 0.080], [0.353, 0.004, 0.070]),
];

/// The dimensions of a manufactured head, in metres.
#[derive(Clone, Copy, Debug)]
pub struct HeadSize {
    /// Head diameter.
    pub diameter: f64,
    /// Tolerance on it, plus and minus.
    pub tolerance: f64,
    /// Head height.
    pub height: f64,
    /// Where they come from.
    pub origin: Origin,
}

impl Head {
    /// The head's dimensions for a shank diameter in metres: from the tables, or
    /// beyond them by the proportions that the tables follow (universal head 2 D
    /// wide and 0.43 D high; countersunk head 1.83 D wide with a 100 degree cone).
    #[must_use]
    pub fn size(self, diameter: f64) -> HeadSize {
        let row = Dash::of(diameter).and_then(|dash| HEADS.iter().find(|row| row.0 == dash.number()));
        if let Some((_, universal, countersunk)) = row {
            let (document, [wide, tolerance, high]) = match self {
                Self::Universal => ("MS20470 drawing table", universal),
                Self::Countersunk => ("MS20426 drawing table", countersunk),
            };
            return HeadSize {
                diameter: wide * INCH,
                tolerance: tolerance * INCH,
                height: high * INCH,
                origin: Origin::Memory(document),
            };
        }
        let (wide, tolerance, high) = match self {
            Self::Universal => (2.0, 0.05, 0.43),
            Self::Countersunk => (1.83, 0.03, 0.83 / (2.0 * TAN_50)),
        };
        HeadSize {
            diameter: wide * diameter,
            tolerance: tolerance * diameter,
            height: high * diameter,
            origin: Origin::Memory("proportions of the MS20470 and MS20426 drawing tables"),
        }
    }

    /// The word for people.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Universal => "universal",
            Self::Countersunk => "countersunk",
        }
    }
}

/// Nominal driven head: 1.5 D wide, 0.5 D high.
pub const NOMINAL: (f64, f64) = (1.5, 0.5);
/// Where the nominal driven head comes from.
pub const NOMINAL_ORIGIN: Origin =
    Origin::Read("Canadian AME solid-rivet course note; FAA-H-8083-31 fig 4-76 (figure not seen)");

/// Which published table the driven head is held against.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum HeadTable {
    /// The course note's table, 3/32 to 1/4 in: least and greatest of both.
    #[default]
    CourseNote,
    /// MIL-R-47196A, 3/32 to 3/16 in: least diameter, least and greatest height.
    #[serde(rename = "mil-r-47196a")]
    MilR47196a,
    /// MIL-HDBK-5H: at least 1.3 D wide and 0.3 D high, any size.
    #[serde(rename = "mil-hdbk-5h")]
    MilHdbk5h,
}

/// Limits of a driven head, in metres.
#[derive(Clone, Copy, Debug)]
pub struct HeadLimits {
    /// Least diameter.
    pub diameter_min: f64,
    /// Greatest diameter, where the table has one.
    pub diameter_max: Option<f64>,
    /// Least height.
    pub height_min: f64,
    /// Greatest height, where the table has one.
    pub height_max: Option<f64>,
    /// Where they come from.
    pub origin: Origin,
}

const COURSE: Origin =
    Origin::Read("Canadian AME solid-rivet course note, table (column titles not seen; inferred)");
const COURSE_NOTE: [(u8, [f64; 4]); 5] = [
    (3, [0.120, 0.160, 0.030, 0.060]),
    (4, [0.160, 0.210, 0.040, 0.080]),
    (5, [0.200, 0.270, 0.050, 0.100]),
    (6, [0.240, 0.320, 0.060, 0.120]),
    (8, [0.330, 0.430, 0.080, 0.170]),
];
const MIL_R_47196A: [(u8, [f64; 3], Origin); 4] = [
    (3, [0.122, 0.038, 0.050], Origin::Read("MIL-R-47196A table, as quoted by a builder (table not seen)")),
    (4, [0.163, 0.050, 0.070], Origin::Memory("MIL-R-47196A table")),
    (5, [0.203, 0.062, 0.087], Origin::Memory("MIL-R-47196A table")),
    (6, [0.244, 0.075, 0.105], Origin::Memory("MIL-R-47196A table")),
];

impl HeadTable {
    /// The limits for a shank diameter in metres; `None` where the table has no such size.
    #[must_use]
    pub fn limits(self, diameter: f64) -> Option<HeadLimits> {
        let dash = Dash::of(diameter).map(Dash::number);
        match self {
            Self::CourseNote => {
                let (_, row) = COURSE_NOTE.iter().find(|row| Some(row.0) == dash)?;
                Some(HeadLimits {
                    diameter_min: row[0] * INCH,
                    diameter_max: Some(row[1] * INCH),
                    height_min: row[2] * INCH,
                    height_max: Some(row[3] * INCH),
                    origin: COURSE,
                })
            }
            Self::MilR47196a => {
                let (_, row, origin) = MIL_R_47196A.iter().find(|row| Some(row.0) == dash)?;
                Some(HeadLimits {
                    diameter_min: row[0] * INCH,
                    diameter_max: None,
                    height_min: row[1] * INCH,
                    height_max: Some(row[2] * INCH),
                    origin: *origin,
                })
            }
            Self::MilHdbk5h => Some(Self::any_size(diameter)),
        }
    }

    /// The handbook's least head, which goes with any size.
    #[must_use]
    pub const fn any_size(diameter: f64) -> HeadLimits {
        HeadLimits {
            diameter_min: 1.3 * diameter,
            diameter_max: None,
            height_min: 0.3 * diameter,
            height_max: None,
            origin: Origin::Read("MIL-HDBK-5H (1 Dec 1998) p 8-9"),
        }
    }

    /// The sizes that the table has.
    #[must_use]
    pub const fn sizes(self) -> &'static str {
        match self {
            Self::CourseNote => "3/32, 1/8, 5/32, 3/16, 1/4 in",
            Self::MilR47196a => "3/32, 1/8, 5/32, 3/16 in",
            Self::MilHdbk5h => "1/16 to 3/8 in",
        }
    }
}
