//! Edge distance, pitch and row distance, in rivet diameters.

use serde::{Deserialize, Serialize};

use super::Origin;
use super::heads::Head;

/// Limits on where a rivet may stand, as multiples of its diameter D.
#[derive(Clone, Copy, Debug)]
pub struct Spacing {
    /// Least edge distance.
    pub edge_min: Rule,
    /// Greatest edge distance of the outer row.
    pub edge_max: Rule,
    /// Least pitch along a row.
    pub pitch_min: Rule,
    /// Greatest pitch along a row.
    pub pitch_max: Rule,
    /// Least distance between rows.
    pub row_min: Rule,
}

/// A multiple of D and where it comes from.
#[derive(Clone, Copy, Debug)]
pub struct Rule {
    /// The multiple of D.
    pub diameters: f64,
    /// Where it comes from.
    pub origin: Origin,
}

/// How many rows the joint has, as the rules tell them apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Rows {
    /// One row, or three and more.
    OneOrThree,
    /// Two rows.
    Two,
}

impl Rows {
    /// The group that a number of rows belongs to.
    #[must_use]
    pub fn of(rows: usize) -> Self {
        if rows == 2 { Self::Two } else { Self::OneOrThree }
    }
}

const AC_EDGE: Origin = Origin::Read("AC 43.13-1B par 4-57c, as quoted on a builder page");
const AC_PITCH_1: Origin = AC_EDGE;
const AC_PITCH_2: Origin = Origin::Read("AC 43.13-1B par 4-58g example: 40 rivets, two rows, 10 in, D = 1/8");
const FAA_FLUSH: Origin = Origin::Memory("FAA-H-8083-31 fig 4-78");
const ARMY: Origin = Origin::Read("US Army subcourse AL0992");
const TM: Origin = Origin::Read("TM 10-5410-229-13&P par 5-6");

const fn rule(diameters: f64, origin: Origin) -> Rule {
    Rule { diameters, origin }
}

/// The limits for a head and a number of rows.
#[must_use]
pub const fn spacing(head: Head, rows: Rows) -> Spacing {
    let (edge_min, pitch_min) = match (head, rows) {
        (Head::Universal, Rows::OneOrThree) => (rule(2.0, AC_EDGE), rule(3.0, AC_PITCH_1)),
        (Head::Universal, Rows::Two) => (rule(2.0, AC_EDGE), rule(4.0, AC_PITCH_2)),
        (Head::Countersunk, Rows::OneOrThree) => (rule(2.5, ARMY), rule(3.5, FAA_FLUSH)),
        (Head::Countersunk, Rows::Two) => (rule(2.5, ARMY), rule(4.5, FAA_FLUSH)),
    };
    Spacing {
        edge_min,
        edge_max: rule(4.0, ARMY),
        pitch_min,
        pitch_max: rule(10.0, ARMY),
        row_min: rule(2.5, TM),
    }
}

/// Rows usually stand at three quarters of the pitch, never below 2.5 D.
pub const ROW_SHARE: (f64, Origin) =
    (0.75, Origin::Read("FAA-H-8083-31 ch 4; trade article (Mar 1999) and class note"));
