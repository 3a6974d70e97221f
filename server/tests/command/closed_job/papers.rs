//! What closes the job: weight and balance, the screening, the entry, a promise, the statement, signatures.

use app::clock::day_of;
use shared_types::body::{Known, On, The};
use shared_types::closing::{EntryPatch, Extent, PromisePatch, Screened, ScreeningPatch};
use shared_types::ids::{EntryId, PromiseId, ScreeningId, SignatureId};
use shared_types::job::JobPatch;
use shared_types::record_entry::{DISCREPANCIES, Facts, MAINTENANCE, NOT_APPROVED, draft};
use shared_types::screening::{ALTERATION, QUESTIONS};
use shared_types::signature::{Capacity, Confirmation, SignaturePatch};

use super::work::weighed;
use super::{Telling, Who, name};

pub fn written(job: &mut Telling) {
    weighed(job);
    screened(job);
    let set = PromisePatch {
        what: Some("Stop hole, for a new crack".into()),
        due: Some("2027-05-01".parse().ok()),
        due_hours: Some(Some(862.4)),
        ..PromisePatch::default()
    };
    let id = PromiseId(job.id());
    job.tell(Who::Lead, Known::Promise(On { id, set }));
    let set = JobPatch {
        closing_statement: Some("Crack stop-drilled, doubler laid over, two rivets replaced.".into()),
        closed_at: Some(Some(job.now())),
        ..JobPatch::default()
    };
    job.tell(Who::Lead, Known::Job(The { set }));
    entered(job);
    let mistaken =
        signed(job, Who::Mechanic, Capacity::Performed, ("M. Echanic", "mechanic certificate", "0000041"));
    let set = SignaturePatch { retired: Some(true), ..SignaturePatch::default() };
    job.tell(Who::Mechanic, Known::Signature(On { id: mistaken, set }));
    signed(job, Who::Mechanic, Capacity::Performed, ("M. Echanic", "mechanic certificate", "0000042"));
    signed(job, Who::Inspector, Capacity::Accepted, ("I. Spector", "inspection authorization", "0000043"));
    signed(job, Who::Lead, Capacity::ApprovedForReturn, ("L. Ead", "mechanic certificate", "0000044"));
}

fn screened(job: &mut Telling) {
    let asked = [ALTERATION].into_iter().chain(QUESTIONS);
    let answers = asked.map(|question| Screened { question: question.recorded().into(), yes: false });
    let set = ScreeningPatch {
        answers: Some(answers.collect()),
        extent: Some(Extent::Minor),
        decided_by: Some("I. Spector".into()),
        certificate: Some("inspection authorization 0000043".into()),
        reason: Some("The cowling carries no load of the structure; its contour is kept.".into()),
        ..ScreeningPatch::default()
    };
    let id = ScreeningId(job.id());
    job.tell(Who::Inspector, Known::Screening(On { id, set }));
}

/// The inspection that found it, its list for the owner, and the work that put it right.
fn entered(job: &mut Telling) {
    for template in [NOT_APPROVED, DISCREPANCIES, MAINTENANCE] {
        let facts = Facts { state: &job.state, name_of: &name, day_of, hours: Some(812.4) };
        let mut text = draft(template, &facts).unwrap();
        for (blank, filled) in [
            ("[name of the person approving]", "L. Ead"),
            ("[certificate kind and number]", "mechanic certificate 0000044"),
            ("[type of inspection]", "annual"),
            ("[date of the list]", "2026-11-25"),
            ("[name of the owner or lessee]", "O. Wner"),
            ("[items, or none]", "none"),
        ] {
            text = text.replace(blank, filled);
        }
        let id = EntryId(job.id());
        let set = EntryPatch { text: Some(text.into()), ..EntryPatch::default() };
        job.tell(Who::Lead, Known::Entry(On { id, set }));
    }
}

fn signed(
    job: &mut Telling,
    who: Who,
    capacity: Capacity,
    (name, kind, number): (&str, &str, &str),
) -> SignatureId {
    let id = SignatureId(job.id());
    let confirmation = Confirmation { at: job.now(), ..Confirmation::default() };
    let set = SignaturePatch {
        statement: Some("I have read this record, and it is what I know of the work.".into()),
        name: Some(name.into()),
        certificate: Some(number.into()),
        certificate_kind: Some(kind.into()),
        coverage: Some(job.state.job_coverage()),
        capacity: Some(capacity),
        confirmation: Some(Some(confirmation)),
        ..SignaturePatch::default()
    };
    job.tell(who, Known::Signature(On { id, set }));
    id
}
