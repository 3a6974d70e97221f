//! `cure`: how far it has cured, when it may be sanded, drilled and loaded, and post-cure.

mod input;
mod lines;

use serde::Serialize;
use shared_types::worksheet::Quantity;

use super::hazards;
use super::mechanics::history::{self, Law, Span};
use super::sheet::in_unit;
use crate::Calculation;
use crate::input::{Check, Refused};
use crate::working::Working;

pub use input::CureInput;

/// What was asked, made out: seconds and kelvins.
pub struct Asked {
    goals: Vec<AskedGoal>,
    history: Vec<Span>,
    /// What the temperature is taken to be from now on.
    now: f64,
    minimum: Option<f64>,
    post_cure: Option<PostCure>,
}

/// One goal.
pub struct AskedGoal {
    name: input::Goal,
    law: Law,
}

/// A post-cure.
#[derive(Clone, Copy)]
pub struct PostCure {
    time: f64,
    at: f64,
    most: Option<f64>,
    ramp: Option<f64>,
}

/// The result of `cure`.
#[derive(Debug, Serialize)]
pub struct CureResult {
    elapsed: Quantity,
    coldest: Option<Quantity>,
    hottest: Option<Quantity>,
    goals: Vec<GoalOut>,
    /// Time below the maker's minimum, which is not counted.
    too_cold: Quantity,
    post_cure: Option<PostCureOut>,
}

/// One goal: how far, and when.
#[derive(Debug, Serialize)]
struct GoalOut {
    goal: input::Goal,
    /// By `rule` or by the maker's `table`.
    by: &'static str,
    /// The time it would take at its reference temperature, for the share that is done.
    equivalent_time: Option<Quantity>,
    /// Share done; 1 and more is reached.
    share: Quantity,
    reached: bool,
    /// When it was reached, from the beginning.
    reached_after: Option<Quantity>,
    /// What is left at the temperature of now; none below the maker's minimum.
    remaining: Option<Quantity>,
    /// When it will be reached, from the beginning.
    ready_after: Option<Quantity>,
}

/// The post-cure.
#[derive(Debug, Serialize)]
struct PostCureOut {
    time: Quantity,
    at: Quantity,
    /// How long the heating up takes at the ramp that was given.
    ramp_time: Option<Quantity>,
}

/// Hours, whatever the reader's units.
fn hours(seconds: f64) -> Quantity {
    in_unit(seconds / 3600.0, "h")
}

impl Calculation for CureInput {
    const KIND: &'static str = "cure";
    const ABOUT: &'static str = "Cure over stages or logged temperatures: when it may be sanded, \
        drilled and loaded.";
    const EXAMPLE: &'static str = r#"{
        "goals": [
            { "goal": "sand", "time": "12 h", "at": "22 degC" },
            { "goal": "drill", "time": "24 h", "at": "22 degC" },
            { "goal": "load", "table": [
                { "at": "18 degC", "time": "10 d" }, { "at": "25 degC", "time": "6 d" }
            ] }
        ],
        "log": [
            { "after": "0 h", "temperature": "21 degC" },
            { "after": "8 h", "temperature": "17 degC" },
            { "after": "20 h", "temperature": "20 degC" }
        ],
        "temperature_now": "20 degC", "minimum_temperature": "15 degC"
    }"#;
    type Output = CureResult;

    fn work(&self, working: &mut Working) -> Result<CureResult, Refused> {
        working.show_in(self.units);
        let mut check = Check::default();
        let asked = self.take(&mut check);
        check.done()?;

        let elapsed: f64 = asked.history.iter().map(|span| span.time).sum();
        lines::history(working, &asked, elapsed);
        let goals = asked.goals.iter().map(|goal| goal.out(working, &asked, elapsed)).collect();
        let post_cure = asked.post_cure.map(|post| lines::post_cure(working, post, asked.now));
        self.cautions(working, &asked);
        let ends = || asked.history.iter().flat_map(|span| [span.from, span.to]);
        Ok(CureResult {
            elapsed: hours(elapsed),
            coldest: ends().reduce(f64::min).map(|it| lines::temperature(working, it)),
            hottest: ends().reduce(f64::max).map(|it| lines::temperature(working, it)),
            goals,
            too_cold: hours(asked.too_cold()),
            post_cure,
        })
    }
}

impl Asked {
    /// Time below the maker's minimum: a law of one second counts seconds.
    fn too_cold(&self) -> f64 {
        let seconds = Law::Table(vec![(0.0, 1.0)]);
        let all = history::share(&seconds, &self.history, None);
        (all - history::share(&seconds, &self.history, self.minimum)).max(0.0)
    }
}

impl AskedGoal {
    fn out(&self, working: &mut Working, asked: &Asked, elapsed: f64) -> GoalOut {
        let share = history::share(&self.law, &asked.history, asked.minimum);
        let reached_after = history::reached_after(&self.law, &asked.history, asked.minimum);
        let reached = reached_after.is_some();
        let warm = asked.minimum.is_none_or(|minimum| asked.now >= minimum);
        let remaining = (!reached && warm).then(|| (1.0 - share).max(0.0) * self.law.time(asked.now));
        lines::goal(working, self, asked, share, remaining);
        let (by, equivalent) = match &self.law {
            Law::Rule { time, .. } => ("rule", Some(share * time)),
            Law::Table(_) => ("table", None),
        };
        GoalOut {
            goal: self.name,
            by,
            equivalent_time: equivalent.map(hours),
            share: working.ratio(share),
            reached,
            reached_after: reached_after.map(hours),
            remaining: remaining.map(hours),
            ready_after: reached_after.or(remaining.map(|left| elapsed + left)).map(hours),
        }
    }
}

impl CureInput {
    fn cautions(&self, working: &mut Working, asked: &Asked) {
        hazards::dust(working);
        working.caution(
            "cure-rule",
            "The rate rule (twice as fast for each 10 K) holds near the maker's temperature, not \
             below the maker's minimum and not in a hot cup. The maker's table comes first; a \
             witness cup of the same batch, kept beside the part, is the proof.",
        );
        if asked.minimum.is_none() {
            working.caution(
                "minimum-unknown",
                "The maker's lowest temperature is not entered, so cold time counts as slow cure. \
                 Below it many resins stop for good: look it up.",
            );
        }
        if asked.too_cold() > 0.0 {
            working.caution(
                "too-cold",
                "Part of the time was below the maker's minimum. It is not counted; whether the \
                 cure recovers is for the maker to say.",
            );
        }
        for goal in &asked.goals {
            if let Law::Table(rows) = &goal.law {
                let (low, high) = (rows[0].0, rows[rows.len() - 1].0);
                let mut ends = asked.history.iter().flat_map(|span| [span.from, span.to]);
                if ends.any(|it| it < low || it > high) {
                    working.caution(
                        "outside-table",
                        "Some temperatures lie outside the maker's table. Its end rows are used \
                         there: hotter is taken no faster; colder is really slower than shown.",
                    );
                }
            }
        }
    }
}
