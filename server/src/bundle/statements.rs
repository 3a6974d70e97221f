//! What acceptances and signatures say of a job: whether it is still so, and whether it was so when the server
//! confirmed it.

use shared_types::change::Entry;
use shared_types::coverage::Coverage;
use shared_types::entity::Entity as _;
use shared_types::fold::{self, Folded as _};
use shared_types::job::JobState;
use shared_types::signature::{Confirmation, Signature};
use shared_types::status::StepStatus;

use super::verify::Report;

/// Acceptances and signatures say exactly what they cover: whether that is still so is told, and is no fault
/// of the bundle when it isn't. That a confirmed signature covers what the log said then must hold.
pub fn tell(state: &JobState, entries: &[Entry], report: &mut Report) {
    for (step, it) in state.steps_in_order() {
        if let StepStatus::Accepted { since, .. } = state.step_status(step) {
            let stands = if since.is_empty() { "stands" } else { "was overtaken by later changes" };
            report.say(true, format!("acceptance of “{}”: {stands}", it.title.or_empty()));
        }
    }
    let now = state.job_coverage();
    let mut confirmed = Vec::new();
    for signature in state.signatures.values() {
        let of = format!("signature of {}", signature.name.or_empty());
        if signature.is_retired() {
            report.say(true, format!("{of}: was taken back"));
            continue;
        }
        let stands = match signature.coverage.or_empty().differences(&now).len() {
            0 => "covers the job exactly as it is here".to_owned(),
            1 => "was overtaken: one thing changed since".to_owned(),
            changed => format!("was overtaken: {changed} things changed since"),
        };
        report.say(true, format!("{of}: {stands}"));
        match signature.confirmation.or_empty() {
            Some(it) if it.is_compared() => confirmed.push((it, signature)),
            Some(_) => report.say(
                true,
                format!("{of}: the server that confirmed it did not hold what it covers against the log"),
            ),
            None => {}
        }
    }
    confirmed.sort_by_key(|(it, _)| it.seq);
    check_covered(&confirmed, entries, report);
}

/// Works out again what the job was when the server confirmed each of its signatures, the earliest first.
fn check_covered(confirmed: &[(Confirmation, &Signature)], entries: &[Entry], report: &mut Report) {
    let (mut state, mut folded) = (JobState::default(), 0);
    for (Confirmation { seq, fold, .. }, signature) in confirmed {
        let of = format!("signature of {}", signature.name.or_empty());
        let Some(until) = usize::try_from(*seq).ok().filter(|until| *until <= entries.len()) else {
            let ends = entries.len();
            report.say(
                false,
                format!("{of}: the server held it against {seq} changes of the log, which has {ends}"),
            );
            continue;
        };
        entries[folded..until].iter().for_each(|entry| state.fold(entry));
        folded = until;
        let (signed, then) = (signature.coverage.or_empty(), state.job_coverage());
        let (holds, what) = covered(&signed, &then, *seq, fold);
        report.say(holds, format!("{of}: {what}"));
    }
}

/// Does a signature cover what the log said then?
fn covered(signed: &Coverage, then: &Coverage, seq: u64, by: &str) -> (bool, String) {
    if signed.digest != then.digest && by != fold::name() {
        let what = format!(
            "was held against the log by another version ({by}), and what it covers can't be worked out again by \
             this one"
        );
        return (true, what);
    }
    if signed.digest != then.digest {
        let what = format!(
            "does not cover what the log's first {seq} changes say, as the server said: it is for another content, \
             or the log was restored from a backup and went on otherwise"
        );
        return (false, what);
    }
    if signed.items != then.items {
        return (false, "its list of what it covers is not that of the content".to_owned());
    }
    (true, format!("covers what the log's first {seq} changes say, worked out again"))
}
