//! What the recorded facts mean: where a step and a job stand, what a reading
//! says, when a pot or a cure ends. Derived, never stored in the log.

use serde::{Deserialize, Serialize};

use crate::closing::when;
use crate::coverage::{Coverage, Difference, on};
use crate::entity::Entity;
use crate::ids::{AircraftId, DecisionId, FindingId, OfferId, PromiseId, StepId, StockId};
use crate::job::{
    AnswerOutcome, Decision, Finding, JobState, MaterialLine, Offer, Outcome, Reading, Step, Worksheet,
};
use crate::sorted;
use crate::time::{Day, UtcMillis};
use crate::worksheet::Verdict;

/// Where a step stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum StepStatus {
    /// Not begun.
    Planned,
    /// Left out, with a reason.
    Skipped,
    /// Begun.
    InWork,
    /// Finished by the mechanic, not offered.
    Finished,
    /// Waits for an inspector.
    Offered {
        /// The offer that waits.
        offer: OfferId,
        /// What changed since it was made.
        since: Vec<Difference>,
    },
    /// Accepted by an inspector.
    Accepted {
        /// The acceptance.
        decision: DecisionId,
        /// What changed since: not empty means that the acceptance is overtaken.
        since: Vec<Difference>,
    },
    /// Sent back with findings.
    Returned {
        /// The return.
        decision: DecisionId,
    },
}

impl StepStatus {
    /// The status as a word on screens.
    #[must_use]
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Planned => "planned",
            Self::Skipped => "skipped",
            Self::InWork => "in work",
            Self::Finished => "finished",
            Self::Offered { .. } => "offered",
            Self::Accepted { since, .. } if since.is_empty() => "accepted",
            Self::Accepted { .. } => "acceptance overtaken",
            Self::Returned { .. } => "returned",
        }
    }

    /// Nothing is left to do on it.
    #[must_use]
    pub const fn is_settled(&self) -> bool {
        match self {
            Self::Accepted { since, .. } => since.is_empty(),
            Self::Skipped | Self::Finished => true,
            _ => false,
        }
    }
}

/// Where a job stands; the groups of the job list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum JobStatus {
    /// A step was sent back.
    Returned,
    /// A step waits for an inspector.
    Waiting,
    /// Work goes on.
    Open,
    /// Closed.
    Done,
}

impl JobState {
    /// Steps in use, in their order.
    #[must_use]
    pub fn steps_in_order(&self) -> Vec<(StepId, &Step)> {
        let in_use = self.steps.iter().filter(|(_, step)| !step.is_retired());
        let mut steps: Vec<_> = in_use.map(|(id, step)| (*id, step)).collect();
        sorted::by(&mut steps, |(one, a), (two, b)| a.order.get().cmp(&b.order.get()).then(one.cmp(two)));
        steps
    }

    /// The latest offer of a step that was not withdrawn.
    #[must_use]
    pub fn latest_offer(&self, step: StepId) -> Option<(OfferId, &Offer)> {
        on(&self.offers, Some(step))
            .max_by_key(|(_, offer)| offer.created().copied())
            .map(|(id, offer)| (*id, offer))
    }

    /// The latest decision on an offer. Nobody decides on an own offer: such decisions don't count.
    #[must_use]
    pub fn decision_on(&self, offer: OfferId) -> Option<(DecisionId, &Decision)> {
        let offered_by = self.offers.get(&offer).and_then(|offer| offer.it.created()).map(|mark| mark.author);
        self.decisions
            .iter()
            .map(|(id, it)| (*id, &it.it))
            .filter(|(_, decision)| decision.offer.get() == Some(&offer) && !decision.is_retired())
            .filter(|(_, decision)| decision.created().map(|mark| mark.author) != offered_by)
            .max_by_key(|(_, decision)| decision.created().copied())
    }

    /// Where a step stands, with what changed since it was offered or accepted. That takes a digest of all that
    /// was recorded on it; where nobody asks, [`JobState::step_outline`] tells the rest.
    #[must_use]
    pub fn step_status(&self, step: StepId) -> StepStatus {
        let mut status = self.step_outline(step);
        match &mut status {
            StepStatus::Offered { offer, since } => {
                *since = self.since(step, self.offers.get(offer).and_then(|it| it.it.coverage.get()));
            }
            StepStatus::Accepted { decision, since } => {
                *since = self.since(step, self.decisions.get(decision).and_then(|it| it.it.coverage.get()));
            }
            _ => {}
        }
        status
    }

    fn since(&self, step: StepId, covered: Option<&Coverage>) -> Vec<Difference> {
        covered.map(|covered| covered.differences(&self.step_coverage(step))).unwrap_or_default()
    }

    /// Where a step stands, as if nothing had changed since.
    #[must_use]
    pub fn step_outline(&self, step: StepId) -> StepStatus {
        let Some(state) = self.steps.get(&step) else {
            return StepStatus::Planned;
        };
        if !state.skipped.or_empty().is_empty() && !self.skip_was_offered(step, state) {
            return StepStatus::Skipped;
        }
        if let Some((offer, _)) = self.latest_offer(step) {
            return match self.decision_on(offer) {
                None => StepStatus::Offered { offer, since: Vec::new() },
                Some((decision, decided)) if decided.outcome.or_empty() == Outcome::Accept => {
                    StepStatus::Accepted { decision, since: Vec::new() }
                }
                Some((decision, _)) => StepStatus::Returned { decision },
            };
        }
        if state.finished_at.or_empty().is_some() {
            StepStatus::Finished
        } else if state.started_at.or_empty().is_some() || self.has_records(step) {
            StepStatus::InWork
        } else {
            StepStatus::Planned
        }
    }

    /// Is it before the inspector that a hold point is skipped? No other step needs that: it holds nothing.
    fn skip_was_offered(&self, id: StepId, step: &Step) -> bool {
        let offered = self.latest_offer(id).and_then(|(_, offer)| offer.created());
        step.hold_point.or_empty()
            && offered.zip(step.skipped.entered()).is_some_and(|(offered, skipped)| *offered > skipped.mark)
    }

    fn has_records(&self, step: StepId) -> bool {
        let step = Some(step);
        on(&self.photos, step).next().is_some()
            || on(&self.notes, step).next().is_some()
            || on(&self.readings, step).next().is_some()
            || on(&self.hardware, step).next().is_some()
            || on(&self.materials, step).next().is_some()
            || on(&self.times, step).next().is_some()
    }

    /// Findings of one return, oldest first.
    pub fn findings_of(&self, decision: DecisionId) -> impl Iterator<Item = (FindingId, &Finding)> {
        self.findings
            .iter()
            .filter(move |(_, it)| it.it.decision.get() == Some(&decision) && !it.it.is_retired())
            .map(|(id, it)| (*id, &it.it))
    }

    /// The server's answer to a worksheet's present input, the latest when it answered twice.
    #[must_use]
    pub fn answer_to(&self, id: crate::ids::WorksheetId) -> Option<&AnswerOutcome> {
        let input = self.worksheets.get(&id)?.it.input_digest();
        let answers = self.answers.get(&id)?.values();
        answers
            .filter(|(_, answer)| answer.input == input)
            .max_by_key(|(mark, _)| *mark)
            .map(|(_, answer)| &answer.outcome)
    }

    /// Where the job stands.
    #[must_use]
    pub fn status(&self) -> JobStatus {
        self.summary().status
    }

    fn due(&self) -> Vec<Due> {
        let open = self.promises_open().map(|(promise, it)| Due {
            promise,
            what: it.what.or_empty().0,
            day: it.due.or_empty(),
            tenths: it.due_hours.or_empty().map(tenths),
        });
        open.collect()
    }

    /// What a row counts: only an accepted step is settled or not by what changed since.
    pub(crate) fn row_status(&self, step: StepId) -> StepStatus {
        let outline = self.step_outline(step);
        if matches!(outline, StepStatus::Accepted { .. }) { self.step_status(step) } else { outline }
    }

    /// The job in one row of a list.
    #[must_use]
    pub fn summary(&self) -> JobSummary {
        let statuses: Vec<_> = self.steps_in_order().iter().map(|(id, _)| self.row_status(*id)).collect();
        let returned = statuses.iter().filter(|status| matches!(status, StepStatus::Returned { .. })).count();
        let waiting = statuses.iter().filter(|status| matches!(status, StepStatus::Offered { .. })).count();
        let status = if self.job.closed_at.or_empty().is_some() {
            JobStatus::Done
        } else if returned > 0 {
            JobStatus::Returned
        } else if waiting > 0 {
            JobStatus::Waiting
        } else {
            JobStatus::Open
        };
        JobSummary {
            title: self.job.title.or_empty().0,
            registration: self.job.registration.or_empty().0,
            aircraft_type: self.job.aircraft_type.or_empty().0,
            part: self.job.part.or_empty().0,
            discrepancy: self.job.discrepancy.or_empty().0,
            status,
            steps: statuses.len(),
            settled: statuses.iter().filter(|status| status.is_settled()).count(),
            waiting,
            returned,
            opened: self.job.created().map(|mark| mark.stamp.0),
            retired: self.job.is_retired(),
            taken: self.taken(),
            aircraft: self.job.aircraft.or_empty(),
            due: self.due(),
        }
    }
}

/// A job in one row of a list: all that the list, its search and its groups need.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct JobSummary {
    /// The job in one line.
    pub title: String,
    /// Registration marks.
    pub registration: String,
    /// Aircraft type.
    pub aircraft_type: String,
    /// The part.
    pub part: String,
    /// What is wrong.
    pub discrepancy: String,
    /// Where it stands.
    pub status: JobStatus,
    /// How many steps.
    pub steps: usize,
    /// How many of them are settled.
    pub settled: usize,
    /// How many wait for inspection.
    pub waiting: usize,
    /// How many were returned.
    pub returned: usize,
    /// When it was opened.
    pub opened: Option<UtcMillis>,
    /// Was it taken out of use?
    pub retired: bool,
    /// What its lines took off the shelf, as written on them: `12`, `120 g`. Not optional: a row
    /// that an older version stored can't say it, and is made anew.
    pub taken: Vec<(StockId, String)>,
    /// Which aircraft of the shop, if it is one.
    pub aircraft: Option<AircraftId>,
    /// What must still be looked at again.
    pub due: Vec<Due>,
}

/// A promise in a row of a list: something to be looked at again.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Due {
    /// Which promise.
    pub promise: PromiseId,
    /// What to look at.
    pub what: String,
    /// Until which day.
    pub day: Option<Day>,
    /// At how many airframe hours, in tenths: whole, so that rows can be compared.
    pub tenths: Option<u32>,
}

impl Due {
    /// Is it due: its day has come, or the aircraft has the hours?
    #[must_use]
    pub fn is_due(&self, today: Day, hours: Option<f64>) -> bool {
        self.day.is_some_and(|day| day <= today)
            || self.tenths.zip(hours).is_some_and(|(due, now)| due <= tenths(now))
    }

    /// When it is due: `by 2027-06-30, or at 850 airframe hours`.
    #[must_use]
    pub fn when(&self) -> String {
        when(self.day, self.tenths.map(|tenths| f64::from(tenths) / 10.0))
    }
}

impl Worksheet {
    /// The digest that an answer must name.
    #[must_use]
    pub fn input_digest(&self) -> crate::digest::Digest {
        crate::digest::Digest::of_json(&self.input.or_empty())
    }
}

/// What a reading says.
#[derive(Clone, Debug, PartialEq)]
pub enum ReadingVerdict {
    /// No value yet.
    Empty,
    /// A word rather than a number, or no limits: a person judges.
    NoLimits,
    /// Held against its limits.
    Judged {
        /// Within or outside.
        verdict: Verdict,
        /// In words: "within limits", "0.002 in above the most accepted".
        words: String,
    },
    /// A value or a limit can't be read as a number.
    Unreadable(String),
}

impl Reading {
    /// Holds the value against the limits. Value and limits are in the reading's one unit.
    #[must_use]
    pub fn verdict(&self) -> ReadingVerdict {
        let value = self.value.or_empty();
        let (minimum, maximum) = (self.minimum.or_empty(), self.maximum.or_empty());
        if value.is_empty() {
            return ReadingVerdict::Empty;
        }
        if minimum.is_empty() && maximum.is_empty() {
            return ReadingVerdict::NoLimits;
        }
        let Some(number) = read_number(&value.0) else {
            return ReadingVerdict::Unreadable(format!("{value} is not a number"));
        };
        let unit = self.unit.or_empty();
        for (limit, is_minimum) in [(&minimum, true), (&maximum, false)] {
            if limit.is_empty() {
                continue;
            }
            let Some(bound) = read_number(&limit.0) else {
                return ReadingVerdict::Unreadable(format!("the limit {limit} is not a number"));
            };
            let excess = if is_minimum { bound - number } else { number - bound };
            // Decimal inputs differ in the last bit; a limit met exactly is met.
            if excess > 1e-9 * bound.abs().max(1e-3) {
                let side = if is_minimum { "below the least accepted" } else { "above the most accepted" };
                let words = format!("{} {unit} {side}", tidy(excess)).replace("  ", " ");
                return ReadingVerdict::Judged { verdict: Verdict::Outside, words };
            }
        }
        ReadingVerdict::Judged { verdict: Verdict::Within, words: "within limits".to_owned() }
    }
}

/// A number as a person writes it: `0.129`, `0,129`, `5/32`, `1 1/2`.
#[must_use]
pub fn read_number(text: &str) -> Option<f64> {
    let text = text.trim().replace(',', ".");
    let plain = |text: &str| text.trim().parse::<f64>().ok().filter(|number| number.is_finite());
    if let Some((numerator, denominator)) = text.split_once('/') {
        let (whole, numerator) = numerator.trim().rsplit_once(' ').unwrap_or(("0", numerator));
        let denominator = plain(denominator).filter(|denominator| *denominator > 0.0)?;
        return Some(plain(whole)? + plain(numerator)? / denominator);
    }
    plain(&text)
}

fn tidy(number: f64) -> String {
    let text = format!("{number:.4}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Is something with this last day of use expired on a day? It may still be used on the day itself.
#[must_use]
pub fn is_expired(expiry: Option<Day>, on: Day) -> bool {
    expiry.is_some_and(|expiry| on > expiry)
}

impl MaterialLine {
    /// When the pot is no longer usable.
    #[must_use]
    pub fn pot_ends(&self) -> Option<UtcMillis> {
        after(self.mixed_at.or_empty()?, self.pot_life_minutes.or_empty()?)
    }

    /// When the cure is complete.
    #[must_use]
    pub fn cure_ends(&self) -> Option<UtcMillis> {
        after(self.cure_started_at.or_empty()?, self.cure_hours.or_empty()? * 60.0)
    }
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped")]
fn tenths(hours: f64) -> u32 {
    (hours * 10.0).round().clamp(0.0, 1e9) as u32
}

fn after(start: UtcMillis, minutes: f64) -> Option<UtcMillis> {
    // A year at most: a longer pot life is a slip of the finger, and the cast stays exact.
    let millis =
        (minutes.is_finite() && (0.0..=527_040.0).contains(&minutes)).then_some(minutes * 60_000.0)?;
    #[expect(clippy::cast_possible_truncation, reason = "bounded by a year above")]
    Some(UtcMillis(start.0.saturating_add(millis.round() as i64)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_as_people_write_them() {
        let cases = [("0.129", 0.129), ("0,129", 0.129), ("5/32", 0.15625), ("1 1/2", 1.5), (" 22 ", 22.0)];
        for (text, number) in cases {
            assert_eq!(read_number(text), Some(number), "{text}");
        }
        for text in ["", "tight", "1/0", "NaN", "inf", "1/-2"] {
            assert_eq!(read_number(text), None, "{text}");
        }
    }

    #[test]
    fn a_thing_may_be_used_on_its_last_day() {
        let day = |text: &str| text.parse::<Day>().unwrap();
        assert!(!is_expired(Some(day("2026-11-25")), day("2026-11-25")));
        assert!(is_expired(Some(day("2026-11-24")), day("2026-11-25")));
        assert!(!is_expired(None, day("2026-11-25")));
    }
}
