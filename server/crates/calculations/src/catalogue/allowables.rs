//! AC 43.13-1B tables 4-9, 4-10 and 4-11: protruding 2117-T4 (AD) rivets or
//! AN-3 bolts per inch of width; and handbook strengths of flush rivets.

use serde::{Deserialize, Serialize};

use super::Origin;
use super::rivets::circle;

/// Which of the three tables.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum WidthTable {
    /// Bare and clad 2014-T6, 2024-T3, 2024-T36, 7075-T6 sheet; 2024-T4 and 7075-T6 plate, bar, extrusion.
    #[serde(rename = "4-9")]
    T4_9,
    /// 2017, 2017 clad, 2024-T3 clad sheet, plate, bar, extrusion.
    #[serde(rename = "4-10")]
    T4_10,
    /// 5052, all hardnesses, sheet.
    #[serde(rename = "4-11")]
    T4_11,
}

/// A column of the tables.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Column {
    /// An AD rivet of this dash number.
    Rivet(u8),
    /// An AN-3 bolt.
    Bolt,
}

/// An entry of a table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Entry {
    /// Printed.
    Printed(f64),
    /// Printed, but unread in our copy: worked out by the table's own rule.
    ByRule(f64),
    /// The table prints a dash: that fastener is not for that sheet.
    Dash,
}

/// A printed dash.
const NONE: f64 = -1.0;
/// An entry that is printed but could not be read.
const UNREAD: f64 = -2.0;

type Table = [(f64, [f64; 6]); 12];

// Sheet thickness in inches; 3/32, 1/8, 5/32, 3/16, 1/4, AN-3.
const TABLE_4_9: Table = [
    (0.016, [6.5, 4.9, NONE, NONE, NONE, NONE]),
    (0.020, [6.9, 4.9, 3.9, NONE, NONE, NONE]),
    (0.025, [8.6, 4.9, 3.9, NONE, NONE, NONE]),
    (0.032, [11.1, 6.2, 3.9, 3.3, NONE, NONE]),
    (0.036, [12.5, 7.0, 4.5, 3.3, 2.4, NONE]),
    (0.040, [13.8, 7.7, 5.0, 3.5, 2.4, 3.3]),
    (0.051, [NONE, 9.8, UNREAD, 4.5, 2.5, 3.3]),
    (0.064, [NONE, 12.3, 8.1, 5.6, 3.1, 3.3]),
    (0.081, [NONE, NONE, 10.2, 7.1, 3.9, 3.3]),
    (0.091, [NONE, NONE, 11.4, 7.9, 4.4, 3.3]),
    (0.102, [NONE, NONE, 12.8, 8.9, 4.9, 3.4]),
    (0.128, [NONE, NONE, NONE, 11.2, 6.2, 4.2]),
];
const TABLE_4_10: Table = [
    (0.016, [6.5, 4.9, NONE, NONE, NONE, NONE]),
    (0.020, [6.5, 4.9, 3.9, NONE, NONE, NONE]),
    (0.025, [6.9, 4.9, 3.9, NONE, NONE, NONE]),
    (0.032, [8.9, 4.9, 3.9, 3.3, NONE, NONE]),
    (0.036, [10.0, 5.6, 3.9, 3.3, 2.4, NONE]),
    (0.040, [11.1, 6.2, 4.0, 3.3, 2.4, NONE]),
    (0.051, [NONE, 7.9, 5.1, 3.6, 2.4, 3.3]),
    (0.064, [NONE, UNREAD, 6.5, 4.5, 2.5, 3.3]),
    (0.081, [NONE, 12.5, 8.1, 5.7, 3.1, 3.3]),
    (0.091, [NONE, NONE, 9.1, 6.3, 3.5, 3.3]),
    (0.102, [NONE, NONE, 10.3, 7.1, 3.9, 3.3]),
    (0.128, [NONE, NONE, 12.9, 8.9, 4.9, 3.3]),
];
const TABLE_4_11: Table = [
    (0.016, [6.3, 4.7, NONE, NONE, NONE, NONE]),
    (0.020, [6.3, 4.7, 3.8, NONE, NONE, NONE]),
    (0.025, [6.3, 4.7, 3.8, NONE, NONE, NONE]),
    (0.032, [6.3, 4.7, 3.8, 3.2, NONE, NONE]),
    (0.036, [7.1, 4.7, 3.8, 3.2, 2.4, NONE]),
    (0.040, [7.9, 4.7, 3.8, 3.2, 2.4, NONE]),
    (0.051, [10.1, 5.6, 3.8, 3.2, 2.4, NONE]),
    (0.064, [12.7, 7.0, 4.6, 3.2, 2.4, NONE]),
    (0.081, [NONE, 8.9, 5.8, UNREAD, 2.4, 3.2]),
    (0.091, [NONE, 10.0, 6.5, 4.5, 2.5, 3.2]),
    (0.102, [NONE, 11.2, 7.3, 5.1, 2.8, 3.2]),
    (0.128, [NONE, NONE, 9.2, 6.4, 3.5, 3.2]),
];

impl WidthTable {
    /// The sheet thicknesses that the tables list, inches.
    pub const THICKNESSES: &'static str =
        "0.016, 0.020, 0.025, 0.032, 0.036, 0.040, 0.051, 0.064, 0.081, 0.091, 0.102, 0.128 in";

    const fn table(self) -> &'static Table {
        match self {
            Self::T4_9 => &TABLE_4_9,
            Self::T4_10 => &TABLE_4_10,
            Self::T4_11 => &TABLE_4_11,
        }
    }

    /// The table's name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::T4_9 => "Table 4-9",
            Self::T4_10 => "Table 4-10",
            Self::T4_11 => "Table 4-11",
        }
    }

    /// Where the table is printed.
    #[must_use]
    pub const fn origin(self) -> Origin {
        Origin::Read(match self {
            Self::T4_9 => "AC 43.13-1B (9/8/98, Chg 1 9/27/01) Table 4-9 p 4-37",
            Self::T4_10 => "AC 43.13-1B (9/8/98, Chg 1 9/27/01) Table 4-10 p 4-38",
            Self::T4_11 => "AC 43.13-1B (9/8/98, Chg 1 9/27/01) Table 4-11 p 4-39",
        })
    }

    /// The listed thickness to enter the table with, inches: the sheet's own, or
    /// the next thicker one, which asks for more fasteners.
    #[must_use]
    pub fn entry_thickness(self, inches: f64) -> Option<f64> {
        let listed = self.table().iter().map(|row| row.0);
        // Half a thousandth: 0.0625 is not 0.064, but 0.0315 (0.8 mm) is 0.032.
        listed.into_iter().find(|thickness| inches <= thickness + 0.0005)
    }

    /// The entry at a listed thickness, inches; `None` for a thickness or a column that is not there.
    #[must_use]
    pub fn entry(self, inches: f64, column: Column) -> Option<Entry> {
        let (thickness, cells) = self.table().iter().find(|row| (row.0 - inches).abs() < 1e-9)?;
        let place = match column {
            Column::Rivet(3) => 0,
            Column::Rivet(4) => 1,
            Column::Rivet(5) => 2,
            Column::Rivet(6) => 3,
            Column::Rivet(8) => 4,
            Column::Rivet(_) => return None,
            Column::Bolt => 5,
        };
        let cell = *cells.get(place)?;
        Some(if cell == NONE {
            Entry::Dash
        } else if cell == UNREAD {
            // The table prints one decimal.
            Entry::ByRule((self.rule(*thickness, column) * 10.0).round() / 10.0)
        } else {
            Entry::Printed(cell)
        })
    }

    /// The rule behind the table: enough rivets to shear with the sheet's
    /// tension or to bear, whichever asks for more. Engineering notes b and d.
    #[must_use]
    pub fn rule(self, inches: f64, column: Column) -> f64 {
        let (k, b, tension) = match self {
            Self::T4_9 => (0.40, 1.6, 70_000.0),
            Self::T4_10 => (0.50, 1.6, 55_000.0),
            Self::T4_11 => (0.70, 1.65, 31_000.0),
        };
        let hole = match column {
            Column::Rivet(3) => 0.0960,
            Column::Rivet(4) => 0.1285,
            Column::Rivet(5) => 0.1590,
            Column::Rivet(6) => 0.1910,
            Column::Rivet(8) => 0.2570,
            Column::Rivet(dash) => f64::from(dash) / 32.0,
            Column::Bolt => return tension * inches / AN3_SHEAR,
        };
        (inches / (k * circle(hole))).max(1.0 / (b * hole))
    }
}

/// Single shear of an AN-3 bolt, pounds (AC 43.13-1B tables 4-9 and 4-10, note d).
pub const AN3_SHEAR: f64 = 2126.0;

/// Strength of a 3/32 AD rivet with a countersunk head in 2024-T3 sheet, pounds:
/// sheet thickness (in); dimpled ultimate, yield; machine-countersunk ultimate, yield.
const FLUSH_AD3: [(f64, [f64; 4]); 3] = [
    (0.032, [217.0, 209.0, 178.0, 132.0]),
    (0.040, [217.0, 209.0, 193.0, 153.0]),
    (0.063, [217.0, 209.0, 216.0, 213.0]),
];

/// Ultimate and yield of a flush rivet.
#[derive(Clone, Copy, Debug)]
pub struct FlushStrength {
    /// Ultimate, pounds.
    pub ultimate: f64,
    /// Yield, pounds.
    pub yielding: f64,
}

/// The handbook's strength of a flush AD rivet in 2024-T3 sheet, where we have it.
/// A sheet between two lines takes the thinner line.
#[must_use]
pub fn flush_ad(dash: u8, sheet: f64, dimpled: bool) -> Option<FlushStrength> {
    if dash != 3 {
        return None;
    }
    let (_, row) = FLUSH_AD3.iter().rev().find(|row| sheet >= row.0 - 0.0005)?;
    let (ultimate, yielding) = if dimpled { (row[0], row[1]) } else { (row[2], row[3]) };
    Some(FlushStrength { ultimate, yielding })
}

/// Where the flush strengths come from.
pub const FLUSH_ORIGIN: Origin = Origin::Read("MIL-HDBK-5F tables, as quoted on a builder page");
