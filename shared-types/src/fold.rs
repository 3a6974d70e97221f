//! The fold: from changes to state, the same on the server and on every device.
//!
//! Commutative and idempotent: any order and any repetition of the same changes
//! give the same state. It never fails: what it can't use it keeps in `unknown`.

use serde_json::{Map, Value};

use crate::body::{Body, Known, OnStep as PatchOnStep};
use crate::change::{Change, Entry};
use crate::closing::{Entry as RecordEntry, Promise, Screening};
use crate::digest::Digest;
use crate::entities::Entities;
use crate::entity::Entity;
use crate::field::Mark;
use crate::ids::{Author, ChangeId};
use crate::job::{
    DataReference, Decision, Finding, HardwareLine, Job, JobState, MaterialLine, Note, Offer, Photo, Reading,
    Step, ToolUse, Worksheet,
};
use crate::joint::{Hole, HolePhoto, Joint};
use crate::layup::{Damage, Layup, Ply, PlyPhoto};
use crate::on_step::OnStep;
use crate::record_photo::RecordPhoto;
use crate::review::{Comment, Override, Pin, Proof};
use crate::shop::{
    Aircraft, AircraftFigures, EntryTemplate, JobMember, Member, Procedure, Shop, ShopState, Stock, Tool,
};
use crate::signature::{Signature, SignaturePatch};
use crate::working_time::{Estimate, TimeEntry};

/// Raised by hand when the fold of known kinds changes: snapshots made before are not used then.
const FOLD: u32 = 3;

/// Names the fold that made a snapshot: changes that an older version could not fold must be
/// folded anew by a newer one.
#[must_use]
pub fn name() -> String {
    format!("{FOLD}-{}", Digest::of(Known::KINDS.concat().as_bytes()).short())
}

/// One change on its way into a state.
struct Applied<'a> {
    mark: Mark,
    replaces: &'a [ChangeId],
}

impl Applied<'_> {
    fn to<T: Entity>(&self, entity: &mut T, patch: &T::Patch) {
        entity.apply(patch, &self.mark, self.replaces);
    }

    fn on_step<I: Copy + Ord, T: Entity>(
        &self,
        all: &mut Entities<I, OnStep<T>>,
        body: &PatchOnStep<I, T::Patch>,
    ) {
        let known = all.contains_key(&body.id);
        let entity = all.alter(body.id);
        // Every honest change of an entity names the same step. Should two disagree, the
        // smaller one counts, whichever came first.
        entity.step = if known { entity.step.min(body.step) } else { body.step };
        self.to(&mut entity.it, &body.set);
    }
}

impl JobState {
    /// Folds one change in.
    pub fn apply(&mut self, entry: &Entry) {
        let applied = Applied { mark: entry.mark(), replaces: &entry.change.replaces };
        let Body::Known(body) = &entry.change.body else {
            self.unknown.insert(entry.change.id);
            return;
        };
        match body {
            Known::Job(body) => applied.to(&mut self.job, &body.set),
            Known::DataReference(body) => {
                applied.to(self.data_references.alter(body.id), &body.set);
            }
            Known::Step(body) => applied.to(self.steps.alter(body.id), &body.set),
            Known::Photo(body) => applied.on_step(&mut self.photos, body),
            Known::Note(body) => applied.on_step(&mut self.notes, body),
            Known::Reading(body) => applied.on_step(&mut self.readings, body),
            Known::Hardware(body) => applied.on_step(&mut self.hardware, body),
            Known::Material(body) => applied.on_step(&mut self.materials, body),
            Known::ToolUse(body) => applied.on_step(&mut self.tools, body),
            Known::Time(body) => applied.on_step(&mut self.times, body),
            Known::Worksheet(body) => applied.on_step(&mut self.worksheets, body),
            Known::Answer(body) => {
                // Only the server's word is of record, whoever else claims to answer.
                if applied.mark.author == Author::Server {
                    let answer = (applied.mark, body.answer.clone());
                    self.answers.entry(body.id).or_default().insert(entry.change.id, answer);
                }
            }
            Known::Offer(body) => applied.on_step(&mut self.offers, body),
            Known::Decision(body) => applied.on_step(&mut self.decisions, body),
            Known::Finding(body) => applied.on_step(&mut self.findings, body),
            Known::FirstSignature(body) => {
                applied.to(self.signatures.alter(body.id), &SignaturePatch::from(&body.set));
            }
            Known::Signature(body) => applied.to(self.signatures.alter(body.id), &body.set),
            Known::Joint(body) => applied.to(self.joints.alter(body.id), &body.set),
            Known::Hole(body) => applied.to(self.holes.alter(body.id), &body.set),
            Known::HolePhoto(body) => applied.to(self.hole_photos.alter(body.id), &body.set),
            Known::Layup(body) => applied.to(self.layups.alter(body.id), &body.set),
            Known::Ply(body) => applied.to(self.plies.alter(body.id), &body.set),
            Known::PlyPhoto(body) => applied.to(self.ply_photos.alter(body.id), &body.set),
            Known::Damage(body) => applied.to(self.damages.alter(body.id), &body.set),
            Known::Comment(body) => applied.on_step(&mut self.comments, body),
            Known::Pin(body) => applied.on_step(&mut self.pins, body),
            Known::Proof(body) => applied.on_step(&mut self.proofs, body),
            Known::Override(body) => applied.on_step(&mut self.overrides, body),
            Known::JobMember(body) => applied.to(self.members.alter(body.id), &body.set),
            Known::Entry(body) => applied.to(self.entries.alter(body.id), &body.set),
            Known::Screening(body) => applied.to(self.screenings.alter(body.id), &body.set),
            Known::Promise(body) => applied.to(self.promises.alter(body.id), &body.set),
            Known::Estimate(body) => applied.to(self.estimates.alter(body.id), &body.set),
            Known::RecordPhoto(body) => applied.to(self.record_photos.alter(body.id), &body.set),
            Known::Shop(_)
            | Known::Member(_)
            | Known::Aircraft(_)
            | Known::Tool(_)
            | Known::Stock(_)
            | Known::Procedure(_)
            | Known::AircraftFigures(_)
            | Known::EntryTemplate(_) => {
                self.unknown.insert(entry.change.id);
            }
        }
    }
}

impl ShopState {
    /// Folds one change in.
    pub fn apply(&mut self, entry: &Entry) {
        let applied = Applied { mark: entry.mark(), replaces: &entry.change.replaces };
        match &entry.change.body {
            Body::Known(Known::Shop(body)) => applied.to(&mut self.shop, &body.set),
            Body::Known(Known::Member(body)) => {
                applied.to(self.members.alter(body.id), &body.set);
            }
            Body::Known(Known::Aircraft(body)) => {
                applied.to(self.aircraft.alter(body.id), &body.set);
            }
            Body::Known(Known::Tool(body)) => applied.to(self.tools.alter(body.id), &body.set),
            Body::Known(Known::Stock(body)) => applied.to(self.stock.alter(body.id), &body.set),
            Body::Known(Known::Procedure(body)) => {
                applied.to(self.procedures.alter(body.id), &body.set);
            }
            Body::Known(Known::AircraftFigures(body)) => {
                applied.to(self.figures.alter(body.id), &body.set);
            }
            Body::Known(Known::EntryTemplate(body)) => {
                applied.to(self.entry_templates.alter(body.id), &body.set);
            }
            Body::Known(_) | Body::Unknown { .. } => {
                self.unknown.insert(entry.change.id);
            }
        }
    }
}

/// Does a body belong into a shop's log? Everything else belongs into a job's.
#[must_use]
pub const fn belongs_to_shop(body: &Known) -> bool {
    matches!(
        body,
        Known::Shop(_)
            | Known::Member(_)
            | Known::Aircraft(_)
            | Known::Tool(_)
            | Known::Stock(_)
            | Known::Procedure(_)
            | Known::AircraftFigures(_)
            | Known::EntryTemplate(_)
    )
}

/// The entity a body patches, as `kind/id`; the one shop or job of a log is `shop` or `job`.
#[must_use]
pub fn subject(body: &Body) -> String {
    match body {
        Body::Unknown { kind, .. } => kind.clone(),
        Body::Known(known) => {
            let kind = known.kind();
            let kind = kind.split_once(".v").map_or(kind, |(kind, _)| kind);
            let id = serde_json::to_value(known)
                .ok()
                .and_then(|body| body.get("id").and_then(Value::as_str).map(str::to_owned));
            id.map_or_else(|| kind.to_owned(), |id| format!("{kind}/{id}"))
        }
    }
}

/// Applies `$do!(EntityType, entity or none, patch)` to the entity that a job body patches.
macro_rules! with_job_entity {
    ($state:expr, $body:expr, |$entity:ident, $set:ident| $result:expr, else $other:expr) => {{
        let state: &JobState = $state;
        macro_rules! found {
            ($type:ty, $found:expr, $body_set:expr) => {{
                let empty = std::cell::OnceCell::new();
                let $entity: &$type = $found.unwrap_or_else(|| empty.get_or_init(<$type>::default));
                let $set = $body_set;
                $result
            }};
        }
        match $body {
            Known::Job(body) => found!(Job, Some(&state.job), &body.set),
            Known::DataReference(body) => {
                found!(DataReference, state.data_references.get(&body.id), &body.set)
            }
            Known::Step(body) => found!(Step, state.steps.get(&body.id), &body.set),
            Known::Photo(body) => found!(Photo, state.photos.get(&body.id).map(|it| &it.it), &body.set),
            Known::Note(body) => {
                found!(Note, state.notes.get(&body.id).map(|it| &it.it), &body.set)
            }
            Known::Reading(body) => found!(Reading, state.readings.get(&body.id).map(|it| &it.it), &body.set),
            Known::Hardware(body) => {
                found!(HardwareLine, state.hardware.get(&body.id).map(|it| &it.it), &body.set)
            }
            Known::Material(body) => {
                found!(MaterialLine, state.materials.get(&body.id).map(|it| &it.it), &body.set)
            }
            Known::ToolUse(body) => found!(ToolUse, state.tools.get(&body.id).map(|it| &it.it), &body.set),
            Known::Time(body) => found!(TimeEntry, state.times.get(&body.id).map(|it| &it.it), &body.set),
            Known::Worksheet(body) => {
                found!(Worksheet, state.worksheets.get(&body.id).map(|it| &it.it), &body.set)
            }
            Known::Offer(body) => found!(Offer, state.offers.get(&body.id).map(|it| &it.it), &body.set),
            Known::Decision(body) => {
                found!(Decision, state.decisions.get(&body.id).map(|it| &it.it), &body.set)
            }
            Known::Finding(body) => found!(Finding, state.findings.get(&body.id).map(|it| &it.it), &body.set),
            Known::FirstSignature(body) => {
                found!(Signature, state.signatures.get(&body.id), &SignaturePatch::from(&body.set))
            }
            Known::Signature(body) => found!(Signature, state.signatures.get(&body.id), &body.set),
            Known::Joint(body) => found!(Joint, state.joints.get(&body.id), &body.set),
            Known::Hole(body) => found!(Hole, state.holes.get(&body.id), &body.set),
            Known::HolePhoto(body) => found!(HolePhoto, state.hole_photos.get(&body.id), &body.set),
            Known::Layup(body) => found!(Layup, state.layups.get(&body.id), &body.set),
            Known::Ply(body) => found!(Ply, state.plies.get(&body.id), &body.set),
            Known::PlyPhoto(body) => found!(PlyPhoto, state.ply_photos.get(&body.id), &body.set),
            Known::Damage(body) => found!(Damage, state.damages.get(&body.id), &body.set),
            Known::Comment(body) => found!(Comment, state.comments.get(&body.id).map(|it| &it.it), &body.set),
            Known::Pin(body) => found!(Pin, state.pins.get(&body.id).map(|it| &it.it), &body.set),
            Known::Proof(body) => found!(Proof, state.proofs.get(&body.id).map(|it| &it.it), &body.set),
            Known::Override(body) => {
                found!(Override, state.overrides.get(&body.id).map(|it| &it.it), &body.set)
            }
            Known::JobMember(body) => found!(JobMember, state.members.get(&body.id), &body.set),
            Known::Entry(body) => found!(RecordEntry, state.entries.get(&body.id), &body.set),
            Known::Screening(body) => found!(Screening, state.screenings.get(&body.id), &body.set),
            Known::Promise(body) => found!(Promise, state.promises.get(&body.id), &body.set),
            Known::Estimate(body) => found!(Estimate, state.estimates.get(&body.id), &body.set),
            Known::RecordPhoto(body) => found!(RecordPhoto, state.record_photos.get(&body.id), &body.set),
            _ => $other,
        }
    }};
}

macro_rules! with_shop_entity {
    ($state:expr, $body:expr, |$entity:ident, $set:ident| $result:expr, else $other:expr) => {{
        let state: &ShopState = $state;
        macro_rules! found {
            ($type:ty, $found:expr, $body_set:expr) => {{
                let empty = std::cell::OnceCell::new();
                let $entity: &$type = $found.unwrap_or_else(|| empty.get_or_init(<$type>::default));
                let $set = $body_set;
                $result
            }};
        }
        match $body {
            Known::Shop(body) => found!(Shop, Some(&state.shop), &body.set),
            Known::Member(body) => found!(Member, state.members.get(&body.id), &body.set),
            Known::Aircraft(body) => found!(Aircraft, state.aircraft.get(&body.id), &body.set),
            Known::Tool(body) => found!(Tool, state.tools.get(&body.id), &body.set),
            Known::Stock(body) => found!(Stock, state.stock.get(&body.id), &body.set),
            Known::Procedure(body) => found!(Procedure, state.procedures.get(&body.id), &body.set),
            Known::AircraftFigures(body) => {
                found!(AircraftFigures, state.figures.get(&body.id), &body.set)
            }
            Known::EntryTemplate(body) => {
                found!(EntryTemplate, state.entry_templates.get(&body.id), &body.set)
            }
            _ => $other,
        }
    }};
}

/// A state that changes can be made against.
pub trait Folded {
    /// The changes whose values a body would replace: what goes into [`Change::replaces`].
    fn seen(&self, body: &Known) -> Vec<ChangeId>;

    /// The body that takes `body` back, worked out before it is applied. `None` for what
    /// can't be taken back by a person (the server's answers).
    fn undo(&self, body: &Known) -> Option<Known>;

    /// Folds one change in.
    fn fold(&mut self, entry: &Entry);
}

/// The same body, setting something else.
fn with_set(body: &Known, set: Map<String, Value>) -> Option<Known> {
    let mut body = serde_json::to_value(body).ok()?;
    body["set"] = Value::Object(set);
    serde_json::from_value(body).ok()
}

impl Folded for JobState {
    fn seen(&self, body: &Known) -> Vec<ChangeId> {
        with_job_entity!(self, body, |entity, set| entity.seen(set), else Vec::new())
    }

    fn undo(&self, body: &Known) -> Option<Known> {
        with_job_entity!(self, body, |entity, set| with_set(body, entity.undo(set)), else None)
    }

    fn fold(&mut self, entry: &Entry) {
        self.apply(entry);
    }
}

impl Folded for ShopState {
    fn seen(&self, body: &Known) -> Vec<ChangeId> {
        with_shop_entity!(self, body, |entity, set| entity.seen(set), else Vec::new())
    }

    fn undo(&self, body: &Known) -> Option<Known> {
        with_shop_entity!(self, body, |entity, set| with_set(body, entity.undo(set)), else None)
    }

    fn fold(&mut self, entry: &Entry) {
        self.apply(entry);
    }
}

/// Folds changes into a state; a helper for tests, exports and first loads.
pub fn fold_all<'a, S: Folded + Default>(entries: impl IntoIterator<Item = &'a Entry>) -> S {
    let mut state = S::default();
    for entry in entries {
        state.fold(entry);
    }
    state
}

impl From<Change> for Entry {
    fn from(change: Change) -> Self {
        Self { change, received: None }
    }
}
