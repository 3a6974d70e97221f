//! Hold points: what holds a step back, and what doesn't get past it. What an inspector accepts as it stands is
//! accepted; everything else about hold points is our own rule, with no source.

#![allow(clippy::unwrap_used, clippy::panic, reason = "what fails fails the test")]

use shared_types::body::{Body, Known, On, OnStep};
use shared_types::change::{Change, Entry};
use shared_types::entity::Entity as _;
use shared_types::fold::Folded as _;
use shared_types::held::Why;
use shared_types::ids::{
    Author, ChangeId, DecisionId, DeviceId, FindingId, JobId, LogId, NoteId, OfferId, OverrideId, ShopId,
    StepId, UserId,
};
use shared_types::job::{
    DecisionPatch, FindingPatch, JobState, NotePatch, Offer, OfferPatch, Outcome, Step, StepPatch,
};
use shared_types::order::OrderKey;
use shared_types::review::{Override, OverridePatch};
use shared_types::rules::{Denied, owned, permit};
use shared_types::shop::Role;
use shared_types::stamp::Stamp;
use shared_types::status::StepStatus;
use shared_types::time::UtcMillis;
use uuid::Uuid;

const LOG: LogId = LogId::Job(ShopId(Uuid::from_u128(1)), JobId(Uuid::from_u128(2)));
const MECHANIC: u128 = 10;
const INSPECTOR: u128 = 11;

fn step(number: u128) -> StepId {
    StepId(Uuid::from_u128(0x100 + number))
}

/// A job as its people write it, each change seeing all before it.
#[derive(Default)]
struct Work {
    state: JobState,
    count: u32,
}

impl Work {
    /// Steps 1, 2, …; these are hold points.
    fn planned(holds: &[bool]) -> Self {
        let mut work = Self::default();
        for (number, hold) in (1..).zip(holds) {
            work.plan(number, *hold);
        }
        work
    }

    fn tell(&mut self, who: u128, body: impl Into<Known>) {
        let body = body.into();
        self.count += 1;
        let change = Change {
            id: ChangeId(Uuid::from_u128(0x1000 + u128::from(self.count))),
            log: LOG,
            author: Author::Person(UserId(Uuid::from_u128(who))),
            device: DeviceId(Uuid::from_u128(who)),
            stamp: Stamp(UtcMillis(1_900_000_000_000), self.count),
            previous: None,
            replaces: self.state.seen(&body),
            body: Body::Known(body),
        };
        self.state.fold(&Entry { change, received: Some(UtcMillis(1_900_000_000_001)) });
    }

    fn plan(&mut self, number: u128, hold: bool) {
        let order = Some(OrderKey(format!("{:02x}", 0x80 + number)));
        let hold_point = hold.then_some(true);
        self.set(
            number,
            StepPatch { title: Some(format!("step {number}").into()), order, hold_point, ..nothing() },
        );
    }

    fn set(&mut self, number: u128, set: StepPatch) {
        self.tell(MECHANIC, Known::Step(On { id: step(number), set }));
    }

    fn note(&mut self, number: u128) {
        let set = NotePatch { text: Some("seen".into()), ..NotePatch::default() };
        let id = NoteId(Uuid::from_u128(u128::from(self.count)));
        self.tell(MECHANIC, Known::Note(OnStep { id, step: Some(step(number)), set }));
    }

    fn offer(&mut self, number: u128) -> OfferId {
        let id = OfferId(Uuid::from_u128(u128::from(self.count)));
        let coverage = Some(self.state.step_coverage(step(number)));
        let set = OfferPatch { coverage, ..OfferPatch::default() };
        self.tell(MECHANIC, Known::Offer(OnStep { id, step: Some(step(number)), set }));
        id
    }

    fn decide(&mut self, number: u128, offer: OfferId, outcome: Outcome) {
        let set = DecisionPatch {
            offer: Some(offer),
            outcome: Some(outcome),
            coverage: Some(self.state.step_coverage(step(number))),
            ..DecisionPatch::default()
        };
        let id = DecisionId(Uuid::from_u128(u128::from(self.count)));
        self.tell(INSPECTOR, Known::Decision(OnStep { id, step: Some(step(number)), set }));
    }

    fn accept(&mut self, number: u128) {
        let offer = self.offer(number);
        self.decide(number, offer, Outcome::Accept);
    }

    fn skip(&mut self, number: u128, why: &str) {
        self.set(number, StepPatch { skipped: Some(why.into()), ..nothing() });
    }

    fn override_for(&mut self, number: u128, hold_point: u128) -> OverrideId {
        let id = OverrideId(Uuid::from_u128(u128::from(self.count)));
        let set = OverridePatch {
            hold_point: Some(step(hold_point)),
            reason: Some("the inspector looked at it by video".into()),
            ..OverridePatch::default()
        };
        self.tell(MECHANIC, Known::Override(OnStep { id, step: Some(step(number)), set }));
        id
    }

    /// What holds each of the steps back, by the list and by each step itself.
    fn held(&self, number: u128) -> Option<(u128, Why)> {
        let holder = self.state.holder_of(step(number));
        let listed = self.state.holders();
        assert_eq!(listed.iter().find(|it| self.state.holds(it, step(number))).copied(), holder);
        holder.map(|it| (it.step.0.as_u128() - 0x100, it.why))
    }
}

fn nothing() -> StepPatch {
    StepPatch::default()
}

#[test]
fn a_hold_point_holds_all_later_steps_until_it_is_accepted_whatever_they_have_come_to() {
    let mut work = Work::planned(&[false, true, false, false]);
    let held = |work: &Work| [1, 2, 3, 4].map(|it| work.held(it));
    let waits = Some((2, Why::NotAccepted));
    assert_eq!(held(&work), [None, None, waits, waits]);
    work.note(3);
    assert_eq!(work.state.step_status(step(3)), StepStatus::InWork);
    assert_eq!(work.held(3), waits, "begun by a note");
    let offer = work.offer(2);
    assert_eq!(work.held(3), waits, "offered is not accepted");
    work.decide(2, offer, Outcome::Return);
    assert_eq!(work.held(3), waits, "nor is returned");
    work.accept(2);
    assert_eq!(held(&work), [None; 4]);
}

#[test]
fn a_skipped_hold_point_holds_until_the_inspector_accepts_that() {
    let mut work = Work::planned(&[true, false]);
    work.skip(1, "not needed");
    assert_eq!(work.state.step_status(step(1)), StepStatus::Skipped);
    assert_eq!(work.held(2), Some((1, Why::Skipped)));
    let offer = work.offer(1);
    assert!(matches!(work.state.step_outline(step(1)), StepStatus::Offered { .. }), "it waits in the queue");
    work.decide(1, offer, Outcome::Accept);
    assert_eq!(work.state.step_status(step(1)).word(), "accepted");
    assert_eq!(work.held(2), None);
    // Another reason is another skip.
    work.skip(1, "forgotten");
    assert_eq!(work.held(2), Some((1, Why::Skipped)));
}

#[test]
fn an_accepted_hold_point_that_is_skipped_afterwards_holds_again() {
    let mut work = Work::planned(&[true, false]);
    work.accept(1);
    work.skip(1, "not needed");
    assert_eq!(work.held(2), Some((1, Why::Skipped)));
    work.skip(1, "");
    assert_eq!(work.held(2), Some((1, Why::Overtaken)), "to be looked at once more");
    work.accept(1);
    assert_eq!(work.held(2), None);
}

#[test]
fn a_skipped_step_that_is_no_hold_point_stays_skipped_and_holds_nothing() {
    let mut work = Work::planned(&[false, false]);
    work.skip(1, "not needed");
    work.offer(1);
    assert_eq!(work.state.step_status(step(1)), StepStatus::Skipped);
    assert_eq!(work.held(2), None);
}

#[test]
fn an_overtaken_acceptance_holds_again_what_is_not_before_the_inspector() {
    let mut work = Work::planned(&[true, false, false, false, false]);
    work.accept(1);
    work.offer(3);
    work.accept(4);
    let returned = work.offer(5);
    work.decide(5, returned, Outcome::Return);
    work.note(1);
    assert_eq!(work.state.step_status(step(1)).word(), "acceptance overtaken");
    let overtaken = Some((1, Why::Overtaken));
    assert_eq!(work.held(2), overtaken);
    assert_eq!(work.held(3), None, "offered while it was accepted");
    assert_eq!(work.held(4), None, "accepted while it was accepted");
    assert_eq!(work.held(5), overtaken, "returned: to be offered anew");
    work.note(4);
    assert_eq!(work.held(4), overtaken, "overtaken itself: to be offered anew");
    work.accept(1);
    assert_eq!([2, 3, 4, 5].map(|it| work.held(it)), [None; 4]);
}

#[test]
fn a_lead_overrides_one_hold_point_for_one_step_and_takes_that_back() {
    let mut work = Work::planned(&[true, true, false, false]);
    let id = work.override_for(3, 1);
    assert_eq!(work.held(3), Some((2, Why::NotAccepted)), "the other one still holds");
    work.override_for(3, 2);
    assert_eq!((work.held(3), work.held(4)), (None, Some((1, Why::NotAccepted))));
    let back = Override::retirement(true);
    work.tell(MECHANIC, Known::Override(OnStep { id, step: Some(step(3)), set: back }));
    assert_eq!(work.held(3), Some((1, Why::NotAccepted)));
}

#[test]
fn a_hold_point_that_is_taken_out_holds_what_stood_behind_it() {
    let mut work = Work::planned(&[true, false]);
    work.set(1, Step::retirement(true));
    assert_eq!(work.held(2), Some((1, Why::TakenOut)));
    let words = work.state.holder_words(&work.state.holder_of(step(2)).unwrap());
    assert_eq!(words, "the hold point “step 1” was taken out without being accepted");
    work.plan(3, false);
    assert_eq!(work.held(3), None, "planned afterwards");
    work.set(1, StepPatch { hold_point: Some(false), ..nothing() });
    assert_eq!(work.held(2), None);

    let mut work = Work::planned(&[true, false]);
    work.accept(1);
    work.set(1, Step::retirement(true));
    assert_eq!(work.held(2), None, "it was accepted as it stood");
}

#[test]
fn a_withdrawn_offer_leaves_the_step_held() {
    let mut work = Work::planned(&[true, false]);
    let offer = work.offer(2);
    assert_eq!(work.held(2), Some((1, Why::NotAccepted)), "an inspector is told so");
    work.tell(
        MECHANIC,
        Known::Offer(OnStep { id: offer, step: Some(step(2)), set: Offer::retirement(true) }),
    );
    assert_eq!(work.held(2), Some((1, Why::NotAccepted)));
}

/// Which of lead, mechanic, inspector and observer may.
fn who(body: &Known) -> [bool; 4] {
    [Role::Lead, Role::Mechanic, Role::Inspector, Role::Observer].map(|role| {
        let author = Author::Person(UserId(Uuid::from_u128(MECHANIC)));
        permit(&[role].into(), author, LOG, &Body::Known(body.clone())).is_ok()
    })
}

#[test]
fn a_hold_point_is_taken_away_by_a_lead_or_an_inspector_and_by_no_mechanic() {
    let patch = |set| Known::Step(On { id: step(1), set });
    let away = StepPatch { hold_point: Some(false), ..nothing() };
    let more = StepPatch { title: Some("Drill out".into()), ..away.clone() };
    assert_eq!(who(&patch(away.clone())), [true, false, true, false]);
    assert_eq!(who(&patch(more)), [true, false, false, false], "an inspector alters no step beside");
    let set = StepPatch { hold_point: Some(true), ..nothing() };
    let laid_out = StepPatch { title: Some("Drill out".into()), ..set.clone() };
    assert_eq!(who(&patch(set)), [true, true, true, false], "an inspector puts it back");
    assert_eq!(who(&patch(laid_out)), [true, true, false, false]);
    assert_eq!(who(&patch(nothing())), [true, true, false, false]);

    let author = Author::Person(UserId(Uuid::from_u128(MECHANIC)));
    let denied = permit(&[Role::Mechanic].into(), author, LOG, &Body::Known(patch(away))).unwrap_err();
    assert_eq!(denied, Denied::Role("a lead or an inspector"));
}

#[test]
fn a_finding_is_answered_by_who_does_the_work_and_nothing_else_of_it_is_theirs() {
    let answer = FindingPatch { answer: Some("done again".into()), ..FindingPatch::default() };
    let patch = |set| Known::Finding(OnStep { id: FindingId::default(), step: None, set });
    assert_eq!(owned(&patch(answer.clone())), None);
    assert_eq!(who(&patch(answer.clone())), [true, true, false, false]);
    for more in [
        FindingPatch { text: Some("fine".into()), ..answer.clone() },
        FindingPatch { retired: Some(true), ..answer.clone() },
        FindingPatch { decision: Some(DecisionId::default()), ..answer },
    ] {
        assert_eq!(owned(&patch(more.clone())), Some(FindingId::default().0));
        assert_eq!(who(&patch(more)), [false, false, true, false]);
    }
}
