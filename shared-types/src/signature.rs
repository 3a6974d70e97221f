//! A person's statement over the job as it stands.
//!
//! A signature is bound to its content by a digest, and to its signer by the server's confirmation:
//! that this person typed their password at that moment, with this statement and this content before them.

use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

use crate::check::{Checked, always_fine};
use crate::coverage::Coverage;
use crate::digest::Digest;
use crate::entity::entity;
use crate::ids::{LogId, SignatureId, UserId};
use crate::text::{LongText, ShortText};
use crate::time::UtcMillis;

/// As what somebody signs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Capacity {
    /// Said by none: signatures of the first version.
    #[default]
    Unsaid,
    /// Who did the work.
    Performed,
    /// Who inspected and accepted it.
    Accepted,
    /// Who approves the aircraft or part for return to service.
    ApprovedForReturn,
}

impl Capacity {
    /// What people can sign as, in the order they do.
    pub const ALL: [Self; 3] = [Self::Performed, Self::Accepted, Self::ApprovedForReturn];

    /// The capacity in words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Unsaid => "signed",
            Self::Performed => "performed by",
            Self::Accepted => "accepted by",
            Self::ApprovedForReturn => "approved for return to service by",
        }
    }
}

/// The server's word that the signer proved who they are at the moment of signing.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Confirmation {
    /// When, by the server's clock.
    pub at: UtcMillis,
    /// The server's key that says so: the digest of its public half.
    pub key: Digest,
    /// Its Ed25519 signature over [`Confirmed::text`], in base64.
    pub signature: String,
}

/// What a confirmation is about.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Confirmed {
    /// The job's log.
    pub log: LogId,
    /// Which signature.
    pub signature: SignatureId,
    /// Who signs.
    pub user: UserId,
    /// As what.
    pub capacity: Capacity,
    /// What exactly is covered.
    pub coverage: Digest,
    /// The statement that was shown.
    pub statement: LongText,
    /// When, by the server's clock.
    pub at: UtcMillis,
}

impl Confirmed {
    /// The text that the server signs: canonical JSON, so that anyone can write it again.
    #[must_use]
    pub fn text(&self) -> String {
        let Self { log, signature, user, capacity, coverage, statement, at } = self;
        let confirmed: Value = json!({
            "confirmed": {
                "log": log, "signature": signature, "user": user, "capacity": capacity,
                "coverage": coverage, "statement": statement, "at": at,
            }
        });
        confirmed.to_string()
    }
}

always_fine!(Capacity, Confirmation);

entity! {
    /// A person's statement over the job as it stands.
    Signature / SignaturePatch {
        /// The statement, as it was shown.
        statement: LongText,
        /// Name as signed.
        name: ShortText,
        /// Certificate or licence number, as typed by the person; in the first version its kind too.
        certificate: ShortText,
        /// What exactly is signed.
        coverage: Coverage,
        /// As what the person signs.
        capacity: Capacity,
        /// Kind of certificate or licence, as typed by the person.
        certificate_kind: ShortText,
        /// The server's word that it was this person.
        confirmation: Option<Confirmation>,
    }
}

entity! {
    /// A signature as the first version wrote it.
    FirstSignature / FirstSignaturePatch {
        /// The statement, as it was shown.
        statement: LongText,
        /// Name as signed.
        name: ShortText,
        /// Certificate or licence kind and number, as typed by the person.
        certificate: ShortText,
        /// What exactly is signed.
        coverage: Coverage,
    }
}

impl From<&FirstSignaturePatch> for SignaturePatch {
    fn from(first: &FirstSignaturePatch) -> Self {
        let FirstSignaturePatch { statement, name, certificate, coverage, retired } = first.clone();
        Self { statement, name, certificate, coverage, retired, ..Self::default() }
    }
}
