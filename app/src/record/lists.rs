//! Over the whole job: findings and how they were closed, hold points that were overridden, and whatever else was
//! done otherwise than planned.

use shared_types::entity::Entity as _;
use shared_types::field::Mark;
use shared_types::ids::{FindingId, StepId};
use shared_types::job::Finding;
use shared_types::sorted;
use shared_types::status::{StepStatus, is_expired};

use super::tell::{Tell, in_use, joined};
use crate::findings::overridden;
use crate::words::capital;
use crate::{differences, findings};

/// What the findings' columns are called.
pub const FINDINGS: [&str; 4] = ["Step", "Finding", "Answer", "Closed"];

/// Findings, oldest first: the step, what is to be put right, what was done about it, who accepted.
#[must_use]
pub fn findings(tell: Tell<'_>) -> Vec<[String; 4]> {
    let mut all: Vec<_> = tell.state.findings.iter().filter(|(_, it)| !it.it.is_retired()).collect();
    sorted::by_key(&mut all, |(_, it)| it.it.created().copied());
    let row = |(id, finding): (&FindingId, &shared_types::on_step::OnStep<Finding>)| {
        let text = findings::finding(tell.state, *id, &finding.it);
        let answer = findings::answered(tell.state, *id, &finding.it);
        let answered_by = tell.by_any(answered_last(tell, *id, &finding.it).as_ref());
        [
            finding.step.map(|step| tell.step(step)).unwrap_or_default(),
            format!("{text} ({})", tell.by_any(finding.it.created())),
            answer.map_or_else(|| findings::NOT_ANSWERED.to_owned(), |it| format!("{it} ({answered_by})")),
            finding.step.map(|step| closed(tell, step)).unwrap_or_default(),
        ]
    };
    all.into_iter().map(row).collect()
}

/// Who said or showed last what was done about a finding.
fn answered_last(tell: Tell<'_>, id: FindingId, it: &Finding) -> Option<Mark> {
    let said = it.answer.entered().filter(|it| !it.value.is_empty()).map(|it| it.mark);
    let photos = tell.state.photos_answering(id).filter_map(|(_, it)| it.created().copied());
    let proofs = tell.state.proofs.values().map(|it| &it.it);
    let proofs = proofs.filter(|it| it.finding.get() == Some(&id) && !it.is_retired());
    said.into_iter().chain(photos).chain(proofs.filter_map(|it| it.created().copied())).max()
}

/// A finding is closed when its step was accepted.
fn closed(tell: Tell<'_>, step: StepId) -> String {
    match tell.state.step_status(step) {
        StepStatus::Accepted { decision, .. } => {
            let mark = tell.state.decisions.get(&decision).and_then(|it| it.it.created());
            mark.map_or_else(|| "accepted".to_owned(), |mark| format!("accepted by {}", tell.by(mark)))
        }
        status => format!("open: the step is {}", status.word()),
    }
}

/// The hold points that were overridden for a step: title, and by whom, why, and who took it back.
#[must_use]
pub fn overrides(tell: Tell<'_>, step: StepId) -> Vec<(String, String)> {
    let told = overridden(tell.state, step).into_iter().map(|it| {
        let back = it.taken_back.map(|mark| format!(" Taken back by {}.", tell.by(&mark)));
        let said =
            format!("by {}, because: {}{}", tell.by_any(it.by.as_ref()), it.reason, back.unwrap_or_default());
        (it.hold_point, said)
    });
    told.collect()
}

/// What was done otherwise than planned: what, and the reason that was given.
#[must_use]
pub fn otherwise(tell: Tell<'_>) -> Vec<(String, String)> {
    let state = tell.state;
    let mut points = Vec::new();
    let mut tell_of = |what: String, reason: &str| {
        let reason = if reason.trim().is_empty() { "no reason was given" } else { reason };
        points.push((what, reason.to_owned()));
    };
    for (id, step) in state.steps_in_order() {
        let reason = step.skipped.or_empty();
        if !reason.is_empty() {
            tell_of(format!("Step skipped: {}", tell.step(id)), &reason.0);
        }
        for (hold_point, said) in overrides(tell, id) {
            let what = format!("Hold point overridden: {hold_point}, for {}", tell.step(id));
            tell_of(what, &capital(&said));
        }
        if let StepStatus::Accepted { since, .. } = state.step_status(id)
            && !since.is_empty()
        {
            let since = joined(since.iter().map(|it| differences::difference(state, it)), "; ");
            tell_of(format!("Acceptance overtaken: {}", tell.step(id)), &since);
        }
    }
    for line in in_use(state.hardware.values().map(|it| &it.it)) {
        if is_expired(line.expiry.or_empty(), tell.used(line.created())) {
            let what = format!("Hardware used although expired: {}", line.part_number.or_empty());
            tell_of(what, &line.expired_reason.or_empty().0);
        }
    }
    for line in in_use(state.materials.values().map(|it| &it.it)) {
        if is_expired(line.expiry.or_empty(), tell.used(line.created())) {
            let what = format!("Material used although expired: {}", line.name.or_empty());
            tell_of(what, &line.expired_reason.or_empty().0);
        }
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::after;
    use crate::record::tests::tell;
    use shared_types::body::{Known, On, OnStep};
    use shared_types::ids::{OverrideId, PhotoId, ReadingId};
    use shared_types::job::{FindingPatch, JobState, PhotoPatch, ReadingPatch, StepPatch};
    use shared_types::order::OrderKey;
    use shared_types::review::{OverridePatch, ProofPatch, proof_id};
    use uuid::Uuid;

    fn steps() -> (JobState, StepId, StepId) {
        let (hold, held) = (StepId(Uuid::from_u128(1)), StepId(Uuid::from_u128(2)));
        let step = |id: StepId, title: &str, order: &str| {
            let set = StepPatch {
                title: Some(title.into()),
                order: Some(OrderKey(order.into())),
                ..StepPatch::default()
            };
            Known::Step(On { id, set })
        };
        let state = after(&JobState::default(), &[step(hold, "Survey", "4"), step(held, "Drill", "8")]);
        (state, hold, held)
    }

    #[test]
    fn an_override_that_was_taken_back_stands_for_good() {
        let (state, hold, held) = steps();
        let set = |retired| OverridePatch {
            hold_point: Some(hold),
            reason: Some("Nobody was there.".into()),
            retired,
        };
        let over = |retired| {
            Known::Override(OnStep { id: OverrideId::default(), step: Some(held), set: set(retired) })
        };
        let state = after(&state, &[over(None)]);
        let said = &overrides(tell(&state), held)[0].1;
        assert!(
            said.starts_with("by somebody, ") && said.ends_with(", because: Nobody was there."),
            "{said}"
        );
        let state = after(&state, &[over(Some(true))]);
        let said = &overrides(tell(&state), held)[0].1;
        assert!(said.contains("because: Nobody was there. Taken back by somebody, "), "{said}");
        let (what, reason) = &otherwise(tell(&state))[0];
        assert_eq!(what, "Hold point overridden: Survey, for 2. Drill");
        assert!(reason.contains("Taken back by somebody"), "{reason}");
    }

    #[test]
    fn a_finding_is_answered_by_words_by_a_photo_or_by_a_reading() {
        let (state, _, step) = steps();
        let (id, step) = (FindingId(Uuid::from_u128(7)), Some(step));
        let set = FindingPatch { text: Some("Still oval.".into()), ..FindingPatch::default() };
        let asked = after(&state, &[Known::Finding(OnStep { id, step, set })]);
        let answer = |state: &JobState| findings(tell(state)).remove(0)[2].clone();
        assert_eq!(answer(&asked), "not answered");

        let reading = ReadingId::default();
        let set = ReadingPatch {
            label: Some("Hole 7".into()),
            value: Some("0.130".into()),
            unit: Some("in".into()),
            ..ReadingPatch::default()
        };
        let proof = ProofPatch { finding: Some(id), reading: Some(reading), ..ProofPatch::default() };
        let by_reading = [
            Known::Reading(OnStep { id: reading, step, set }),
            Known::Proof(OnStep { id: proof_id(id, reading), step, set: proof }),
        ];
        let said = answer(&after(&asked, &by_reading));
        assert!(said.starts_with("reading “Hole 7” 0.130 in (somebody, "), "{said}");

        let set = PhotoPatch { answers: Some(Some(id)), ..PhotoPatch::default() };
        let said = answer(&after(&asked, &[Known::Photo(OnStep { id: PhotoId::default(), step, set })]));
        assert!(said.starts_with("1 photo (somebody, "), "{said}");

        let set = FindingPatch { answer: Some("Filled.".into()), ..FindingPatch::default() };
        let said = answer(&after(&asked, &[Known::Finding(OnStep { id, step, set })]));
        assert!(said.starts_with("Filled. (somebody, "), "{said}");
    }
}
