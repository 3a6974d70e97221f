//! What a change does: one kind per entity, versioned, and room for kinds of newer versions.
//!
//! A kind, once released, is frozen: another field means another version
//! (`reading.v2`) beside the old one, never an edit of it.

use serde::de::{DeserializeOwned, Error as _};
use serde::ser::Error as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_json::{Error, Value};

use crate::check::Problem;
use crate::closing::{EntryPatch, PromisePatch, ScreeningPatch};
use crate::entity::Patch;
use crate::fields::{Fielded, Fields};
use crate::ids::{
    AircraftId, CommentId, DamageId, DataReferenceId, DecisionId, EntryId, EntryTemplateId, FindingId,
    HardwareId, HoleId, HolePhotoId, JointId, LayupId, MaterialId, NoteId, OfferId, OverrideId, PhotoId,
    PlyId, PlyPhotoId, ProcedureId, PromiseId, ProofId, ReadingId, ScreeningId, SignatureId, StepId, StockId,
    TimeId, ToolId, ToolUseId, UserId, WorksheetId,
};
use crate::job::{
    Answer, DataReferencePatch, DecisionPatch, FindingPatch, HardwarePatch, JobPatch, MaterialPatch,
    NotePatch, OfferPatch, PhotoPatch, ReadingPatch, StepPatch, ToolUsePatch, WorksheetPatch,
};
use crate::joint::{HolePatch, HolePhotoPatch, JointPatch};
use crate::layup::{DamagePatch, LayupPatch, PlyPatch, PlyPhotoPatch};
use crate::record_photo::RecordPhotoPatch;
use crate::review::{CommentPatch, OverridePatch, PinPatch, ProofPatch};
use crate::shop::{
    AircraftFiguresPatch, AircraftPatch, EntryTemplatePatch, JobMemberPatch, MemberPatch, ProcedurePatch,
    ShopPatch, StockPatch, ToolPatch,
};
use crate::signature::{FirstSignaturePatch, SignaturePatch};
use crate::working_time::{EstimatePatch, TimePatch};

/// The name of the field that says which kind a body is of.
const KIND: &str = "kind";
/// The name of the field that says which entity it patches.
const ID: &str = "id";
/// The name of the field that says on which step that is.
const STEP: &str = "step";
/// The name of the field with the patch.
const SET: &str = "set";
/// The name of the field with the server's answer.
const ANSWER: &str = "answer";

/// A patch to an entity of the log.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct On<I, P> {
    /// Which entity; the first patch adds it.
    pub id: I,
    /// What is set.
    pub set: P,
}

/// A patch to an entity that belongs to a step, or to the discrepancy when `step` is absent.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct OnStep<I, P> {
    /// Which entity; the first patch adds it.
    pub id: I,
    /// The step, always the same one for one entity.
    pub step: Option<StepId>,
    /// What is set.
    pub set: P,
}

/// A patch to the one shop or the one job of a log.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct The<P> {
    /// What is set.
    pub set: P,
}

/// The server's answer to a worksheet.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Answered {
    /// Which worksheet.
    pub id: WorksheetId,
    /// The answer.
    pub answer: Answer,
}

impl<I, P: Patch> On<I, P> {
    fn problems(&self) -> Vec<Problem> {
        self.set.problems()
    }
}

impl<I, P: Patch> OnStep<I, P> {
    fn problems(&self) -> Vec<Problem> {
        self.set.problems()
    }
}

impl<P: Patch> The<P> {
    fn problems(&self) -> Vec<Problem> {
        self.set.problems()
    }
}

impl Answered {
    /// The server's own.
    const fn problems(&self) -> Vec<Problem> {
        Vec::new()
    }
}

impl<I: Serialize + DeserializeOwned, P: Fielded> Fielded for On<I, P> {
    fn write(&self, fields: &mut Fields) -> Result<(), Error> {
        fields.put(ID, &self.id)?;
        fields.put_object(SET, &self.set)
    }

    fn read(&mut self, fields: &mut Fields) -> Result<(), Error> {
        self.id = fields.take(ID)?;
        fields.take_object(SET, &mut self.set)
    }
}

impl<I: Serialize + DeserializeOwned, P: Fielded> Fielded for OnStep<I, P> {
    fn write(&self, fields: &mut Fields) -> Result<(), Error> {
        fields.put(ID, &self.id)?;
        if let Some(step) = &self.step {
            fields.put(STEP, step)?;
        }
        fields.put_object(SET, &self.set)
    }

    fn read(&mut self, fields: &mut Fields) -> Result<(), Error> {
        self.id = fields.take(ID)?;
        fields.fill(STEP, &mut self.step)?;
        fields.take_object(SET, &mut self.set)
    }
}

impl<P: Fielded> Fielded for The<P> {
    fn write(&self, fields: &mut Fields) -> Result<(), Error> {
        fields.put_object(SET, &self.set)
    }

    fn read(&mut self, fields: &mut Fields) -> Result<(), Error> {
        fields.take_object(SET, &mut self.set)
    }
}

impl Fielded for Answered {
    fn write(&self, fields: &mut Fields) -> Result<(), Error> {
        fields.put(ID, &self.id)?;
        fields.put(ANSWER, &self.answer)
    }

    fn read(&mut self, fields: &mut Fields) -> Result<(), Error> {
        self.id = fields.take(ID)?;
        self.answer = fields.take(ANSWER)?;
        Ok(())
    }
}

macro_rules! kinds {
    ($( $(#[$meta:meta])* $name:literal $variant:ident($content:ty) )+) => {
        /// A body of a kind that this version knows.
        #[derive(Clone, Debug, PartialEq)]
        pub enum Known {
            $( $(#[$meta])* $variant($content), )+
        }

        impl Known {
            /// Every kind's name on the wire.
            pub const KINDS: &[&'static str] = &[$($name),+];

            /// This body's kind.
            #[must_use]
            pub const fn kind(&self) -> &'static str {
                match self { $( Self::$variant(_) => $name, )+ }
            }

            /// Everything in it that is out of limits.
            #[must_use]
            pub fn problems(&self) -> Vec<Problem> {
                match self { $( Self::$variant(content) => content.problems(), )+ }
            }

            /// Reads the body of a kind; gives it back when this version doesn't know the kind.
            fn read(kind: &str, body: Fields) -> Result<Result<Self, Error>, Fields> {
                let mut fields = body;
                match kind {
                    $( $name => {
                        let mut content = <$content>::default();
                        Ok(content.read(&mut fields).map(|()| Self::$variant(content)))
                    } )+
                    _ => Err(fields),
                }
            }

            fn write(&self, fields: &mut Fields) -> Result<(), Error> {
                match self { $( Self::$variant(content) => content.write(fields), )+ }
            }
        }

        $( impl From<$content> for Body {
            fn from(content: $content) -> Self {
                Self::Known(Known::$variant(content))
            }
        } )+
    };
}

kinds! {
    /// The shop.
    "shop.v1" Shop(The<ShopPatch>)
    /// A membership.
    "member.v1" Member(On<UserId, MemberPatch>)
    /// An aircraft of the shop.
    "aircraft.v1" Aircraft(On<AircraftId, AircraftPatch>)
    /// A tool of the shop.
    "tool.v1" Tool(On<ToolId, ToolPatch>)
    /// A shelf item.
    "stock.v1" Stock(On<StockId, StockPatch>)
    /// A procedure template.
    "procedure.v1" Procedure(On<ProcedureId, ProcedurePatch>)
    /// How an aircraft stands.
    "aircraft-figures.v1" AircraftFigures(On<AircraftId, AircraftFiguresPatch>)
    /// What maintenance-record entries are made from.
    "entry-template.v1" EntryTemplate(On<EntryTemplateId, EntryTemplatePatch>)
    /// The job.
    "job.v1" Job(The<JobPatch>)
    /// A data reference.
    "data-reference.v1" DataReference(On<DataReferenceId, DataReferencePatch>)
    /// A step.
    "step.v1" Step(On<StepId, StepPatch>)
    /// A photo.
    "photo.v1" Photo(OnStep<PhotoId, PhotoPatch>)
    /// A note.
    "note.v1" Note(OnStep<NoteId, NotePatch>)
    /// A reading.
    "reading.v1" Reading(OnStep<ReadingId, ReadingPatch>)
    /// A hardware line.
    "hardware.v1" Hardware(OnStep<HardwareId, HardwarePatch>)
    /// A material line.
    "material.v1" Material(OnStep<MaterialId, MaterialPatch>)
    /// A tool used.
    "tool-use.v1" ToolUse(OnStep<ToolUseId, ToolUsePatch>)
    /// Working time.
    "time.v1" Time(OnStep<TimeId, TimePatch>)
    /// A worksheet asked for.
    "worksheet.v1" Worksheet(OnStep<WorksheetId, WorksheetPatch>)
    /// A worksheet answered.
    "answer.v1" Answer(Answered)
    /// An offer.
    "offer.v1" Offer(OnStep<OfferId, OfferPatch>)
    /// An acceptance or a return.
    "decision.v1" Decision(OnStep<DecisionId, DecisionPatch>)
    /// A finding.
    "finding.v1" Finding(OnStep<FindingId, FindingPatch>)
    /// A signature as the first version wrote it.
    "signature.v1" FirstSignature(On<SignatureId, FirstSignaturePatch>)
    /// A signature.
    "signature.v2" Signature(On<SignatureId, SignaturePatch>)
    /// A joint.
    "joint.v1" Joint(On<JointId, JointPatch>)
    /// A hole of a joint.
    "hole.v1" Hole(On<HoleId, HolePatch>)
    /// A photo of a hole.
    "hole-photo.v1" HolePhoto(On<HolePhotoId, HolePhotoPatch>)
    /// A layup.
    "layup.v1" Layup(On<LayupId, LayupPatch>)
    /// A ply of a layup.
    "ply.v1" Ply(On<PlyId, PlyPatch>)
    /// A photo of a ply.
    "ply-photo.v1" PlyPhoto(On<PlyPhotoId, PlyPhotoPatch>)
    /// The damage that a repair layup fills.
    "damage.v1" Damage(On<DamageId, DamagePatch>)
    /// A comment on a step.
    "comment.v1" Comment(OnStep<CommentId, CommentPatch>)
    /// Where a finding points to.
    "pin.v1" Pin(OnStep<FindingId, PinPatch>)
    /// What shows that a finding was put right.
    "proof.v1" Proof(OnStep<ProofId, ProofPatch>)
    /// A hold point overridden.
    "override.v1" Override(OnStep<OverrideId, OverridePatch>)
    /// Roles on one job.
    "job-member.v1" JobMember(On<UserId, JobMemberPatch>)
    /// A draft of the maintenance-record entry.
    "entry.v1" Entry(On<EntryId, EntryPatch>)
    /// Whether the repair is major.
    "screening.v1" Screening(On<ScreeningId, ScreeningPatch>)
    /// Something to be looked at again.
    "promise.v1" Promise(On<PromiseId, PromisePatch>)
    /// The hours planned for a step.
    "estimate.v1" Estimate(On<StepId, EstimatePatch>)
    /// Whether the record shows a photo.
    "record-photo.v1" RecordPhoto(On<PhotoId, RecordPhotoPatch>)
}

/// What a change does.
#[derive(Clone, Debug, PartialEq)]
#[expect(clippy::large_enum_variant, reason = "nearly every body is known; a box would cost each of them")]
pub enum Body {
    /// Of a kind that this version knows.
    Known(Known),
    /// Of a newer version's kind: kept as it is.
    Unknown {
        /// The kind's name.
        kind: String,
        /// The whole body.
        body: Value,
    },
}

impl Body {
    /// The kind's name.
    #[must_use]
    pub fn kind(&self) -> &str {
        match self {
            Self::Known(known) => known.kind(),
            Self::Unknown { kind, .. } => kind,
        }
    }

    /// Everything in it that is out of limits, as far as this version knows them.
    #[must_use]
    pub fn problems(&self) -> Vec<Problem> {
        match self {
            Self::Known(known) => known.problems(),
            Self::Unknown { .. } => Vec::new(),
        }
    }
}

impl From<Known> for Body {
    fn from(known: Known) -> Self {
        Self::Known(known)
    }
}

impl Serialize for Known {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut fields = Fields::default();
        self.write(&mut fields).map_err(S::Error::custom)?;
        fields.0.insert(KIND.to_owned(), self.kind().into());
        fields.0.serialize(serializer)
    }
}

impl Serialize for Body {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::Known(known) => known.serialize(serializer),
            Self::Unknown { body, .. } => body.serialize(serializer),
        }
    }
}

/// A kind that isn't in [`Known::KINDS`] is kept; a known kind that doesn't read is an error.
impl<'de> Deserialize<'de> for Body {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let body = Fields(Deserialize::deserialize(deserializer)?);
        let kind = body.0.get(KIND).and_then(Value::as_str).map(str::to_owned);
        let kind = kind.ok_or_else(|| D::Error::custom("body has no `kind`"))?;
        match Known::read(&kind, body) {
            Ok(known) => known.map(Self::Known).map_err(D::Error::custom),
            Err(body) => Ok(Self::Unknown { kind, body: Value::Object(body.0) }),
        }
    }
}

impl<'de> Deserialize<'de> for Known {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        match Body::deserialize(deserializer)? {
            Body::Known(known) => Ok(known),
            Body::Unknown { kind, .. } => Err(D::Error::custom(format!("unknown kind `{kind}`"))),
        }
    }
}
