//! A person's statement over the job as it stands.
//!
//! A signature is bound to its content by a digest, and to its signer by the server's confirmation:
//! that this person typed their password at that moment, with this statement and this content before them.

use serde::{Deserialize, Serialize};
use serde_json::{Error, json};

use crate::body::Known;
use crate::check::{Checked, always_fine};
use crate::coverage::Coverage;
use crate::digest::Digest;
use crate::entity::{Entity, entity};
use crate::fields::{Fielded, Fields, serde_by_fields};
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

/// The server's word that the signer proved who they are at the moment of signing, and that what they sign
/// is what the server holds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Confirmation {
    /// When, by the server's clock.
    pub at: UtcMillis,
    /// The server's key that says so: the digest of its public half.
    pub key: Digest,
    /// Its Ed25519 signature over [`Confirmed::text`], in base64.
    pub signature: String,
    /// How many changes the server's log had when it held what is covered against its own fold of them. 0 in
    /// confirmations of before: they compared nothing, and name neither name nor certificate.
    pub seq: u64,
    /// The fold that the server went by; empty in confirmations of before.
    pub fold: String,
}

impl Confirmation {
    /// Did the server hold what is covered against its own log?
    #[must_use]
    pub const fn is_compared(&self) -> bool {
        self.seq > 0
    }
}

impl Fielded for Confirmation {
    fn write(&self, fields: &mut Fields) -> Result<(), Error> {
        fields.put("at", &self.at)?;
        fields.put("key", &self.key)?;
        fields.put("signature", &self.signature)?;
        if self.is_compared() {
            fields.put("seq", &self.seq)?;
            fields.put("fold", &self.fold)?;
        }
        Ok(())
    }

    fn read(&mut self, fields: &mut Fields) -> Result<(), Error> {
        self.at = fields.take("at")?;
        self.key = fields.take("key")?;
        self.signature = fields.take("signature")?;
        fields.fill("seq", &mut self.seq)?;
        fields.fill("fold", &mut self.fold)?;
        fields.nothing_left()
    }
}
serde_by_fields!(Confirmation);

/// What a confirmation is about.
#[derive(Clone, Debug, PartialEq, Eq)]
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
    /// What confirmations of before left out.
    pub particulars: Option<Particulars>,
}

/// By which name and certificate somebody signs, and what the server held what is covered against.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Particulars {
    /// Name as signed.
    pub name: ShortText,
    /// Kind of certificate or licence.
    pub certificate_kind: ShortText,
    /// Its number.
    pub certificate: ShortText,
    /// As [`Confirmation::seq`].
    pub seq: u64,
    /// As [`Confirmation::fold`].
    pub fold: String,
}

impl Confirmed {
    /// The text that the server signs: canonical JSON, so that anyone can write it again.
    #[must_use]
    pub fn text(&self) -> String {
        let Self { log, signature, user, capacity, coverage, statement, at, particulars } = self;
        let mut confirmed = json!({
            "log": log, "signature": signature, "user": user, "capacity": capacity,
            "coverage": coverage, "statement": statement, "at": at,
        });
        if let Some(Particulars { name, certificate_kind, certificate, seq, fold }) = particulars {
            confirmed["name"] = json!(name);
            confirmed["certificate_kind"] = json!(certificate_kind);
            confirmed["certificate"] = json!(certificate);
            confirmed["seq"] = json!(seq);
            confirmed["fold"] = json!(fold);
        }
        json!({ "confirmed": confirmed }).to_string()
    }
}

/// Does this do nothing but take a signature back? It stays so: whoever wants to sign again signs anew.
#[must_use]
pub fn takes_back(body: &Known) -> bool {
    match body {
        Known::Signature(body) => body.set == Signature::retirement(true),
        Known::FirstSignature(body) => body.set == FirstSignature::retirement(true),
        _ => false,
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ids::{JobId, ShopId};
    use uuid::Uuid;

    fn confirmed(particulars: Option<Particulars>) -> Confirmed {
        Confirmed {
            log: LogId::Job(ShopId(Uuid::from_u128(1)), JobId(Uuid::from_u128(2))),
            signature: SignatureId(Uuid::from_u128(3)),
            user: UserId(Uuid::from_u128(4)),
            capacity: Capacity::ApprovedForReturn,
            coverage: Digest::default(),
            statement: "As it says.".into(),
            at: UtcMillis(5),
            particulars,
        }
    }

    /// The texts are signed: what one of before says is written as it was, for ever.
    #[test]
    fn a_confirmation_says_what_it_is_about_in_one_text_only() {
        let digest = "0".repeat(64);
        let log = "shop:00000000-0000-0000-0000-000000000001/job:00000000-0000-0000-0000-000000000002";
        let ids = r#""signature":"00000000-0000-0000-0000-000000000003""#;
        let user = r#""user":"00000000-0000-0000-0000-000000000004""#;
        let before = format!(
            r#"{{"confirmed":{{"at":5,"capacity":"approved-for-return","coverage":"{digest}","log":"{log}",{ids},"statement":"As it says.",{user}}}}}"#
        );
        assert_eq!(confirmed(None).text(), before);
        let particulars = Particulars {
            name: "As signed".into(),
            certificate_kind: "licence".into(),
            certificate: "0042".into(),
            seq: 57,
            fold: "3-aa".into(),
        };
        let now = format!(
            r#"{{"confirmed":{{"at":5,"capacity":"approved-for-return","certificate":"0042","certificate_kind":"licence","coverage":"{digest}","fold":"3-aa","log":"{log}","name":"As signed","seq":57,{ids},"statement":"As it says.",{user}}}}}"#
        );
        assert_eq!(confirmed(Some(particulars)).text(), now);
    }

    #[test]
    fn a_confirmation_of_before_is_read_and_written_as_it_was() {
        let before = json!({ "at": 5, "key": Digest::default(), "signature": "AAAA" });
        let read: Confirmation = serde_json::from_value(before.clone()).unwrap();
        assert!(!read.is_compared());
        assert_eq!(json!(read), before);
        let now =
            json!({ "at": 5, "key": Digest::default(), "signature": "AAAA", "seq": 57, "fold": "3-aa" });
        let read: Confirmation = serde_json::from_value(now.clone()).unwrap();
        assert!(read.is_compared());
        assert_eq!(json!(read), now);
        for missing in ["at", "key", "signature"] {
            let mut without = now.clone();
            without.as_object_mut().unwrap().remove(missing);
            assert!(serde_json::from_value::<Confirmation>(without).is_err(), "{missing}");
        }
        let more = json!({ "at": 5, "key": Digest::default(), "signature": "AAAA", "by": "hand" });
        assert!(serde_json::from_value::<Confirmation>(more).is_err());
    }
}
