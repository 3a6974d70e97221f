//! The laws of the log, on generated histories: several people and devices, clocks that
//! differ by a year, changes that saw each other or didn't.

#![expect(clippy::unwrap_used, reason = "a test that can't go on stops")]

use proptest::prelude::*;
use proptest::test_runner::FileFailurePersistence;
use serde_json::json;
use shared_types::body::{Body, Known, On, OnStep, The};
use shared_types::change::{Change, Entry};
use shared_types::coverage::Difference;
use shared_types::entities::Entities;
use shared_types::entity::Entity as _;
use shared_types::fold::{Folded as _, fold_all};
use shared_types::ids::{
    Author, ChangeId, DamageId, DecisionId, DeviceId, HoleId, HolePhotoId, JobId, JointId, LayupId, LogId,
    NoteId, OfferId, PhotoId, PlyId, PlyPhotoId, ReadingId, ShopId, SignatureId, StepId, UserId,
};
use shared_types::job::{
    DecisionPatch, JobPatch, JobState, NotePatch, OfferPatch, Outcome, ReadingPatch, SignaturePatch,
    StepPatch,
};
use shared_types::joint::{
    Action, Edges, Found, HolePatch, HolePhotoPatch, HoleResult, Joint, JointPatch, Layer, Layers, Place,
};
use shared_types::layup::{
    DamagePatch, HoleShape, Layup, LayupPatch, Ply, PlyPatch, PlyPhotoPatch, Purpose, damage_id,
};
use shared_types::order::OrderKey;
use shared_types::rules::{Denied, permit};
use shared_types::shop::Role;
use shared_types::stamp::Stamp;
use shared_types::status::StepStatus;
use shared_types::time::UtcMillis;
use uuid::Uuid;

const LOG: LogId = LogId::Job(ShopId(Uuid::from_u128(1)), JobId(Uuid::from_u128(2)));

fn step(n: u8) -> StepId {
    StepId(Uuid::from_u128(0x100 + u128::from(n)))
}

fn entry(n: usize, device: u8, stamp: Stamp, replaces: Vec<ChangeId>, body: Body) -> Entry {
    let change = Change {
        id: id(n),
        log: LOG,
        author: Author::Person(UserId(Uuid::from_u128(u128::from(device) + 0x900))),
        device: DeviceId(Uuid::from_u128(u128::from(device) + 0x800)),
        stamp,
        previous: None,
        replaces,
        body,
    };
    Entry { change, received: Some(UtcMillis(2_000_000_000_000 + i64::try_from(n).unwrap())) }
}

fn id(n: usize) -> ChangeId {
    ChangeId(Uuid::from_u128(0x1000 + n as u128))
}

fn words() -> impl Strategy<Value = String> {
    prop::sample::select(vec!["tight", "loose", "torn", "0.129", ""]).prop_map(str::to_owned)
}

fn body() -> impl Strategy<Value = Body> {
    let on_step = prop::option::of((0..3_u8).prop_map(step));
    prop_oneof![
        (words(), any::<bool>()).prop_map(|(text, retired)| {
            let set = JobPatch {
                title: Some(text.into()),
                retired: retired.then_some(true),
                ..JobPatch::default()
            };
            The { set }.into()
        }),
        (0..3_u8, prop::option::of(words()), any::<bool>(), prop::option::of(any::<bool>())).prop_map(
            |(n, title, hold, retired)| {
                let set = StepPatch {
                    title: title.map(Into::into),
                    hold_point: Some(hold),
                    order: Some(OrderKey(format!("{n:02x}"))),
                    retired,
                    ..StepPatch::default()
                };
                On { id: step(n), set }.into()
            }
        ),
        (0..3_u128, on_step.clone(), words()).prop_map(|(n, step, value)| {
            let set = ReadingPatch { value: Some(value.into()), ..ReadingPatch::default() };
            OnStep { id: ReadingId(Uuid::from_u128(n)), step, set }.into()
        }),
        (0..3_u128, on_step, words()).prop_map(|(n, step, text)| {
            let set = NotePatch { text: Some(text.into()), ..NotePatch::default() };
            OnStep { id: NoteId(Uuid::from_u128(n)), step, set }.into()
        }),
        (0..2_u8, 0..2_u128).prop_map(|(n, offer)| {
            let set = OfferPatch { note: Some("ready".into()), ..OfferPatch::default() };
            OnStep { id: OfferId(Uuid::from_u128(offer)), step: Some(step(n)), set }.into()
        }),
        (0..2_u8, 0..2_u128, any::<bool>()).prop_map(|(n, offer, accept)| {
            let set = DecisionPatch {
                offer: Some(OfferId(Uuid::from_u128(offer))),
                outcome: Some(if accept { Outcome::Accept } else { Outcome::Return }),
                ..DecisionPatch::default()
            };
            OnStep { id: DecisionId(Uuid::from_u128(offer)), step: Some(step(n)), set }.into()
        }),
        hole_register(),
        layups(),
        Just(Body::Unknown { kind: "later.v7".to_owned(), body: json!({"kind": "later.v7", "more": [1]}) }),
    ]
}

/// A joint, a hole of one, or a photo of a hole.
fn hole_register() -> impl Strategy<Value = Body> {
    let found = prop::sample::select(Found::SAID.to_vec());
    let action = prop::sample::select(Action::DECIDED.to_vec());
    let result = prop::sample::select(vec![HoleResult::Open, HoleResult::Pass, HoleResult::Fail]);
    prop_oneof![
        (0..2_u128, words(), any::<bool>()).prop_map(|(n, name, retired)| {
            let layer = Layer { material: name.clone().into(), thickness: "0.032 in".into() };
            let corner = Place { x: "0 in".into(), y: "0.3 in".into() };
            let set = JointPatch {
                name: Some(name.into()),
                layers: Some(Layers(vec![layer])),
                edges: Some(Edges(vec![vec![corner.clone(), corner]])),
                retired: retired.then_some(true),
                ..JointPatch::default()
            };
            On { id: JointId(Uuid::from_u128(n)), set }.into()
        }),
        (0..4_u128, 0..2_u128, found, prop::option::of(action), prop::option::of(result)).prop_map(
            |(n, joint, found, action, result)| {
                let set = HolePatch {
                    joint: Some(JointId(Uuid::from_u128(joint))),
                    number: Some(n.to_string().into()),
                    found: Some(found),
                    action,
                    result,
                    ..HolePatch::default()
                };
                On { id: HoleId(Uuid::from_u128(n)), set }.into()
            }
        ),
        (0..2_u128, 0..4_u128).prop_map(|(n, hole)| {
            let set = HolePhotoPatch {
                hole: Some(HoleId(Uuid::from_u128(hole))),
                photo: Some(PhotoId(Uuid::from_u128(n))),
                ..HolePhotoPatch::default()
            };
            On { id: HolePhotoId(Uuid::from_u128(n)), set }.into()
        }),
    ]
}

/// A layup, a ply of one, or a photo of a ply.
fn layups() -> impl Strategy<Value = Body> {
    let purpose = prop::sample::select(vec![Purpose::Parent, Purpose::Repair]);
    prop_oneof![
        (0..2_u128, words(), purpose, any::<bool>()).prop_map(|(n, name, purpose, retired)| {
            let set = LayupPatch {
                name: Some(name.into()),
                purpose: Some(purpose),
                parent: Some((purpose == Purpose::Repair).then_some(LayupId::default())),
                retired: retired.then_some(true),
                ..LayupPatch::default()
            };
            On { id: LayupId(Uuid::from_u128(n)), set }.into()
        }),
        (0..4_u128, 0..2_u128, 0..3_u8, prop::option::of(0..9_i64)).prop_map(|(n, layup, order, laid)| {
            let set = PlyPatch {
                layup: Some(LayupId(Uuid::from_u128(layup))),
                order: Some(OrderKey(format!("{order:02x}"))),
                angle: Some("45".into()),
                laid_at: laid.map(|at| Some(UtcMillis(at))),
                ..PlyPatch::default()
            };
            On { id: PlyId(Uuid::from_u128(n)), set }.into()
        }),
        (0..2_u128, 0..4_u128).prop_map(|(n, ply)| {
            let set = PlyPhotoPatch {
                ply: Some(PlyId(Uuid::from_u128(ply))),
                photo: Some(PhotoId(Uuid::from_u128(n))),
                ..PlyPhotoPatch::default()
            };
            On { id: PlyPhotoId(Uuid::from_u128(n)), set }.into()
        }),
        (0..2_u128, words(), prop::sample::select(vec![HoleShape::Round, HoleShape::Oval])).prop_map(
            |(n, size, shape)| {
                let layup = LayupId(Uuid::from_u128(n));
                let (layup_of, size) = (Some(layup), Some(size.into()));
                let set = DamagePatch {
                    layup: layup_of,
                    shape: Some(shape),
                    diameter: size,
                    ..DamagePatch::default()
                };
                On { id: damage_id(layup), set }.into()
            }
        ),
    ]
}

/// A history: clocks from a year slow to a year fast, and each change replacing any earlier ones.
fn history() -> impl Strategy<Value = Vec<Entry>> {
    let year = 31_536_000_000_i64;
    let one =
        (0..4_u8, -year..year, 0..3_u32, prop::collection::vec(any::<prop::sample::Index>(), 0..3), body());
    prop::collection::vec(one, 1..40).prop_map(|ones| {
        ones.into_iter()
            .enumerate()
            .map(|(n, (device, skew, count, replaced, body))| {
                let replaces =
                    if n == 0 { Vec::new() } else { replaced.iter().map(|at| id(at.index(n))).collect() };
                entry(n, device, Stamp(UtcMillis(2_000_000_000_000 + skew), count), replaces, body)
            })
            .collect()
    })
}

/// Shrunk counter-examples are kept beside this file, and tried first ever after.
fn kept() -> ProptestConfig {
    let file = FileFailurePersistence::Direct("tests/laws.regressions");
    ProptestConfig { failure_persistence: Some(Box::new(file)), ..ProptestConfig::default() }
}

proptest! {
    #![proptest_config(kept())]

    #[test]
    fn any_order_and_any_repetition_give_the_same_state(
        (history, shuffled) in history().prop_flat_map(|history| {
            let twice: Vec<Entry> = history.iter().chain(&history).cloned().collect();
            (Just(history), Just(twice).prop_shuffle())
        })
    ) {
        prop_assert_eq!(fold_all::<JobState>(&history), fold_all::<JobState>(&shuffled));
    }

    #[test]
    fn a_snapshot_and_its_tail_equal_the_whole_log(history in history(), at in any::<prop::sample::Index>()) {
        let (prefix, tail) = history.split_at(at.index(history.len()));
        let snapshot = serde_json::to_string(&fold_all::<JobState>(prefix)).unwrap();
        let mut state: JobState = serde_json::from_str(&snapshot).unwrap();
        for entry in tail {
            state.fold(entry);
        }
        prop_assert_eq!(state, fold_all::<JobState>(&history));
    }

    #[test]
    fn folding_a_prefix_and_then_the_rest_equals_folding_all(
        history in history(), at in any::<prop::sample::Index>()
    ) {
        let (prefix, rest) = history.split_at(at.index(history.len()));
        let mut state = fold_all::<JobState>(prefix);
        rest.iter().for_each(|entry| { state.fold(entry); });
        prop_assert_eq!(state, fold_all::<JobState>(&history));
    }

    #[test]
    fn a_signature_over_what_changes_later_is_overtaken_and_never_dropped(
        history in history(), at in any::<prop::sample::Index>()
    ) {
        let (before, after) = history.split_at(at.index(history.len()));
        let mut state = fold_all::<JobState>(before);
        let signed = state.job_coverage();
        let signature = SignatureId(Uuid::from_u128(1));
        let set = SignaturePatch { coverage: Some(signed.clone()), ..SignaturePatch::default() };
        let at = Stamp(UtcMillis(1_900_000_000_000), 0);
        state.fold(&entry(900, 1, at, vec![], On { id: signature, set }.into()));
        after.iter().for_each(|entry| { state.fold(entry); });

        let kept = state.signatures.get(&signature).map(|it| it.coverage.or_empty());
        prop_assert_eq!(kept.as_ref(), Some(&signed));
        let now = state.job_coverage();
        prop_assert_eq!(signed.differences(&now).is_empty(), signed.digest == now.digest);
    }

    #[test]
    fn nobodys_value_vanishes_unless_somebody_replaced_it(history in history()) {
        let state: JobState = fold_all(&history);
        let replaced: Vec<_> = history.iter().flat_map(|entry| entry.change.replaces.clone()).collect();
        for entry in &history {
            let Body::Known(Known::Reading(body)) = &entry.change.body else { continue };
            if replaced.contains(&entry.change.id) {
                continue;
            }
            let field = &state.readings[&body.id].it.value;
            let value = body.set.value.as_ref();
            let shown = field.get() == value || field.also_entered().any(|other| Some(&other.value) == value);
            prop_assert!(shown, "{value:?} is gone");
        }
    }

    #[test]
    fn retired_things_stay_in_the_state(history in history()) {
        let state: JobState = fold_all(&history);
        for entry in &history {
            match &entry.change.body {
                Body::Known(Known::Step(body)) => prop_assert!(state.steps.contains_key(&body.id)),
                Body::Known(Known::Joint(body)) => prop_assert!(state.joints.contains_key(&body.id)),
                Body::Known(Known::Hole(body)) => prop_assert!(state.holes.contains_key(&body.id)),
                _ => {}
            }
        }
    }

    #[test]
    fn what_is_undone_shows_what_it_showed_before(history in history(), body in body()) {
        let mut state: JobState = fold_all(&history);
        let Body::Known(body) = body else { return Ok(()) };
        let shown = |state: &JobState| -> Vec<_> {
            let readings = state.readings.values().filter(|it| !it.it.is_retired());
            let holes = state.holes.values().filter(|it| !it.is_retired());
            let holes = holes.map(|it| format!("{:?} {:?}", it.found.or_empty(), it.action.or_empty()).into());
            readings.map(|it| it.it.value.or_empty()).chain(holes).collect()
        };
        let before = shown(&state);
        let Some(undo) = state.undo(&body) else { return Ok(()) };
        for (n, body) in [(900, body), (901, undo)] {
            let replaces = state.seen(&body);
            state.fold(&entry(n, 1, Stamp(UtcMillis(4_000_000_000_000), u32::try_from(n).unwrap()), replaces, Body::Known(body)));
        }
        prop_assert_eq!(before, shown(&state));
    }

    #[test]
    fn a_change_passes_through_json_unharmed(history in history()) {
        for entry in history {
            let text = serde_json::to_string(&entry.change).unwrap();
            let back: Change = serde_json::from_str(&text).unwrap();
            prop_assert_eq!(&back, &entry.change);
            prop_assert_eq!(serde_json::to_string(&back).unwrap(), text);
        }
    }
}

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
