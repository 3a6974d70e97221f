//! What a job's log holds, entity by entity. The fold is in [`crate::fold`].

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::check::{Checked, always_fine};
use crate::closing::{Entry, Promise, Screening};
use crate::coverage::Coverage;
use crate::digest::Digest;
use crate::entities::Entities;
use crate::entity::entity;
use crate::field::Mark;
use crate::fields::fielded;
use crate::ids::{
    AircraftId, ChangeId, CommentId, DamageId, DataReferenceId, DecisionId, EntryId, FindingId, HardwareId,
    HoleId, HolePhotoId, JointId, LayupId, MaterialId, NoteId, OfferId, OverrideId, PhotoId, PlyId,
    PlyPhotoId, PromiseId, ProofId, ReadingId, ScreeningId, SignatureId, StepId, StockId, TimeId, ToolUseId,
    UserId, WorksheetId,
};
use crate::joint::{Hole, HolePhoto, Joint};
use crate::layup::{Damage, Layup, Ply, PlyPhoto};
use crate::on_step::OnStep;
use crate::order::OrderKey;
use crate::record_photo::RecordPhoto;
use crate::review::{Comment, Override, Pin, Proof};
use crate::shop::JobMember;
use crate::signature::Signature;
use crate::text::{LongText, Registration, ShortText};
use crate::time::{Day, UtcMillis};
use crate::working_time::{Estimate, TimeEntry};
use crate::worksheet::{BadInput, WorksheetKind, WorksheetResult};

/// When, relative to the work of a step.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Moment {
    /// As it was before the work.
    #[default]
    Before,
    /// While the work went on.
    During,
    /// As it is after the work.
    After,
}

impl Moment {
    /// Every moment, in order.
    pub const ALL: [Self; 3] = [Self::Before, Self::During, Self::After];

    /// The moment's name on screens.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Before => "before",
            Self::During => "during",
            Self::After => "after",
        }
    }
}

/// What kind of material a material line is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum MaterialKind {
    /// Resin with its hardener.
    Resin,
    /// Reinforcing cloth or mat.
    Cloth,
    /// Core.
    Core,
    /// Adhesive or filler.
    Adhesive,
    /// Sealant.
    Sealant,
    /// Primer.
    Primer,
    /// Paint.
    Paint,
    /// Cleaner or solvent.
    Solvent,
    /// Anything else.
    #[default]
    Other,
}

impl MaterialKind {
    /// Every kind, in the order screens list them.
    pub const ALL: [Self; 9] = [
        Self::Resin,
        Self::Cloth,
        Self::Core,
        Self::Adhesive,
        Self::Sealant,
        Self::Primer,
        Self::Paint,
        Self::Solvent,
        Self::Other,
    ];

    /// The kind's name on screens.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Resin => "resin",
            Self::Cloth => "cloth",
            Self::Core => "core",
            Self::Adhesive => "adhesive or filler",
            Self::Sealant => "sealant",
            Self::Primer => "primer",
            Self::Paint => "paint",
            Self::Solvent => "cleaner or solvent",
            Self::Other => "other",
        }
    }
}

/// What an inspector decided on an offer.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// Good as offered.
    Accept,
    /// Sent back with findings.
    #[default]
    Return,
}

always_fine!(
    Moment,
    MaterialKind,
    Outcome,
    Coverage,
    DataReferenceId,
    DecisionId,
    FindingId,
    OfferId,
    PhotoId,
    StepId
);

entity! {
    /// The job itself: which aircraft, which part, what is wrong.
    Job / JobPatch {
        /// The job in one line.
        title: ShortText,
        /// The shop's aircraft, if it is one of them.
        aircraft: Option<AircraftId>,
        /// Nationality and registration marks, copied so that the job stands alone.
        registration: Registration,
        /// Aircraft type, in words.
        aircraft_type: ShortText,
        /// Aircraft serial number.
        aircraft_serial: ShortText,
        /// The part being repaired.
        part: ShortText,
        /// Its part number, as the type's own data names it.
        part_number: ShortText,
        /// Its serial number.
        part_serial: ShortText,
        /// What is wrong, as found.
        discrepancy: LongText,
        /// When the job was closed, if it is.
        closed_at: Option<UtcMillis>,
        /// What is said at closing: work done, what must be re-checked.
        closing_statement: LongText,
    }
}

entity! {
    /// A document and paragraph that the work is done to.
    DataReference / DataReferencePatch {
        /// The document.
        document: ShortText,
        /// Revision or date.
        revision: ShortText,
        /// Chapter, paragraph, figure.
        paragraph: ShortText,
    }
}

entity! {
    /// One stage of work.
    Step / StepPatch {
        /// What is done.
        title: ShortText,
        /// How, and what to watch for.
        instruction: LongText,
        /// Its place among the steps.
        order: OrderKey,
        /// Must it be accepted before a later one may start?
        hold_point: bool,
        /// Why it is skipped; empty when it isn't.
        skipped: LongText,
        /// When work on it began.
        started_at: Option<UtcMillis>,
        /// When the mechanic finished it.
        finished_at: Option<UtcMillis>,
    }
}

entity! {
    /// A photo: its bytes are stored under their digest.
    Photo / PhotoPatch {
        /// SHA-256 of the bytes as captured.
        digest: Digest,
        /// Length in bytes.
        bytes: u64,
        /// Media type, from the bytes' own signature.
        media_type: ShortText,
        /// Width in pixels, upright.
        width: u32,
        /// Height in pixels, upright.
        height: u32,
        /// Before, during or after.
        moment: Moment,
        /// What it shows.
        caption: ShortText,
        /// When it was taken, by the device's clock.
        taken_at: Option<UtcMillis>,
        /// The finding it answers, if it does.
        answers: Option<FindingId>,
    }
}

entity! {
    /// A note.
    Note / NotePatch {
        /// The text.
        text: LongText,
        /// Before, during or after.
        moment: Moment,
    }
}

entity! {
    /// A measured value with its limits and tool.
    Reading / ReadingPatch {
        /// What was measured.
        label: ShortText,
        /// The number as entered: `0.129`, `5/32`.
        value: ShortText,
        /// Its unit; the limits are in the same one.
        unit: ShortText,
        /// Least accepted, if there is such a limit.
        minimum: ShortText,
        /// Most accepted, if there is such a limit.
        maximum: ShortText,
        /// Where the limits come from.
        limit_source: ShortText,
        /// The tool it was measured with.
        tool: ShortText,
        /// Before, during or after.
        moment: Moment,
        /// When it was measured.
        measured_at: Option<UtcMillis>,
        /// The finding it answers, if it does.
        answers: Option<FindingId>,
    }
}

entity! {
    /// Fasteners used.
    HardwareLine / HardwarePatch {
        /// Part number.
        part_number: ShortText,
        /// In words.
        description: ShortText,
        /// How many went in.
        quantity: Option<f64>,
        /// Batch or lot.
        batch: ShortText,
        /// Release document or certificate it came with.
        source_document: ShortText,
        /// Last day of use, if it has one.
        expiry: Option<Day>,
        /// The shelf item it was taken from.
        stock: Option<StockId>,
        /// Why it was used although expired.
        expired_reason: LongText,
    }
}

entity! {
    /// Resin, cloth, sealant, primer or paint used.
    MaterialLine / MaterialPatch {
        /// What kind.
        kind: MaterialKind,
        /// Designation.
        name: ShortText,
        /// Batch or lot.
        batch: ShortText,
        /// Release document or certificate it came with.
        source_document: ShortText,
        /// Last day of use.
        expiry: Option<Day>,
        /// Why it was used although expired.
        expired_reason: LongText,
        /// How much: `120 g`, `0.4 m²`.
        quantity: ShortText,
        /// Mixing ratio as the maker states it, with "by weight" or "by volume".
        mix: ShortText,
        /// When it was mixed.
        mixed_at: Option<UtcMillis>,
        /// Pot life in minutes at the shop's temperature.
        pot_life_minutes: Option<f64>,
        /// When cure began.
        cure_started_at: Option<UtcMillis>,
        /// Cure time in hours.
        cure_hours: Option<f64>,
        /// Cure temperature, with its unit.
        cure_temperature: ShortText,
        /// The shelf item it was taken from.
        stock: Option<StockId>,
    }
}

entity! {
    /// A tool used on a step.
    ToolUse / ToolUsePatch {
        /// What it is.
        name: ShortText,
        /// The number on it.
        identifier: ShortText,
        /// When its calibration is due, if it needs any.
        calibration_due: Option<Day>,
    }
}

entity! {
    /// A calculation that was asked for. Its answer is [`Answer`], from the server.
    Worksheet / WorksheetPatch {
        /// Which calculation.
        kind: WorksheetKind,
        /// What it is for, in words.
        title: ShortText,
        /// The inputs, as the kind's schema wants them.
        input: Value,
    }
}

entity! {
    /// A step offered for inspection.
    Offer / OfferPatch {
        /// What the inspector should know.
        note: LongText,
        /// What exactly is offered.
        coverage: Coverage,
    }
}

entity! {
    /// An inspector's acceptance or return of an offer.
    Decision / DecisionPatch {
        /// The offer decided on.
        offer: OfferId,
        /// Accepted or returned.
        outcome: Outcome,
        /// In words.
        remark: LongText,
        /// What exactly was looked at.
        coverage: Coverage,
    }
}

entity! {
    /// What the inspector wants put right.
    Finding / FindingPatch {
        /// The return it belongs to.
        decision: DecisionId,
        /// What to put right.
        text: LongText,
        /// What the mechanic did about it.
        answer: LongText,
    }
}

/// The server's answer to a worksheet: the one of record for its input.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Answer {
    /// Digest of the input it answers; another input wants another answer.
    pub input: Digest,
    /// The result, or why the engine refuses.
    pub outcome: AnswerOutcome,
}

/// A result, or a refusal with its reasons.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum AnswerOutcome {
    /// Worked out.
    Result(Box<WorksheetResult>),
    /// Refused: bad input.
    Refused(Vec<BadInput>),
}

impl Default for AnswerOutcome {
    fn default() -> Self {
        Self::Refused(Vec::new())
    }
}

/// The fold of a job's log.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct JobState {
    /// The job itself.
    pub job: Job,
    /// What the work is done to.
    pub data_references: Entities<DataReferenceId, DataReference>,
    /// The stages; see [`JobState::steps_in_order`](crate::status).
    pub steps: Entities<StepId, Step>,
    /// Photos.
    pub photos: Entities<PhotoId, OnStep<Photo>>,
    /// Notes.
    pub notes: Entities<NoteId, OnStep<Note>>,
    /// Readings.
    pub readings: Entities<ReadingId, OnStep<Reading>>,
    /// Hardware lines.
    pub hardware: Entities<HardwareId, OnStep<HardwareLine>>,
    /// Material lines.
    pub materials: Entities<MaterialId, OnStep<MaterialLine>>,
    /// Tools used.
    pub tools: Entities<ToolUseId, OnStep<ToolUse>>,
    /// Working time.
    pub times: Entities<TimeId, OnStep<TimeEntry>>,
    /// Calculations.
    pub worksheets: Entities<WorksheetId, OnStep<Worksheet>>,
    /// The server's answers, latest first by mark; older ones answer older inputs.
    pub answers: BTreeMap<WorksheetId, BTreeMap<ChangeId, (Mark, Answer)>>,
    /// Offers.
    pub offers: Entities<OfferId, OnStep<Offer>>,
    /// Acceptances and returns.
    pub decisions: Entities<DecisionId, OnStep<Decision>>,
    /// Findings.
    pub findings: Entities<FindingId, OnStep<Finding>>,
    /// Statements over the whole job.
    pub signatures: Entities<SignatureId, Signature>,
    /// Joints.
    pub joints: Entities<JointId, Joint>,
    /// The holes of all joints.
    pub holes: Entities<HoleId, Hole>,
    /// Which photos show which holes.
    pub hole_photos: Entities<HolePhotoId, HolePhoto>,
    /// Layups.
    pub layups: Entities<LayupId, Layup>,
    /// The plies of all layups.
    pub plies: Entities<PlyId, Ply>,
    /// Which photos show which plies.
    pub ply_photos: Entities<PlyPhotoId, PlyPhoto>,
    /// The damages that repair layups fill.
    pub damages: Entities<DamageId, Damage>,
    /// Comments on steps.
    pub comments: Entities<CommentId, OnStep<Comment>>,
    /// Where findings point to.
    pub pins: Entities<FindingId, OnStep<Pin>>,
    /// What shows that findings were put right.
    pub proofs: Entities<ProofId, OnStep<Proof>>,
    /// Hold points that a lead overrode.
    pub overrides: Entities<OverrideId, OnStep<Override>>,
    /// Who has roles on this job alone, besides those in the shop.
    pub members: Entities<UserId, JobMember>,
    /// Drafts of the maintenance-record entry.
    pub entries: Entities<EntryId, Entry>,
    /// Whether the repair is major.
    pub screenings: Entities<ScreeningId, Screening>,
    /// What must be looked at again.
    pub promises: Entities<PromiseId, Promise>,
    /// Planned hours of steps.
    pub estimates: Entities<StepId, Estimate>,
    /// Choices of photos for the record.
    pub record_photos: Entities<PhotoId, RecordPhoto>,
    /// Changes of kinds that this version doesn't know: kept, passed on, folded after an update.
    pub unknown: BTreeSet<ChangeId>,
}

fielded!(JobState {
    objects: job, data_references, steps, photos, notes, readings, hardware, materials, tools, times,
        worksheets, offers, decisions, findings, signatures, joints, holes, hole_photos, layups, plies,
        ply_photos, damages, comments, pins, proofs, overrides, members, entries, screenings, promises,
        estimates, record_photos;
    others: answers, unknown,
});
