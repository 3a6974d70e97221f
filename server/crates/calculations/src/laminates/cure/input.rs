//! What a cure is asked about.

use serde::{Deserialize, Serialize};
use shared_types::quantity::{Duration, Entered, HeatingRate, System, Temperature};

use super::{Asked, AskedGoal, PostCure};
use crate::input::{Accepted, Check, List};
use crate::laminates::mechanics::history::{Law, Span};
use crate::laminates::sheet;

/// Temperatures of laminates while they cure: -20 °C to 250 °C.
const CURE: Accepted<Temperature> = Accepted::si(253.15, 523.15);
/// Times: a minute to a year.
const TIME: Accepted<Duration> = Accepted::si(60.0, 366.0 * 86400.0);
/// Readings of a log, from its beginning.
const AFTER: Accepted<Duration> = Accepted::si(0.0, 366.0 * 86400.0);
/// Heating rates: up to 10 K a minute.
const RAMP: Accepted<HeatingRate> = Accepted::si(1e-4, 10.0 / 60.0);

/// The input of `cure`. The history is given as `stages` or as a `log`; with neither, the goals
/// are worked out for the temperature of now.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct CureInput {
    /// What is waited for, each with the maker's time.
    goals: List<GoalInput, 1, 12>,
    /// Stages one after the other.
    #[serde(default)]
    stages: List<Stage, 0, 100>,
    /// Logged temperatures, from the time of mixing.
    #[serde(default)]
    log: List<Reading, 0, 5000>,
    /// Temperature from now on; the last of the history when left out.
    #[serde(default)]
    temperature_now: Option<Entered<Temperature>>,
    /// The maker's lowest temperature: time below it does not count.
    #[serde(default)]
    minimum_temperature: Option<Entered<Temperature>>,
    /// A post-cure.
    #[serde(default)]
    post_cure: Option<PostCureInput>,
    /// Units of the result.
    #[serde(default = "sheet::metric")]
    pub(super) units: System,
}

/// A thing that is waited for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Goal {
    /// It has gelled: no more working, no more running.
    Gel,
    /// It may be unbagged and handled.
    Handle,
    /// It may be sanded.
    Sand,
    /// It may be drilled.
    Drill,
    /// It may be painted.
    Paint,
    /// It may carry load.
    Load,
}

impl Goal {
    /// In a sentence.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Gel => "gelled",
            Self::Handle => "may be handled",
            Self::Sand => "may be sanded",
            Self::Drill => "may be drilled",
            Self::Paint => "may be painted",
            Self::Load => "may carry load",
        }
    }
}

/// A goal: one time at one temperature, for the rate rule, or the maker's table.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct GoalInput {
    /// What is waited for.
    goal: Goal,
    /// The maker's time, for the rate rule.
    #[serde(default)]
    time: Option<Entered<Duration>>,
    /// The temperature that it is stated for.
    #[serde(default)]
    at: Option<Entered<Temperature>>,
    /// The maker's table instead.
    #[serde(default)]
    table: List<Row, 0, 40>,
}

/// A row of the maker's table.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct Row {
    /// At this temperature …
    at: Entered<Temperature>,
    /// … it takes this long.
    time: Entered<Duration>,
}

/// A stage: a time at a temperature, or from one to another.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct Stage {
    /// How long.
    time: Entered<Duration>,
    /// Temperature, at its beginning when `to` is given.
    at: Entered<Temperature>,
    /// Temperature at its end.
    #[serde(default)]
    to: Option<Entered<Temperature>>,
}

/// A logged temperature.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct Reading {
    /// Time since mixing.
    after: Entered<Duration>,
    /// Temperature of the part.
    temperature: Entered<Temperature>,
}

/// A post-cure.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct PostCureInput {
    /// How long, once it is hot.
    time: Entered<Duration>,
    /// How hot.
    at: Entered<Temperature>,
    /// The hottest that the part, its core and its paint may get.
    #[serde(default)]
    most: Option<Entered<Temperature>>,
    /// How fast it is heated.
    #[serde(default)]
    ramp: Option<Entered<HeatingRate>>,
}

impl CureInput {
    pub(super) fn take(&self, check: &mut Check) -> Asked {
        let goals = self.goals.iter().enumerate().map(|(place, goal)| AskedGoal {
            name: goal.goal,
            law: goal.law(check, &format!("goals[{place}]")),
        });
        let goals = goals.collect();
        let history = self.history(check);
        let now = check.maybe("temperature_now", self.temperature_now.as_ref(), CURE);
        let minimum = check.maybe("minimum_temperature", self.minimum_temperature.as_ref(), CURE);
        let last = history.last().map(|span| span.to);
        if now.is_none() && last.is_none() {
            let reason = "is missing, and there is no history to take it from";
            check.refuse("temperature_now", reason, CURE.to_string());
        }
        let post_cure = self.post_cure.as_ref().map(|post| PostCure {
            time: check.within("post_cure.time", &post.time, TIME),
            at: check.within("post_cure.at", &post.at, CURE),
            most: check.maybe("post_cure.most", post.most.as_ref(), CURE),
            ramp: check.maybe("post_cure.ramp", post.ramp.as_ref(), RAMP),
        });
        Asked { goals, now: now.or(last).unwrap_or(293.15), history, minimum, post_cure }
    }

    fn history(&self, check: &mut Check) -> Vec<Span> {
        if !self.stages.is_empty() && !self.log.is_empty() {
            check.refuse("log", "is given beside stages", "one or the other");
        }
        if !self.stages.is_empty() {
            let stages = self.stages.iter().enumerate().map(|(place, stage)| {
                let at = format!("stages[{place}]");
                let from = check.within(format!("{at}.at"), &stage.at, CURE);
                Span {
                    time: check.within(format!("{at}.time"), &stage.time, TIME),
                    from,
                    to: check.maybe(format!("{at}.to"), stage.to.as_ref(), CURE).unwrap_or(from),
                }
            });
            return stages.collect();
        }
        self.logged(check)
    }

    fn logged(&self, check: &mut Check) -> Vec<Span> {
        if self.log.len() == 1 {
            check.refuse("log", "has one reading, and cure is worked out between two", "2 to 5000 readings");
        }
        let readings: Vec<(f64, f64)> = self
            .log
            .iter()
            .enumerate()
            .map(|(place, reading)| {
                let at = format!("log[{place}]");
                (
                    check.within(format!("{at}.after"), &reading.after, AFTER),
                    check.within(format!("{at}.temperature"), &reading.temperature, CURE),
                )
            })
            .collect();
        for (place, pair) in readings.windows(2).enumerate() {
            if pair[1].0 <= pair[0].0 {
                let field = format!("log[{}].after", place + 1);
                check.refuse(field, "is not later than the reading before", "rising times");
            }
        }
        let spans = readings.windows(2).map(|pair| Span {
            time: (pair[1].0 - pair[0].0).max(0.0),
            from: pair[0].1,
            to: pair[1].1,
        });
        spans.collect()
    }
}

impl GoalInput {
    fn law(&self, check: &mut Check, at: &str) -> Law {
        if !self.table.is_empty() {
            for (name, given) in [("time", self.time.is_some()), ("at", self.at.is_some())] {
                if given {
                    check.refuse(format!("{at}.{name}"), "is given beside a table", "one or the other");
                }
            }
            return self.table_law(check, at);
        }
        let (Some(time), Some(temperature)) = (&self.time, &self.at) else {
            let missing = if self.time.is_none() { "time" } else { "at" };
            let accepted = "the maker's time and its temperature, or the maker's table";
            check.refuse(format!("{at}.{missing}"), "is missing", accepted);
            return Law::Rule { time: 1.0, at: 293.15 };
        };
        Law::Rule {
            time: check.within(format!("{at}.time"), time, TIME),
            at: check.within(format!("{at}.at"), temperature, CURE),
        }
    }

    fn table_law(&self, check: &mut Check, at: &str) -> Law {
        let mut rows: Vec<(f64, f64)> = Vec::new();
        for (place, row) in self.table.iter().enumerate() {
            let field = format!("{at}.table[{place}]");
            let temperature = check.within(format!("{field}.at"), &row.at, CURE);
            let time = check.within(format!("{field}.time"), &row.time, TIME);
            if let Some((before, longer)) = rows.last() {
                if temperature <= *before {
                    let reason = "is not hotter than the row before";
                    check.refuse(format!("{field}.at"), reason, "rising temperatures");
                }
                if time > *longer {
                    let reason = "is longer than in the colder row before";
                    check.refuse(format!("{field}.time"), reason, "falling times");
                }
            }
            rows.push((temperature, time));
        }
        Law::Table(rows)
    }
}
