//! Drills and hole limits for solid rivets, countersinks, dimples.

use serde::{Deserialize, Serialize};

use super::rivets::Dash;
use super::{INCH, Origin};

/// Which published series of drills is used: three exist for the same rivet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum DrillSeries {
    /// Least clearance: 41, 30, 22, 12.
    Tight,
    /// The holes that strength tables assume: 41, 30, 21, 11.
    Strength,
    /// What shops commonly use: 40, 30, 21, 11.
    #[default]
    Shop,
}

/// A drill for a rivet diameter.
#[derive(Clone, Copy, Debug)]
pub struct DrillRow {
    /// The rivet's dash number.
    pub dash: u8,
    /// The drill's name.
    pub drill: &'static str,
    /// Its diameter, inches.
    pub inches: f64,
    /// Where it comes from.
    pub origin: Origin,
}

const fn row(dash: u8, drill: &'static str, inches: f64, origin: Origin) -> DrillRow {
    DrillRow { dash, drill, inches, origin }
}

const P40: Origin = Origin::Read("Curtiss P-40 structural repair manual (1940s) par 16");
const HDBK: Origin = Origin::Memory("MIL-HDBK-5 Table 8.1.2(a)");
const FAA: Origin = Origin::Memory("FAA-H-8083-31 ch 4 drill size figure");
const LETTERS: Origin = Origin::Memory("drill next above the rivet, twist drill table");

const TIGHT: [DrillRow; 8] = [
    row(2, "#52", 0.0635, P40),
    row(3, "#41", 0.0960, P40),
    row(4, "#30", 0.1285, P40),
    row(5, "#22", 0.1570, P40),
    row(6, "#12", 0.1890, P40),
    row(8, "1/4 in", 0.2500, P40),
    row(10, "O", 0.3160, LETTERS),
    row(12, "V", 0.3770, LETTERS),
];
const STRENGTH: [DrillRow; 8] = [
    row(2, "#51", 0.0670, HDBK),
    row(3, "#41", 0.0960, HDBK),
    row(4, "#30", 0.1285, HDBK),
    row(5, "#21", 0.1590, HDBK),
    row(6, "#11", 0.1910, HDBK),
    row(8, "F", 0.2570, HDBK),
    row(10, "P", 0.3230, HDBK),
    row(12, "W", 0.3860, HDBK),
];
const SHOP: [DrillRow; 8] = [
    row(2, "#51", 0.0670, HDBK),
    row(3, "#40", 0.0980, FAA),
    row(4, "#30", 0.1285, FAA),
    row(5, "#21", 0.1590, FAA),
    row(6, "#11", 0.1910, FAA),
    row(8, "F", 0.2570, FAA),
    row(10, "P", 0.3230, HDBK),
    row(12, "W", 0.3860, HDBK),
];

impl DrillSeries {
    /// The drill for a rivet.
    #[must_use]
    pub fn drill(self, dash: Dash) -> Option<DrillRow> {
        let table = match self {
            Self::Tight => &TIGHT,
            Self::Strength => &STRENGTH,
            Self::Shop => &SHOP,
        };
        table.iter().find(|row| row.dash == dash.number()).copied()
    }
}

/// The hole that strength values assume, in metres: the nominal hole of the
/// strength tables, or the rivet's own diameter for a size they do not have.
#[must_use]
pub fn nominal_hole(diameter: f64) -> f64 {
    Dash::of(diameter)
        .and_then(|dash| DrillSeries::Strength.drill(dash))
        .map_or(diameter, |row| row.inches * INCH)
}

/// Least and greatest hole for a rivet, in metres, and where they come from.
///
/// A published pair was found for 3/32 only. For other sizes the least hole is
/// the tight drill and the greatest is the shop drill and 0.004 in, the width of
/// the ranges that TM 10-5410-221-14/1 Table 4-3 prints for blind rivets.
#[must_use]
pub fn hole_limits(dash: Dash) -> Option<(f64, f64, Origin)> {
    if dash.number() == 3 {
        let quoted = "MIL-R-47196A Table I par 3.2.1.3, as quoted by a builder (table not seen)";
        return Some((0.093 * INCH, 0.103 * INCH, Origin::Read(quoted)));
    }
    let least = DrillSeries::Tight.drill(dash)?.inches;
    let greatest = DrillSeries::Shop.drill(dash)?.inches + 0.004;
    Some((least * INCH, greatest * INCH, Origin::Practice))
}

/// Which published rule says how thin a sheet may be machine-countersunk.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum CountersinkRule {
    /// The common aircraft shop rule: 0.032, 0.040, 0.050, 0.063 in.
    Shop,
    /// TM 9-2320-363-34-2 Table 4, the stricter of the two tables.
    #[default]
    ArmyTable,
    /// 0.051 in whatever the rivet: older, stricter.
    Older,
    /// The sheet is thicker than the head is high.
    HeadHeight,
}

const SHOP_SHEET: [(u8, f64); 4] = [(3, 0.032), (4, 0.040), (5, 0.050), (6, 0.063)];
const ARMY_SHEET: [(u8, f64); 5] = [(3, 0.040), (4, 0.050), (5, 0.064), (6, 0.072), (8, 0.072)];

impl CountersinkRule {
    /// The least sheet for a rivet with a head of this height, in metres.
    #[must_use]
    pub fn least_sheet(self, dash: Dash, head_height: f64) -> (f64, Origin) {
        let (table, origin): (&[(u8, f64)], _) = match self {
            Self::Shop => (
                &SHOP_SHEET,
                Origin::Memory(
                    "general aircraft shop practice; MIL-HDBK-5 marks the thinnest line as a knife edge",
                ),
            ),
            Self::ArmyTable => {
                (&ARMY_SHEET, Origin::Read("TM 9-2320-363-34-2 Table 4 p 22-18 (vehicle body, blind rivets)"))
            }
            Self::Older => {
                return (0.051 * INCH, Origin::Read("Curtiss P-40 structural repair manual (1940s) par 10a"));
            }
            Self::HeadHeight => (&[], HEAD_HEIGHT_RULE),
        };
        table
            .iter()
            .find(|row| row.0 == dash.number())
            .map_or((head_height, HEAD_HEIGHT_RULE), |row| (row.1 * INCH, origin))
    }
}

/// A machine countersink needs a sheet thicker than the head is high.
pub const HEAD_HEIGHT_RULE: Origin = Origin::Read("AC 65-15A ch 5 fig 5-47, as quoted in a forum");

/// The countersink's diameter limits at the surface, in metres.
#[must_use]
pub fn countersink_diameter(dash: Dash) -> Option<(f64, f64, Origin)> {
    let (least, greatest) = match dash.number() {
        4 => (0.222, 0.228),
        5 => (0.283, 0.289),
        6 => (0.350, 0.356),
        _ => return None,
    };
    let table = Origin::Read("TM 9-2320-363-34-2 Table 3 p 22-18");
    Some((least * INCH, greatest * INCH, table))
}

/// The thickest sheet that dimples well.
pub const DIMPLE_MAX: (f64, Origin) = (0.040 * INCH, Origin::Read("AC 65-15A ch 5, as quoted in a forum"));

/// The deepest deburring chamfer: a tenth of the sheet, at most 0.032 in.
#[must_use]
pub fn deburr_max(thickness: f64) -> (f64, Origin) {
    ((0.10 * thickness).min(0.032 * INCH), Origin::Read("MIL-R-47196A, summary page"))
}
