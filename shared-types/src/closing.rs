//! What closes a job, and what comes after: the maintenance-record entry, whether the repair is major,
//! what must be looked at again.

use serde::{Deserialize, Serialize};

use crate::check::{Checked, Problem, always_fine};
use crate::entity::{Entity as _, entity};
use crate::ids::{EntryId, EntryTemplateId, PromiseId, ScreeningId};
use crate::job::JobState;
use crate::text::{LongText, ShortText};
use crate::time::Day;

/// Is the repair a major one?
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Extent {
    /// Nobody has decided.
    #[default]
    Open,
    /// Decided: minor.
    Minor,
    /// Decided: major.
    Major,
}

impl Extent {
    /// The extent as a word on screens.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Open => "not decided",
            Self::Minor => "minor",
            Self::Major => "major",
        }
    }
}

/// A question of the screening with its answer, as it stood when it was asked.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Screened {
    /// The question.
    pub question: ShortText,
    /// Its answer.
    pub yes: bool,
}

impl Checked for Screened {
    fn fault(&self) -> Option<(String, String)> {
        self.question.fault()
    }
}

always_fine!(Extent, EntryTemplateId);

entity! {
    /// A draft of the maintenance-record entry, as its signer edited it.
    Entry / EntryPatch {
        /// What the entry is made from; the app's own when absent.
        template: Option<EntryTemplateId>,
        /// The text.
        text: LongText,
    }
}

entity! {
    /// Whether the repair is major: the questions, and who decided. A licensed person decides.
    Screening / ScreeningPatch {
        /// The questions with their answers.
        answers: Vec<Screened>,
        /// What was decided.
        extent: Extent,
        /// Who decided, as typed by the person.
        decided_by: ShortText,
        /// Certificate or licence kind and number of that person.
        certificate: ShortText,
        /// Why.
        reason: LongText,
    }
    also undecided
}

/// What a decision needs beside itself, and what would be accepted for it.
pub const DECISION_NEEDS: [(&str, &str); 3] = [
    ("decided_by", "the licensed person's name"),
    ("certificate", "kind and number of the certificate or licence"),
    ("reason", "a sentence or two"),
];

/// A decision that says at once that nobody decided, or not why. What a patch leaves as it was, it needn't say again.
fn undecided(patch: &ScreeningPatch) -> Option<Problem> {
    patch.extent.filter(|extent| *extent != Extent::Open)?;
    let said = [&patch.decided_by, &patch.certificate].map(|it| it.as_ref().map(|it| it.0.as_str()));
    let said = [said[0], said[1], patch.reason.as_ref().map(|it| it.0.as_str())];
    let empty = |said: &&str| said.trim().is_empty();
    let (field, accepted) =
        said.into_iter().zip(DECISION_NEEDS).find(|(said, _)| said.as_ref().is_some_and(empty))?.1;
    Some(Problem::new(field, "is empty", accepted))
}

entity! {
    /// Something that was promised to be looked at again.
    Promise / PromisePatch {
        /// What to look at.
        what: ShortText,
        /// Until which day, if by the calendar.
        due: Option<Day>,
        /// At how many hours of the airframe, if by hours.
        due_hours: Option<f64>,
        /// When it was looked at.
        kept_on: Option<Day>,
        /// What was seen.
        kept_note: LongText,
    }
}

impl Promise {
    /// When it is due: by a day, by hours, or both.
    #[must_use]
    pub fn when(&self) -> String {
        when(self.due.or_empty(), self.due_hours.or_empty())
    }
}

/// `by 2027-06-30, or at 850 airframe hours`.
pub(crate) fn when(day: Option<Day>, hours: Option<f64>) -> String {
    let day = day.map(|day| format!("by {day}"));
    let hours = hours.map(|hours| format!("at {hours} airframe hours"));
    let parts: Vec<_> = day.into_iter().chain(hours).collect();
    if parts.is_empty() { "no date given".to_owned() } else { parts.join(", or ") }
}

impl JobState {
    /// The drafts of the maintenance-record entry, oldest first.
    pub fn entries_in_use(&self) -> impl Iterator<Item = (EntryId, &Entry)> {
        self.entries.iter().filter(|(_, it)| !it.is_retired()).map(|(id, it)| (*id, it))
    }

    /// The screening that counts: the latest begun.
    #[must_use]
    pub fn screening(&self) -> Option<(ScreeningId, &Screening)> {
        let in_use = self.screenings.iter().filter(|(_, it)| !it.is_retired());
        in_use.max_by_key(|(_, it)| it.created().copied()).map(|(id, it)| (*id, it))
    }

    /// What was promised to be looked at again, oldest first.
    pub fn promises_in_use(&self) -> impl Iterator<Item = (PromiseId, &Promise)> {
        self.promises.iter().filter(|(_, it)| !it.is_retired()).map(|(id, it)| (*id, it))
    }

    /// What is still to be looked at.
    pub fn promises_open(&self) -> impl Iterator<Item = (PromiseId, &Promise)> {
        self.promises_in_use().filter(|(_, it)| it.kept_on.or_empty().is_none())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entity::Patch as _;

    #[test]
    fn a_decision_without_its_person_or_its_reason_is_refused_and_a_part_of_it_is_not() {
        let whole = ScreeningPatch {
            extent: Some(Extent::Minor),
            decided_by: Some("I. Spector".into()),
            certificate: Some("inspection authorization 0000043".into()),
            reason: Some("It carries no load.".into()),
            ..ScreeningPatch::default()
        };
        assert_eq!(whole.problems(), []);
        let fields =
            |patch: ScreeningPatch| patch.problems().into_iter().map(|it| it.field).collect::<Vec<_>>();
        assert_eq!(fields(ScreeningPatch { decided_by: Some(" ".into()), ..whole.clone() }), ["decided_by"]);
        assert_eq!(fields(ScreeningPatch { certificate: Some("".into()), ..whole.clone() }), ["certificate"]);
        assert_eq!(fields(ScreeningPatch { reason: Some("\n".into()), ..whole.clone() }), ["reason"]);
        // What was decided is altered field by field, answered question by question, and taken back as a whole.
        let altered = ScreeningPatch { extent: Some(Extent::Major), ..ScreeningPatch::default() };
        assert_eq!(altered.problems(), []);
        let emptied = ScreeningPatch { reason: Some("".into()), ..ScreeningPatch::default() };
        assert_eq!(emptied.problems(), []);
        let back = ScreeningPatch {
            extent: Some(Extent::Open),
            decided_by: Some("".into()),
            reason: Some("".into()),
            ..ScreeningPatch::default()
        };
        assert_eq!(back.problems(), []);
    }
}
