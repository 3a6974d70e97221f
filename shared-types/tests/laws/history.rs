//! Generated histories: several people and devices, clocks that differ by a year, changes that saw
//! each other or didn't.

use proptest::prelude::*;
use serde_json::json;
use shared_types::body::{Body, On, OnStep, The};
use shared_types::change::{Change, Entry};
use shared_types::closing::{EntryPatch, Extent, PromisePatch, Screened, ScreeningPatch};
use shared_types::ids::{
    Author, ChangeId, CommentId, DecisionId, DeviceId, EntryId, FindingId, HoleId, HolePhotoId, JobId,
    JointId, LayupId, LogId, NoteId, OfferId, OverrideId, PhotoId, PlyId, PlyPhotoId, PromiseId, ReadingId,
    ScreeningId, ShopId, SignatureId, StepId, UserId,
};
use shared_types::job::{
    DecisionPatch, FindingPatch, JobPatch, NotePatch, OfferPatch, Outcome, ReadingPatch, StepPatch,
};
use shared_types::joint::{
    Action, Edges, Found, HolePatch, HolePhotoPatch, HoleResult, JointPatch, Layer, Layers, Place,
};
use shared_types::layup::{DamagePatch, HoleShape, LayupPatch, PlyPatch, PlyPhotoPatch, Purpose, damage_id};
use shared_types::order::OrderKey;
use shared_types::record_photo::RecordPhotoPatch;
use shared_types::review::{CommentPatch, OverridePatch, PinPatch, ProofPatch, Spot, proof_id};
use shared_types::shop::{JobMemberPatch, Role};
use shared_types::signature::{Capacity, FirstSignaturePatch, SignaturePatch};
use shared_types::stamp::Stamp;
use shared_types::time::UtcMillis;
use shared_types::working_time::EstimatePatch;
use uuid::Uuid;

pub const LOG: LogId = LogId::Job(ShopId(Uuid::from_u128(1)), JobId(Uuid::from_u128(2)));

pub fn step(n: u8) -> StepId {
    StepId(Uuid::from_u128(0x100 + u128::from(n)))
}

pub fn entry(n: usize, device: u8, stamp: Stamp, replaces: Vec<ChangeId>, body: Body) -> Entry {
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

pub fn id(n: usize) -> ChangeId {
    ChangeId(Uuid::from_u128(0x1000 + n as u128))
}

/// A number as people type it.
fn typed(most: u32) -> impl Strategy<Value = f64> {
    (0..most * 10).prop_map(|tenths| f64::from(tenths) / 10.0)
}

fn words() -> impl Strategy<Value = String> {
    prop::sample::select(vec!["tight", "loose", "torn", "0.129", ""]).prop_map(str::to_owned)
}

pub fn body() -> impl Strategy<Value = Body> {
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
        review(),
        closing(),
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
                let set = DamagePatch {
                    layup: Some(layup),
                    shape: Some(shape),
                    diameter: Some(size.into()),
                    ..DamagePatch::default()
                };
                On { id: damage_id(layup), set }.into()
            }
        ),
    ]
}

/// A comment, a finding with its pin and its proof, or a hold point overridden.
fn review() -> impl Strategy<Value = Body> {
    let on = |n: u8| Some(step(n));
    prop_oneof![
        (0..2_u8, 0..3_u128, words()).prop_map(move |(n, comment, text)| {
            let set = CommentPatch { text: Some(text.into()), ..CommentPatch::default() };
            OnStep { id: CommentId(Uuid::from_u128(comment)), step: on(n), set }.into()
        }),
        (0..2_u8, 0..2_u128, words()).prop_map(move |(n, finding, text)| {
            let set = FindingPatch {
                decision: Some(DecisionId(Uuid::from_u128(finding))),
                text: Some(text.into()),
                ..FindingPatch::default()
            };
            OnStep { id: FindingId(Uuid::from_u128(finding)), step: on(n), set }.into()
        }),
        (0..2_u8, 0..2_u128, 0..Spot::WHOLE).prop_map(move |(n, finding, x)| {
            let set = PinPatch {
                photo: Some(Some(PhotoId::default())),
                spot: Some(Some(Spot { x, y: 5_000 })),
                ..PinPatch::default()
            };
            OnStep { id: FindingId(Uuid::from_u128(finding)), step: on(n), set }.into()
        }),
        (0..2_u8, 0..2_u128, 0..2_u128).prop_map(move |(n, finding, reading)| {
            let (finding, reading) =
                (FindingId(Uuid::from_u128(finding)), ReadingId(Uuid::from_u128(reading)));
            let set = ProofPatch { finding: Some(finding), reading: Some(reading), ..ProofPatch::default() };
            OnStep { id: proof_id(finding, reading), step: on(n), set }.into()
        }),
        (1..3_u8, 0..2_u128, words()).prop_map(move |(n, id, reason)| {
            let set = OverridePatch {
                hold_point: Some(step(0)),
                reason: Some(reason.into()),
                ..OverridePatch::default()
            };
            OnStep { id: OverrideId(Uuid::from_u128(id)), step: on(n), set }.into()
        }),
    ]
}

/// Roles on the job, an entry, a screening, a promise, planned hours, a choice of photos, or a signature of either
/// version.
fn closing() -> impl Strategy<Value = Body> {
    prop_oneof![
        (0..2_u128, any::<bool>()).prop_map(|(n, retired)| {
            let set = JobMemberPatch {
                roles: Some([Role::Inspector].into()),
                retired: Some(retired),
                ..JobMemberPatch::default()
            };
            On { id: UserId(Uuid::from_u128(n)), set }.into()
        }),
        (0..2_u128, words()).prop_map(|(n, text)| {
            let set = EntryPatch { text: Some(text.into()), ..EntryPatch::default() };
            On { id: EntryId(Uuid::from_u128(n)), set }.into()
        }),
        (0..2_u128, any::<bool>()).prop_map(|(n, yes)| {
            let set = ScreeningPatch {
                answers: Some(vec![Screened { question: "Is it?".into(), yes }]),
                extent: Some(if yes { Extent::Major } else { Extent::Minor }),
                ..ScreeningPatch::default()
            };
            On { id: ScreeningId(Uuid::from_u128(n)), set }.into()
        }),
        (0..2_u128, words(), prop::option::of(typed(2_000))).prop_map(|(n, what, hours)| {
            let set =
                PromisePatch { what: Some(what.into()), due_hours: Some(hours), ..PromisePatch::default() };
            On { id: PromiseId(Uuid::from_u128(n)), set }.into()
        }),
        (0..3_u8, prop::option::of(typed(9))).prop_map(|(n, hours)| {
            let set = EstimatePatch { hours: Some(hours), ..EstimatePatch::default() };
            On { id: step(n), set }.into()
        }),
        (0..3_u128, any::<bool>()).prop_map(|(n, left_out)| {
            let set = RecordPhotoPatch { left_out: Some(left_out), ..RecordPhotoPatch::default() };
            On { id: PhotoId(Uuid::from_u128(n)), set }.into()
        }),
        (0..2_u128, words(), any::<bool>()).prop_map(|(n, name, first)| {
            let (id, name) = (SignatureId(Uuid::from_u128(n)), Some(name.into()));
            if first {
                let set = FirstSignaturePatch { name, ..FirstSignaturePatch::default() };
                return On { id, set }.into();
            }
            let capacity = Some(Capacity::Accepted);
            On { id, set: SignaturePatch { name, capacity, ..SignaturePatch::default() } }.into()
        }),
    ]
}

/// A history: clocks from a year slow to a year fast, and each change replacing any earlier ones.
pub fn history() -> impl Strategy<Value = Vec<Entry>> {
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
