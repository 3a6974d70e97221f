//! The recoat window at today's temperature.

use serde::{Deserialize, Serialize};
use shared_types::quantity::{Duration, Entered, Temperature};
use shared_types::worksheet::{Quantity, Verdict};

use super::air::ROOM;
use crate::input::{Accepted, Check};
use crate::laminates::mechanics::rate::time_at;
use crate::laminates::sheet::{in_unit, plain};
use crate::laminates::sources;
use crate::working::Working;

/// Recoat times: a minute to a year.
const TIME: Accepted<Duration> = Accepted::si(60.0, 366.0 * 86400.0);

/// The maker's recoat window.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Recoat {
    /// Not before this …
    earliest: Entered<Duration>,
    /// … and not after this without sanding.
    #[serde(default)]
    latest: Option<Entered<Duration>>,
    /// The temperature that it is stated for.
    at: Entered<Temperature>,
    /// Temperature of the part today.
    today: Entered<Temperature>,
    /// Time since the last coat.
    #[serde(default)]
    elapsed: Option<Entered<Duration>>,
}

/// The same, in SI.
pub struct TakenRecoat {
    earliest: f64,
    latest: Option<f64>,
    at: f64,
    today: f64,
    elapsed: Option<f64>,
}

/// The window today.
#[derive(Debug, Serialize)]
pub struct RecoatOut {
    earliest: Quantity,
    latest: Option<Quantity>,
    verdict: Option<Verdict>,
}

impl Recoat {
    /// Takes it.
    pub fn take(&self, check: &mut Check) -> TakenRecoat {
        let earliest = check.within("recoat.earliest", &self.earliest, TIME);
        let latest = check.maybe("recoat.latest", self.latest.as_ref(), TIME);
        if latest.is_some_and(|latest| latest <= earliest) {
            check.refuse("recoat.latest", "is not later than the earliest", "a later time");
        }
        let elapsed = self.elapsed.as_ref();
        TakenRecoat {
            earliest,
            latest,
            at: check.within("recoat.at", &self.at, ROOM),
            today: check.within("recoat.today", &self.today, ROOM),
            elapsed: check.maybe("recoat.elapsed", elapsed, Accepted::si(0.0, 366.0 * 86400.0)),
        }
    }
}

fn hours(seconds: f64) -> Quantity {
    in_unit(seconds / 3600.0, "h")
}

impl TakenRecoat {
    /// Works the window out. In the cold the earliest moves out by the rate rule; in the warm
    /// neither end is moved in the painter's favour, and the latest is never moved out.
    pub fn lines(&self, working: &mut Working) -> RecoatOut {
        let earliest = time_at(self.earliest, self.at, self.today).max(self.earliest);
        let latest = self.latest.map(|latest| time_at(latest, self.at, self.today).min(latest));
        let temperatures = format!(
            "2^(({} − {}) / 10 K)",
            working.text::<Temperature>(self.at),
            working.text::<Temperature>(self.today)
        );
        let source = || sources::published(sources::RATE);
        let numbers =
            format!("{} h × {temperatures}, never sooner than the maker's", plain(self.earliest / 3600.0));
        let meaning = "recoat not before";
        working.line("t1", meaning, "t 2^((T0 − T) / 10 K)", numbers, hours(earliest), source());
        if let (Some(stated), Some(latest)) = (self.latest, latest) {
            let numbers =
                format!("{} h × {temperatures}, never later than the maker's", plain(stated / 3600.0));
            let meaning = "recoat not after, without sanding";
            working.line("t2", meaning, "t 2^((T0 − T) / 10 K)", numbers, hours(latest), source());
        }
        let verdict = self.elapsed.map(|elapsed| self.judge(working, elapsed, earliest, latest));
        RecoatOut { earliest: hours(earliest), latest: latest.map(hours), verdict }
    }

    fn judge(&self, working: &mut Working, elapsed: f64, earliest: f64, latest: Option<f64>) -> Verdict {
        let late = latest.is_some_and(|latest| elapsed > latest);
        let verdict = if elapsed < earliest || late { Verdict::Outside } else { Verdict::Within };
        let limit = match latest {
            Some(latest) => format!("{} h to {} h", plain(earliest / 3600.0), plain(latest / 3600.0)),
            None => format!("at least {} h", plain(earliest / 3600.0)),
        };
        let numbers = format!("{} h", plain(elapsed / 3600.0));
        let source = sources::published("the maker's data sheet, as entered");
        working
            .line("te", "time since the last coat", "as entered", numbers, hours(elapsed), source)
            .against(limit, verdict);
        if late {
            working.caution(
                "too-late",
                "The recoat window has passed: sand the coat before the next, or it will not hold.",
            );
        }
        verdict
    }
}
