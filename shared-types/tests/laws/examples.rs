//! The laws by example: what generated histories would seldom hit on.

use shared_types::body::{Body, On, OnStep};
use shared_types::change::Entry;
use shared_types::coverage::Difference;
use shared_types::entities::Entities;
use shared_types::entity::Entity as _;
use shared_types::fold::Folded as _;
use shared_types::ids::{
    Author, DamageId, DecisionId, HoleId, HolePhotoId, JointId, LayupId, LogId, OfferId, PhotoId, PlyId,
    PlyPhotoId, ReadingId, ShopId, UserId,
};
use shared_types::job::{DecisionPatch, JobState, OfferPatch, Outcome, ReadingPatch, StepPatch};
use shared_types::joint::{Found, HolePatch, HolePhotoPatch, Joint, JointPatch};
use shared_types::layup::{DamagePatch, Layup, LayupPatch, Ply, PlyPatch, PlyPhotoPatch, damage_id};
use shared_types::order::OrderKey;
use shared_types::rules::{Denied, permit};
use shared_types::shop::Role;
use shared_types::stamp::Stamp;
use shared_types::status::StepStatus;
use shared_types::time::UtcMillis;
use uuid::Uuid;

use crate::history::{LOG, entry, id, step};

/// A step with one reading, offered by device 1 and accepted by device 2.
fn accepted() -> JobState {
    let mut state = JobState::default();
    let at = |n: i64| Stamp(UtcMillis(1_900_000_000_000 + n), 0);
    let reading = ReadingPatch { value: Some("0.129".into()), ..ReadingPatch::default() };
    let reading_id = ReadingId(Uuid::from_u128(7));
    let bodies = [
        On { id: step(1), set: StepPatch { title: Some("Re-drill".into()), ..StepPatch::default() } }.into(),
        OnStep { id: reading_id, step: Some(step(1)), set: reading }.into(),
    ];
    for (n, body) in bodies.into_iter().enumerate() {
        state.fold(&entry(n, 1, at(1), vec![], body));
    }
    let offer = OfferPatch { coverage: Some(state.step_coverage(step(1))), ..OfferPatch::default() };
    state.fold(&entry(
        2,
        1,
        at(2),
        vec![],
        OnStep { id: OfferId(Uuid::from_u128(1)), step: Some(step(1)), set: offer }.into(),
    ));
    state.fold(&decision(3, 2, at(3), &state));
    state
}

fn decision(n: usize, device: u8, stamp: Stamp, state: &JobState) -> Entry {
    let set = DecisionPatch {
        offer: Some(OfferId(Uuid::from_u128(1))),
        outcome: Some(Outcome::Accept),
        coverage: Some(state.step_coverage(step(1))),
        ..DecisionPatch::default()
    };
    entry(
        n,
        device,
        stamp,
        vec![],
        OnStep { id: DecisionId(Uuid::from_u128(n as u128)), step: Some(step(1)), set }.into(),
    )
}

#[test]
fn an_acceptance_over_content_that_changed_shows_as_overtaken_and_says_what_changed() {
    let mut state = accepted();
    assert_eq!(state.step_status(step(1)).word(), "accepted");

    let later = ReadingPatch { value: Some("0.161".into()), ..ReadingPatch::default() };
    let body: Body = OnStep { id: ReadingId(Uuid::from_u128(7)), step: Some(step(1)), set: later }.into();
    state.fold(&entry(4, 1, Stamp(UtcMillis(1_900_000_000_009), 0), vec![id(1)], body));

    let StepStatus::Accepted { since, .. } = state.step_status(step(1)) else {
        panic!("the acceptance is gone")
    };
    assert_eq!(since.len(), 1, "{since:?}");
    assert_eq!(state.step_status(step(1)).word(), "acceptance overtaken");
}

#[test]
fn a_signature_covers_joints_and_a_later_word_on_a_hole_overtakes_it() {
    let mut state = JobState::default();
    let (joint, hole) = (JointId(Uuid::from_u128(5)), HoleId(Uuid::from_u128(6)));
    let mut n = 0;
    let mut tell = |state: &mut JobState, body: Body| {
        n += 1;
        let replaces = if let Body::Known(known) = &body { state.seen(known) } else { Vec::new() };
        let stamp = Stamp(UtcMillis(1_900_000_000_000), u32::try_from(n).unwrap());
        state.fold(&entry(n, 1, stamp, replaces, body));
    };
    tell(
        &mut state,
        On { id: joint, set: JointPatch { name: Some("Flange".into()), ..JointPatch::default() } }.into(),
    );
    let set = HolePatch { joint: Some(joint), number: Some("7".into()), ..HolePatch::default() };
    tell(&mut state, On { id: hole, set }.into());
    let signed = state.job_coverage();
    assert!(signed.items.contains_key(&format!("joint/{joint}")), "{:?}", signed.items);

    let set = HolePatch { found: Some(Found::TornOut), ..HolePatch::default() };
    tell(&mut state, On { id: hole, set }.into());
    let differences = signed.differences(&state.job_coverage());
    assert_eq!(differences, [Difference::Altered(format!("holes/{joint}"))]);

    let set =
        HolePhotoPatch { hole: Some(hole), photo: Some(PhotoId::default()), ..HolePhotoPatch::default() };
    let with_word = state.job_coverage();
    tell(&mut state, On { id: HolePhotoId::default(), set }.into());
    assert_eq!(with_word.differences(&state.job_coverage()), [Difference::Altered(format!("holes/{joint}"))]);

    tell(&mut state, On { id: joint, set: Joint::retirement(true) }.into());
    assert_eq!(state.job_coverage().items.keys().collect::<Vec<_>>(), ["job"], "its holes go with it");
    assert_eq!(state.holes.len(), 1, "and stay in the state");
}

#[test]
fn a_signature_covers_a_layup_with_its_plies_in_their_order() {
    let mut state = JobState::default();
    let layup = LayupId(Uuid::from_u128(7));
    let mut n = 0;
    let mut tell = |state: &mut JobState, body: Body| {
        n += 1;
        let replaces = if let Body::Known(known) = &body { state.seen(known) } else { Vec::new() };
        let stamp = Stamp(UtcMillis(1_900_000_000_000), u32::try_from(n).unwrap());
        state.fold(&entry(n, 1, stamp, replaces, body));
    };
    let ply = |n: u128| PlyId(Uuid::from_u128(n));
    let placed = |n: u128, order: &str| {
        let order = Some(OrderKey(order.into()));
        On { id: ply(n), set: PlyPatch { layup: Some(layup), order, ..PlyPatch::default() } }.into()
    };
    tell(
        &mut state,
        On { id: layup, set: LayupPatch { name: Some("Flange".into()), ..LayupPatch::default() } }.into(),
    );
    tell(&mut state, placed(1, "80"));
    tell(&mut state, placed(2, "40"));
    let order = |state: &JobState| state.plies_of(layup).iter().map(|(id, _)| *id).collect::<Vec<_>>();
    assert_eq!(order(&state), [ply(2), ply(1)]);

    let altered = [Difference::Altered(format!("plies/{layup}"))];
    let signed = state.job_coverage();
    tell(&mut state, placed(2, "c0"));
    assert_eq!(order(&state), [ply(1), ply(2)]);
    assert_eq!(signed.differences(&state.job_coverage()), altered, "the order is what counts in a layup");

    let signed = state.job_coverage();
    let set = PlyPatch { laid_at: Some(Some(UtcMillis(5))), ..PlyPatch::default() };
    tell(&mut state, On { id: ply(1), set }.into());
    assert_eq!(signed.differences(&state.job_coverage()), altered);
    let signed = state.job_coverage();
    let set =
        PlyPhotoPatch { ply: Some(ply(1)), photo: Some(PhotoId::default()), ..PlyPhotoPatch::default() };
    tell(&mut state, On { id: PlyPhotoId::default(), set }.into());
    assert_eq!(signed.differences(&state.job_coverage()), altered);

    let signed = state.job_coverage();
    let set = DamagePatch { layup: Some(layup), diameter: Some("50 mm".into()), ..DamagePatch::default() };
    tell(&mut state, On { id: damage_id(layup), set }.into());
    assert_eq!(signed.differences(&state.job_coverage()), altered);

    let signed = state.job_coverage();
    tell(&mut state, On { id: ply(2), set: Ply::retirement(true) }.into());
    assert_eq!(order(&state), [ply(1)]);
    assert_eq!(signed.differences(&state.job_coverage()), altered);
    tell(&mut state, On { id: layup, set: Layup::retirement(true) }.into());
    assert_eq!(state.job_coverage().items.keys().collect::<Vec<_>>(), ["job"], "its plies go with it");
    assert_eq!(state.plies.len(), 2, "and stay in the state");
}

#[test]
fn joints_holes_layups_and_plies_are_the_mechanics_and_the_leads_to_write() {
    let roles = |role| [role].into_iter().collect();
    let bodies: [Body; 7] = [
        On { id: JointId::default(), set: JointPatch::default() }.into(),
        On { id: HoleId::default(), set: HolePatch::default() }.into(),
        On { id: HolePhotoId::default(), set: HolePhotoPatch::default() }.into(),
        On { id: LayupId::default(), set: LayupPatch::default() }.into(),
        On { id: PlyId::default(), set: PlyPatch::default() }.into(),
        On { id: PlyPhotoId::default(), set: PlyPhotoPatch::default() }.into(),
        On { id: DamageId::default(), set: DamagePatch::default() }.into(),
    ];
    let person = Author::Person(UserId::default());
    for body in bodies {
        for (role, may) in
            [(Role::Lead, true), (Role::Mechanic, true), (Role::Inspector, false), (Role::Observer, false)]
        {
            assert_eq!(permit(&roles(role), person, LOG, &body).is_ok(), may, "{role:?} {}", body.kind());
        }
        let shop = LogId::Shop(ShopId(Uuid::from_u128(1)));
        assert_eq!(permit(&roles(Role::Lead), person, shop, &body), Err(Denied::WrongLog));
    }
}

#[test]
fn moving_a_step_overtakes_nothing() {
    let mut state = accepted();
    let set = StepPatch { order: Some(OrderKey("ff".into())), ..StepPatch::default() };
    state.fold(&entry(4, 1, Stamp(UtcMillis(1_900_000_000_009), 0), vec![], On { id: step(1), set }.into()));
    assert_eq!(state.step_status(step(1)).word(), "accepted");
}

#[test]
fn nobody_accepts_an_own_offer() {
    let mut state = accepted();
    let offered = state.offers[&OfferId(Uuid::from_u128(1))].clone();
    state.decisions = Entities::default();
    assert_eq!(state.offers[&OfferId(Uuid::from_u128(1))], offered);
    let own = decision(8, 1, Stamp(UtcMillis(1_900_000_000_020), 0), &state);
    state.fold(&own);
    assert_eq!(state.step_status(step(1)).word(), "offered");
}

#[test]
fn only_the_server_answers_worksheets() {
    use shared_types::body::Answered;
    use shared_types::ids::WorksheetId;
    use shared_types::job::{Answer, AnswerOutcome};
    let answered = Answered {
        id: WorksheetId(Uuid::from_u128(1)),
        answer: Answer {
            input: shared_types::digest::Digest::of(b""),
            outcome: AnswerOutcome::Refused(vec![]),
        },
    };
    let mut state = JobState::default();
    state.fold(&entry(0, 1, Stamp::default(), vec![], answered.into()));
    assert!(state.answers.is_empty());
}
