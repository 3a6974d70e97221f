//! One newtype per kind of id: swapping two of them does not compile.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _};
use sha2::{Digest as _, Sha256};
use uuid::{Builder, Uuid};

/// The text is not an id.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("not an id: expected {0}")]
pub struct NotAnId(&'static str);

macro_rules! ids {
    ($($(#[$meta:meta])* $name:ident)+) => { $(
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub Uuid);

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }

        impl FromStr for $name {
            type Err = NotAnId;

            fn from_str(text: &str) -> Result<Self, NotAnId> {
                Uuid::try_parse(text).map(Self).map_err(|_| NotAnId("a UUID"))
            }
        }
    )+ };
}

ids! {
    /// The people who share jobs, tools, stock and procedures.
    ShopId
    /// A person.
    UserId
    /// One phone, tablet, desk computer or server.
    DeviceId
    /// One change; UUIDv7, made on the device.
    ChangeId
    /// One repair on one part of one aircraft.
    JobId
    /// An aircraft the shop looks after.
    AircraftId
    /// A tool of the shop.
    ToolId
    /// A batch of hardware or material on the shop's shelf.
    StockId
    /// A procedure template.
    ProcedureId
    /// A document and paragraph that the work is done to.
    DataReferenceId
    /// One stage of work.
    StepId
    /// A photo's place in a job; its bytes are named by their digest.
    PhotoId
    /// A note on a step.
    NoteId
    /// A measured value.
    ReadingId
    /// Fasteners used.
    HardwareId
    /// Resin, cloth, sealant, primer or paint used.
    MaterialId
    /// A tool used on a step.
    ToolUseId
    /// A stretch of working time.
    TimeId
    /// One calculation.
    WorksheetId
    /// Layers that a row of fasteners holds together.
    JointId
    /// One hole of a joint.
    HoleId
    /// A photo's place at a hole.
    HolePhotoId
    /// A stack of plies, of the part or of its repair.
    LayupId
    /// One ply of a layup.
    PlyId
    /// A photo's place at a ply.
    PlyPhotoId
    /// The damage that a repair layup fills.
    DamageId
    /// A step offered for inspection.
    OfferId
    /// An inspector's acceptance or return of an offer.
    DecisionId
    /// What the inspector wants put right.
    FindingId
    /// A person's statement over an exact content digest.
    SignatureId
    /// A comment on a step.
    CommentId
    /// What shows that a finding was put right.
    ProofId
    /// A lead's word over a hold point.
    OverrideId
    /// A draft of the maintenance-record entry.
    EntryId
    /// What such entries of a shop are made from.
    EntryTemplateId
    /// Whether a repair is major, question by question.
    ScreeningId
    /// What was promised to be looked at again.
    PromiseId
    /// One upload in progress.
    UploadId
}

/// An id that follows from another one and a name: whoever makes it, offline or not, makes the
/// same one, so what it names exists once.
#[must_use]
pub fn derived(from: Uuid, name: &str) -> Uuid {
    let digest = Sha256::new().chain_update(from).chain_update(name).finalize();
    let mut bytes = [0; 16];
    bytes.copy_from_slice(&digest[..16]);
    // Version 8: made in a way of our own.
    Builder::from_custom_bytes(bytes).into_uuid()
}

/// Which log: a shop's own, or one of its jobs'.
///
/// Written `shop:UUID` or `shop:UUID/job:UUID`, so a job's log names its shop
/// and can't be moved to another.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LogId {
    /// Members, aircraft, tools, stock, procedures.
    Shop(ShopId),
    /// One job.
    Job(ShopId, JobId),
}

impl LogId {
    /// The shop whose members may read this log.
    #[must_use]
    pub const fn shop(self) -> ShopId {
        match self {
            Self::Shop(shop) | Self::Job(shop, _) => shop,
        }
    }

    /// The job, if this is a job's log.
    #[must_use]
    pub const fn job(self) -> Option<JobId> {
        match self {
            Self::Shop(_) => None,
            Self::Job(_, job) => Some(job),
        }
    }
}

impl fmt::Display for LogId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Shop(shop) => write!(f, "shop:{shop}"),
            Self::Job(shop, job) => write!(f, "shop:{shop}/job:{job}"),
        }
    }
}

impl FromStr for LogId {
    type Err = NotAnId;

    fn from_str(text: &str) -> Result<Self, NotAnId> {
        let expected = NotAnId("shop:UUID or shop:UUID/job:UUID");
        let rest = text.strip_prefix("shop:").ok_or_else(|| expected.clone())?;
        match rest.split_once("/job:") {
            None => Ok(Self::Shop(rest.parse()?)),
            Some((shop, job)) => Ok(Self::Job(shop.parse()?, job.parse()?)),
        }
    }
}

impl Serialize for LogId {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for LogId {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(D::Error::custom)
    }
}

/// Who made a change: a person, or the server itself (worksheet answers, memberships by invitation).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Author {
    /// The server's own hand.
    Server,
    /// A person, signed in on a device.
    Person(UserId),
}

impl Author {
    /// The person, if it is one.
    #[must_use]
    pub const fn person(self) -> Option<UserId> {
        match self {
            Self::Server => None,
            Self::Person(user) => Some(user),
        }
    }
}

impl Serialize for Author {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::Server => serializer.serialize_str("server"),
            Self::Person(user) => user.serialize(serializer),
        }
    }
}

impl<'de> Deserialize<'de> for Author {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        if text == "server" {
            return Ok(Self::Server);
        }
        text.parse().map(Self::Person).map_err(D::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_log_id_reads_back_what_it_writes() {
        let shop = ShopId(Uuid::from_u128(1));
        for log in [LogId::Shop(shop), LogId::Job(shop, JobId(Uuid::from_u128(2)))] {
            assert_eq!(log.to_string().parse(), Ok(log));
        }
        assert!("job:1".parse::<LogId>().is_err());
        assert!("shop:1/job:2".parse::<LogId>().is_err());
    }
}
