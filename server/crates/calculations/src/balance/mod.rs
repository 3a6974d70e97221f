//! Weight and balance: `weight-balance`, what taking items out and putting items in does to an empty aircraft.

mod limits;
mod sums;

use serde::{Deserialize, Serialize};
use shared_types::quantity::{Entered, Length, System, Weight, WeightMoment};
use shared_types::worksheet::{Quantity, Verdict};

use crate::Calculation;
use crate::Kind;
use crate::catalogue::{INCH, Origin};
use crate::input::{Accepted, Check, List, Refused};
use crate::working::Working;
use limits::Limits;
use sums::{Load, Sums};

/// The balance third of the table of kinds.
pub const KINDS: &[Kind] = &[Kind::of::<WeightBalance>()];

const METHOD: Origin =
    Origin::Read("AC 43.13-1B chapter 10: moment = weight times arm; fig 10-10, by its sums");
/// Kilograms in a pound (NIST SP 811).
const POUND: f64 = 0.453_592_37;
/// An aircraft's empty weight.
const AIRCRAFT: Accepted<Weight> = Accepted::si(20.0, 60_000.0);
/// An item's weight.
const ITEM: Accepted<Weight> = Accepted::si(0.001, 10_000.0);
/// How far from the datum anything is.
const ARM: Accepted<Length> = Accepted::si(-60.0, 60.0);
const MOMENT: Accepted<WeightMoment> = Accepted::si(-3.6e6, 3.6e6);
/// Further from the centre of gravity than this, an arm is asked about.
const FAR: f64 = 400.0 * INCH;
/// An arm that a report prints is rounded by no more than this.
const ROUNDED: f64 = 0.1 * INCH;
/// As many letters as a name may have.
const NAME_LENGTH: usize = 120;

/// The input of `weight-balance`.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct WeightBalance {
    /// Empty weight before the change.
    weight: Entered<Weight>,
    /// Its centre of gravity, from the datum; behind it is plus.
    arm: Entered<Length>,
    /// What is taken out and put in.
    items: List<Item, 1, 200>,
    /// Its moment, where the weighing report has it: more exact than weight times arm.
    #[serde(default)]
    moment: Option<Entered<WeightMoment>>,
    /// What arms are measured from, in words.
    #[serde(default)]
    datum: Option<String>,
    /// Most empty weight, from the type's data.
    #[serde(default)]
    maximum_weight: Option<Entered<Weight>>,
    /// Foremost centre of gravity of the empty aircraft, from the type's data.
    #[serde(default)]
    forward_limit: Option<Entered<Length>>,
    /// Aftmost centre of gravity of the empty aircraft, from the type's data.
    #[serde(default)]
    aft_limit: Option<Entered<Length>>,
    /// Units of the result.
    #[serde(default)]
    units: System,
}

/// What happens to an item.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
enum Change {
    /// It is taken out.
    Removed,
    /// It is put in.
    Installed,
}

impl Change {
    /// What its weight counts.
    const fn sign(self) -> f64 {
        match self {
            Self::Removed => -1.0,
            Self::Installed => 1.0,
        }
    }
}

/// Something with a weight at an arm.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct Item {
    /// Taken out or put in?
    change: Change,
    /// What it is.
    name: String,
    /// What it weighs.
    weight: Entered<Weight>,
    /// How far from the datum it is; behind it is plus.
    arm: Entered<Length>,
}

/// The result of `weight-balance`.
#[derive(Debug, Serialize)]
pub struct WeightBalanceResult {
    /// New empty weight.
    weight: Quantity,
    /// New centre of gravity.
    arm: Quantity,
    /// New moment.
    moment: Quantity,
    weight_change: Quantity,
    arm_change: Quantity,
    moment_change: Quantity,
    /// Is the weight change negligible by AC 43.13-1B par 10-2c?
    negligible_weight: bool,
    /// Against the limits that were given; absent without any.
    verdict: Option<Verdict>,
}

impl Calculation for WeightBalance {
    const KIND: &'static str = "weight-balance";
    const ABOUT: &'static str =
        "New empty weight, centre of gravity and moment after taking items out and putting items in.";
    const EXAMPLE: &'static str = r#"{
        "weight": "1169 lb", "arm": "10.6 in", "datum": "leading edge of the wing",
        "items": [
            { "change": "removed", "name": "flange, torn plies and paint", "weight": "0.4 lb", "arm": "-20 in" },
            { "change": "installed", "name": "flange, repair plies and paint", "weight": "2.9 lb", "arm": "-20 in" }
        ],
        "forward_limit": "8.5 in", "aft_limit": "21.5 in"
    }"#;
    type Output = WeightBalanceResult;

    fn work(&self, working: &mut Working) -> Result<WeightBalanceResult, Refused> {
        working.show_in(self.units);
        let (before, loads, limits) = self.check()?;
        let sums = Sums::of(working, &before, &loads)?;
        let verdict = limits.hold(working, &sums);
        let negligible = limits::is_negligible(sums.change_of_weight(), before.weight);
        self.cautions(working, negligible, &limits);
        if loads.iter().any(|load| (load.arm - before.arm).abs() > FAR) {
            working.caution(
                "far",
                "An item lies more than 400 in from the centre of gravity: is its arm from the same datum?",
            );
        }
        working.draw(limits.picture(&sums));
        Ok(WeightBalanceResult {
            weight: working.value::<Weight>(sums.after.weight),
            arm: working.length(sums.after.arm),
            moment: working.value::<WeightMoment>(sums.after.moment()),
            weight_change: working.value::<Weight>(sums.change_of_weight()),
            arm_change: working.length(sums.after.arm - sums.before.arm),
            moment_change: working.value::<WeightMoment>(sums.after.moment() - sums.before.moment()),
            negligible_weight: negligible,
            verdict,
        })
    }
}

impl WeightBalance {
    fn check(&self) -> Result<(Load, Vec<Load>, Limits), Refused> {
        let mut check = Check::default();
        let weight = check.within("weight", &self.weight, AIRCRAFT);
        let arm = self.arm(&mut check, weight);
        if self.datum.as_ref().is_some_and(|datum| datum.chars().count() > NAME_LENGTH) {
            check.refuse("datum", "is too long", format!("at most {NAME_LENGTH} characters"));
        }
        let loads = self.loads(&mut check);
        let limits = Limits {
            weight: check.maybe("maximum_weight", self.maximum_weight.as_ref(), AIRCRAFT),
            forward: check.maybe("forward_limit", self.forward_limit.as_ref(), ARM),
            aft: check.maybe("aft_limit", self.aft_limit.as_ref(), ARM),
        };
        if limits.forward.zip(limits.aft).is_some_and(|(forward, aft)| forward >= aft) {
            check.refuse(
                "aft_limit",
                "is not behind the foremost limit",
                "an arm greater than `forward_limit`",
            );
        }
        check.done()?;
        let before = Load { name: "empty aircraft before".to_owned(), weight, arm };
        Ok((before, loads, limits))
    }

    /// The arm before; from the moment where it is given, which must agree.
    fn arm(&self, check: &mut Check, weight: f64) -> f64 {
        let arm = check.within("arm", &self.arm, ARM);
        let Some(moment) = check.maybe("moment", self.moment.as_ref(), MOMENT) else { return arm };
        let exact = moment / AIRCRAFT.nearest(weight);
        if (exact - arm).abs() > ROUNDED {
            check.refuse("moment", "is not weight times arm", "what agrees with the arm to 0.1 in (2.5 mm)");
        }
        exact
    }

    /// The items as loads: what is taken out weighs less than nothing.
    fn loads(&self, check: &mut Check) -> Vec<Load> {
        let items = self.items.iter().enumerate().map(|(at, item)| {
            let length = item.name.chars().count();
            if item.name.trim().is_empty() || length > NAME_LENGTH {
                let accepted = format!("1 to {NAME_LENGTH} characters");
                check.refuse(format!("items[{at}].name"), format!("has {length} characters"), accepted);
            }
            let weight = check.within(format!("items[{at}].weight"), &item.weight, ITEM);
            let arm = check.within(format!("items[{at}].arm"), &item.arm, ARM);
            Load { name: item.name.trim().to_owned(), weight: item.change.sign() * weight, arm }
        });
        items.collect()
    }

    fn cautions(&self, working: &mut Working, negligible: bool, limits: &Limits) {
        let datum = self.datum.as_deref().filter(|datum| !datum.trim().is_empty());
        let datum = datum.map_or_else(|| "the datum of the type's data".to_owned(), str::to_owned);
        working
            .caution("datum", format!("All arms are measured from one datum: {datum}. Behind it is plus."));
        working.caution(
            "loading",
            "This is the empty aircraft. Whether every way of loading it stays within limits is worked out by the type's own data.",
        );
        if limits.is_empty() {
            working.caution("no-limits", "No limits were entered: nothing was held against the type's data.");
        }
        if negligible {
            working.caution(
                "negligible",
                "AC 43.13-1B par 10-2c calls so small a weight change negligible. The centre of gravity is judged by itself.",
            );
        }
    }
}
