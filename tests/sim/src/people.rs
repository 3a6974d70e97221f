//! What people do, by who they are.

use shared_types::body::{Known, On, OnStep, The};
use shared_types::ids::{DecisionId, NoteId, OfferId, ReadingId, SignatureId, StepId};
use shared_types::job::{DecisionPatch, JobPatch, NotePatch, OfferPatch, Outcome, ReadingPatch, StepPatch};
use shared_types::signature::FirstSignaturePatch;
use uuid::Uuid;

use crate::chance::Chance;

/// Something that this person may do, and now and then something that only another may.
pub fn act(login: &str, chance: &Chance) -> Known {
    let id = |kind: u128, count| Uuid::from_u128(kind << 64 | u128::from(chance.below(count)));
    let text = format!("text {}", chance.below(1_000));
    let step = StepId(Uuid::from_u128(1 << 64 | u128::from(chance.below(3))));
    match (login, chance.below(6)) {
        ("insp", 0 | 1) => {
            let offer = Some(OfferId(id(5, 4)));
            let outcome = Some(if chance.percent(50) { Outcome::Accept } else { Outcome::Return });
            let set = DecisionPatch { offer, outcome, ..DecisionPatch::default() };
            Known::Decision(OnStep { id: DecisionId(id(6, 1 << 40)), step: Some(step), set })
        }
        ("insp", 2) => {
            let set = FirstSignaturePatch { statement: Some(text.into()), ..FirstSignaturePatch::default() };
            Known::FirstSignature(On { id: SignatureId(id(7, 1 << 40)), set })
        }
        ("insp", _) => {
            let set = NotePatch { text: Some(text.into()), ..NotePatch::default() };
            Known::Note(OnStep { id: NoteId(id(2, 6)), step: None, set })
        }
        (_, 0) => Known::Job(The { set: JobPatch { title: Some(text.into()), ..JobPatch::default() } }),
        (_, 1) => Known::Job(The { set: JobPatch { part: Some(text.into()), ..JobPatch::default() } }),
        (_, 2) => {
            let set = ReadingPatch { value: Some(text.into()), ..ReadingPatch::default() };
            Known::Reading(OnStep { id: ReadingId(id(3, 4)), step: Some(step), set })
        }
        (_, 3) => {
            let set = OfferPatch { note: Some(text.into()), ..OfferPatch::default() };
            Known::Offer(OnStep { id: OfferId(id(5, 4)), step: Some(step), set })
        }
        _ => {
            let retired = chance.percent(20).then_some(true);
            let set = StepPatch { title: Some(text.into()), retired, ..StepPatch::default() };
            Known::Step(On { id: step, set })
        }
    }
}

/// A title for the job.
pub fn title(text: &str) -> Known {
    Known::Job(The { set: JobPatch { title: Some(text.into()), ..JobPatch::default() } })
}
