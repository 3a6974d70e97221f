//! Findings and overrides in words: what is to be put right and where, what was done about it, and
//! which hold point was passed over.

use shared_types::entity::Entity as _;
use shared_types::field::Mark;
use shared_types::ids::{FindingId, StepId};
use shared_types::job::{Finding, JobState};
use shared_types::sorted;

use crate::words::count;

/// A finding, with what it points to.
#[must_use]
pub fn finding(state: &JobState, id: FindingId, it: &Finding) -> String {
    let text = it.text.or_empty();
    state.pin_words(id).map_or_else(|| text.0.clone(), |at| format!("{text} (at {at})"))
}

/// What stands where nothing was done about a finding yet.
pub const NOT_ANSWERED: &str = "not answered";

/// What the mechanic did about a finding: words, photos, readings; nothing until they did.
#[must_use]
pub fn answered(state: &JobState, id: FindingId, it: &Finding) -> Option<String> {
    let words = it.answer.or_empty();
    let photos = state.photos_answering(id).count();
    let readings = state.proofs_of(id).map(|(_, it)| {
        format!("reading “{}” {} {}", it.label.or_empty(), it.value.or_empty(), it.unit.or_empty())
    });
    let mut parts: Vec<String> = (!words.is_empty()).then_some(words.0).into_iter().collect();
    parts.extend((photos > 0).then(|| count(photos, "photo", "photos")));
    parts.extend(readings);
    (!parts.is_empty()).then(|| parts.join("; "))
}

/// The same where it stands behind its finding.
#[must_use]
pub fn answer(state: &JobState, id: FindingId, it: &Finding) -> String {
    answered(state, id, it).map_or_else(|| NOT_ANSWERED.to_owned(), |it| format!("Answer: {it}"))
}

/// A hold point that a lead overrode.
#[derive(Clone, Debug, PartialEq)]
pub struct Overridden {
    /// The hold point's title.
    pub hold_point: String,
    /// Why work went on.
    pub reason: String,
    /// By whom, and when.
    pub by: Option<Mark>,
    /// Who took it back, and when.
    pub taken_back: Option<Mark>,
}

/// The hold points that were overridden for a step, oldest first. Those that were taken back too: work may
/// have gone on under them.
#[must_use]
pub fn overridden(state: &JobState, step: StepId) -> Vec<Overridden> {
    let of_step = state.overrides.values().filter(|it| it.step == Some(step)).map(|it| &it.it);
    let mut of_step: Vec<_> = of_step.filter(|it| !it.reason.or_empty().is_empty()).collect();
    sorted::by_key(&mut of_step, |it| it.created().copied());
    let shown = of_step.into_iter().map(|it| Overridden {
        hold_point: state
            .steps
            .get(&it.hold_point.or_empty())
            .map(|it| it.title.or_empty().0)
            .unwrap_or_default(),
        reason: it.reason.or_empty().0,
        by: it.created().copied(),
        taken_back: it.retired.entered().filter(|it| it.value).map(|it| it.mark),
    });
    shown.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::after;
    use shared_types::body::{Known, On, OnStep};
    use shared_types::ids::{HoleId, JointId, ReadingId};
    use shared_types::job::{FindingPatch, ReadingPatch};
    use shared_types::joint::{HolePatch, JointPatch};
    use shared_types::review::{PinPatch, ProofPatch, proof_id};
    use uuid::Uuid;

    #[test]
    fn a_finding_says_where_and_what_was_done() {
        let (id, step) = (FindingId(Uuid::from_u128(1)), Some(StepId(Uuid::from_u128(2))));
        let (joint, hole, reading) = (JointId::default(), HoleId::default(), ReadingId::default());
        let text = FindingPatch { text: Some("Still oval.".into()), ..FindingPatch::default() };
        let pin = PinPatch { hole: Some(Some(hole)), ..PinPatch::default() };
        let named = JointPatch { name: Some("Flange".into()), ..JointPatch::default() };
        let numbered = HolePatch { joint: Some(joint), number: Some("7".into()), ..HolePatch::default() };
        let bodies = [
            Known::Joint(On { id: joint, set: named }),
            Known::Hole(On { id: hole, set: numbered }),
            Known::Finding(OnStep { id, step, set: text }),
            Known::Pin(OnStep { id, step, set: pin }),
        ];
        let state = after(&JobState::default(), &bodies);
        let it = state.findings[&id].it.clone();
        assert_eq!(finding(&state, id, &it), "Still oval. (at hole 7 of Flange)");
        assert_eq!(answer(&state, id, &it), "not answered");

        let measured = ReadingPatch {
            label: Some("Hole 7".into()),
            value: Some("0.130".into()),
            unit: Some("in".into()),
            ..ReadingPatch::default()
        };
        let proof = ProofPatch { finding: Some(id), reading: Some(reading), ..ProofPatch::default() };
        let bodies = [
            Known::Reading(OnStep { id: reading, step, set: measured }),
            Known::Proof(OnStep { id: proof_id(id, reading), step, set: proof }),
        ];
        assert_eq!(answer(&after(&state, &bodies), id, &it), "Answer: reading “Hole 7” 0.130 in");
    }
}
