//! The changes that open a job.

use shared_types::body::{Known, On, The};
use shared_types::ids::{AircraftId, StepId};
use shared_types::job::JobPatch;
use shared_types::shop::{AircraftPatch, PlannedStep};
use uuid::Uuid;

use crate::procedures::lay_out;

/// Which aircraft the job is on, as far as the shop's list goes.
#[derive(Clone, Debug, PartialEq)]
pub enum Aircraft {
    /// One of the shop's.
    Known(AircraftId),
    /// A new one that the shop is to keep.
    Kept(AircraftPatch),
    /// One that stays in this job only.
    Passing,
}

/// What was typed to open a job.
#[derive(Clone, Debug, PartialEq)]
pub struct Opening {
    /// The job's facts.
    pub facts: Known,
    /// What the work is done to.
    pub reference: Option<Known>,
    /// The aircraft.
    pub aircraft: Aircraft,
    /// The steps to lay out.
    pub steps: Vec<PlannedStep>,
}

impl Opening {
    /// The changes to the shop's log, and those to the job's.
    #[must_use]
    pub fn bodies(self, mut new_id: impl FnMut() -> Uuid) -> (Vec<Known>, Vec<Known>) {
        let mut of_shop = Vec::new();
        let aircraft = match self.aircraft {
            Aircraft::Known(id) => Some(id),
            Aircraft::Passing => None,
            Aircraft::Kept(set) => {
                let id = AircraftId(new_id());
                of_shop.push(Known::Aircraft(On { id, set }));
                Some(id)
            }
        };
        let facts = match (self.facts, aircraft) {
            (Known::Job(The { set }), Some(id)) => {
                Known::Job(The { set: JobPatch { aircraft: Some(Some(id)), ..set } })
            }
            (facts, _) => facts,
        };
        let steps = lay_out(self.steps, None, || StepId(new_id()));
        (of_shop, [facts].into_iter().chain(self.reference).chain(steps).collect())
    }
}

/// A title out of part and discrepancy, for whoever gave none: `tip fairing: flange torn at three holes`.
#[must_use]
pub fn derived_title(part: &str, discrepancy: &str) -> Option<String> {
    const MOST: usize = 60;
    let line = discrepancy.lines().map(str::trim).find(|line| !line.is_empty()).unwrap_or_default();
    let sentence = line.split_inclusive(['.', ';']).next().unwrap_or_default().trim_end_matches(['.', ';']);
    let mut short: String = sentence.chars().take(MOST).collect();
    if sentence.chars().count() > MOST {
        // Cut at a word.
        let whole = short.rfind(' ').unwrap_or(short.len());
        short.truncate(whole);
        short.push('…');
    }
    let parts = [part.trim(), &*short];
    let title = parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(": ");
    (!title.is_empty()).then_some(title)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_title_is_made_of_part_and_discrepancy() {
        let cases = [
            ("tip fairing", "Flange torn. Three holes.", Some("tip fairing: Flange torn")),
            ("", "\n cracked at the edge", Some("cracked at the edge")),
            ("cowl", " ", Some("cowl")),
            (" ", "", None),
        ];
        for (part, discrepancy, title) in cases {
            assert_eq!(derived_title(part, discrepancy).as_deref(), title);
        }
        let long = derived_title("cowl", &"word ".repeat(40)).unwrap();
        assert!(long.chars().count() < 70 && long.ends_with("word…"), "{long}");
    }

    #[test]
    fn a_kept_aircraft_is_named_by_the_job_and_the_steps_follow_the_facts() {
        let mut number = 0;
        let mut new_id = || {
            number += 1;
            Uuid::from_u128(number)
        };
        let opening = Opening {
            facts: Known::Job(The { set: JobPatch { title: Some("t".into()), ..JobPatch::default() } }),
            reference: None,
            aircraft: Aircraft::Kept(AircraftPatch::default()),
            steps: vec![PlannedStep::default(); 2],
        };
        let (of_shop, of_job) = opening.bodies(&mut new_id);
        let [Known::Aircraft(On { id, .. })] = of_shop[..] else { panic!("one aircraft") };
        let Known::Job(The { set }) = &of_job[0] else { panic!("facts first") };
        assert_eq!(set.aircraft, Some(Some(id)));
        assert_eq!(set.title, Some("t".into()));
        assert_eq!(of_job.len(), 3);
    }
}
