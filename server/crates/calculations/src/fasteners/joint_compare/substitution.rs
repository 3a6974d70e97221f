//! Whether the published rules let one rivet stand in for another.

use serde::Serialize;
use shared_types::worksheet::Verdict;

use super::side::Joint;
use crate::catalogue::rivets::Alloy;
use crate::catalogue::{INCH, Origin};
use crate::working::{Working, reaches, stays};

const AC: Origin = Origin::Read("AC 43.13-1B par 4-57b p 4-16");
const FAA: Origin = Origin::Read("FAA-H-8083-31 ch 4 Rivet Strength");
const SOFT: Origin = Origin::Read("AC 43.13-1B par 7-2c p 7-1; NAVEDTRA 14315 ch 3");

/// What the rules say.
#[derive(Debug, Serialize)]
pub(super) struct Substitution {
    pub verdict: Verdict,
    pub says: &'static str,
    #[serde(skip)]
    origin: Origin,
    /// How much larger the new rivet is, in metres.
    #[serde(skip)]
    larger: f64,
}

impl Substitution {
    pub fn of(before: &Joint, after: &Joint) -> Self {
        let larger = after.diameter - before.diameter;
        let (verdict, says, origin) = match (before.alloy, after.alloy) {
            (Some(old), Some(new)) => rule(old, new, before.diameter / INCH, larger / INCH),
            _ => (
                Verdict::TooClose,
                "No rule is looked up: a shear strength was given instead of an alloy.",
                AC,
            ),
        };
        Self { verdict, says, origin, larger }
    }

    pub fn line(&self, working: &mut Working) {
        let value = working.length(self.larger);
        let numbers = working.len(self.larger);
        let meaning = "new diameter less old, for the substitution rule";
        working
            .line("ΔD", meaning, "D' − D", numbers, value, self.origin.source())
            .against(self.says, self.verdict);
    }
}

/// The rule for a pair of alloys; diameters in inches.
fn rule(old: Alloy, new: Alloy, diameter: f64, larger: f64) -> (Verdict, &'static str, Origin) {
    use Alloy::{A, AD, D, DD};
    let next_size = reaches(larger, 1.0 / 32.0);
    let allowed = |good| if good { Verdict::Within } else { Verdict::Outside };
    match (old, new) {
        (old, new) if old == new => (allowed(reaches(larger, 0.0)), "The same alloy, no smaller.", AC),
        (_, A) => (
            Verdict::TooClose,
            "1100 rivets are for nonstructural parts only: the part's own data must say that this joint is one.",
            SOFT,
        ),
        (D, AD) => (
            allowed(stays(diameter, 3.0 / 16.0) && next_size),
            "2117 may replace 2017 up to 3/16 in if it is 1/32 in larger.",
            AC,
        ),
        (DD, AD) => (
            allowed(stays(diameter, 5.0 / 32.0) && next_size),
            "2117 may replace 2024 up to 5/32 in if it is 1/32 in larger.",
            AC,
        ),
        (DD, D) => (allowed(next_size), "2017 may replace 2024 only with the next larger size.", FAA),
        (old, new) if new.shear_strength(false) < old.shear_strength(false) => (
            Verdict::TooClose,
            "A rivet of lower strength may be used only if size or number makes up the loss.",
            AC,
        ),
        _ => (
            Verdict::TooClose,
            "A stronger alloy may crack the sheet, bear harder on a laminate, or need cold storage: the data decide.",
            Origin::Practice,
        ),
    }
}
