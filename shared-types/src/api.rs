//! The HTTP interface's shapes, under `/api/v1`. Errors are RFC 9457 problems.
//!
//! | route | body | answer |
//! |---|---|---|
//! | `POST auth/sign-in` | [`SignIn`] | [`Session`], sets the session cookie |
//! | `POST auth/join` | [`Join`] | [`Session`], sets the session cookie |
//! | `POST auth/refresh` | cookie | [`Session`], sets the next cookie |
//! | `POST auth/sign-out` | cookie | 204 |
//! | `POST auth/invitation` | [`InvitationSecret`] | [`InvitationView`] |
//! | `POST auth/accept` | [`InvitationSecret`] | [`Me`] |
//! | `POST auth/confirm` | [`Confirm`] | [`crate::signature::Confirmation`] |
//! | `GET me` | | [`Me`] |
//! | `GET devices`, `DELETE devices/{device}` | | [`DeviceView`] list, 204 |
//! | `GET, POST shops/{shop}/invitations` | [`Invite`] | [`InvitationView`] list, [`Invited`] |
//! | `DELETE shops/{shop}/invitations/{id}` | | 204 |
//! | `GET shops/{shop}/logs` | | [`Logs`] |
//! | `GET shops/{shop}/search?q=WORDS` | | [`SearchResult`] |
//! | `GET shops/{shop}/changes?since=N` | | [`Page`] |
//! | `POST shops/{shop}/changes` | [`Push`] | [`Pushed`] |
//! | `GET, POST shops/{shop}/jobs/{job}/changes` | the same for a job's log | |
//! | `GET shops/{shop}/head`, `GET shops/{shop}/jobs/{job}/head` | | [`crate::countersign::SignedHead`] |
//! | `GET server-keys` | | [`crate::countersign::ServerKey`] list |
//! | `GET shops/{shop}/snapshot?fold=NAME` | | [`Snapshot`]; 404 when there is none that this fold could go on from |
//! | `GET shops/{shop}/jobs/{job}/snapshot?fold=NAME` | the same for a job's log | |
//! | `GET shops/{shop}/devices/{device}/key` | | [`DeviceKey`] |
//! | `GET notices` | | server-sent events `log`, data: [`Notice`] |
//! | `OPTIONS, POST photos` | tus 1.0: creation, metadata `log`, `digest`, `type` | `Location` |
//! | `HEAD, PATCH, DELETE photos/{upload}` | tus 1.0: core, checksum, termination | |
//! | `POST photos/{upload}` | one of these, named by `X-HTTP-Method-Override` | |
//! | `GET shops/{shop}/jobs/{job}/photos/{digest}?size=thumb,print,screen,original` | | the picture |
//! | `GET shops/{shop}/jobs/{job}/record.pdf` | | the record to print |
//! | `GET shops/{shop}/jobs/{job}/bundle.zip` | | the evidence bundle |
//! | `GET, POST shops/{shop}/jobs/{job}/links` | [`MakeRecordLink`] | [`RecordLinkView`] list, [`RecordLinkMade`] |
//! | `DELETE shops/{shop}/jobs/{job}/links/{id}` | | 204 |
//! | `POST links/open` | [`InvitationSecret`] | [`OpenedRecord`], sets the cookie of that record |
//! | `GET calc`, `GET calc/{kind}/schema` | | kinds, JSON Schema |
//! | `POST calc/{kind}` | the kind's input | [`crate::worksheet::WorksheetResult`] |
//! | `GET catalogue` | | [`crate::catalogue::Catalogue`] |

mod invitations;
mod search;

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

use crate::change::SignedChange;
use crate::check::Problem;
use crate::digest::Digest;
use crate::ids::{ChangeId, DeviceId, JobId, LogId, ShopId, SignatureId, UserId};
use crate::shop::Roles;
use crate::signature::Capacity;
use crate::stamp::Stamp;
use crate::text::{LongText, ShortText};
use crate::time::UtcMillis;

pub use invitations::{
    InvitationSecret, InvitationView, Invite, Invited, MakeRecordLink, OpenedRecord, RecordLinkMade,
    RecordLinkView,
};
pub use search::{FoundKind, Hit, HitJob, HitStep, MOST_SEARCHED, SearchResult};

/// Where the interface lives.
pub const PREFIX: &str = "/api/v1";

/// Header on every answer of ours: a captive portal's page does not carry it.
pub const PROTOCOL_HEADER: &str = "x-faying-protocol";
/// The value of [`PROTOCOL_HEADER`].
pub const PROTOCOL: &str = "1";
/// Header with the server's clock in milliseconds, to correct a phone's.
pub const CLOCK_HEADER: &str = "x-faying-clock";

/// The device that signs in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DeviceIntroduction {
    /// Made on the device at its first start, kept for ever.
    pub id: DeviceId,
    /// What people call it: "phone, Chrome on Android".
    pub name: String,
    /// P-256 public key, uncompressed point (SEC 1, 65 bytes), base64url: checks the device's signatures.
    pub public_key: String,
}

/// Signing in.
#[derive(Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SignIn {
    /// Sign-in name.
    pub login: String,
    /// Password; never logged.
    pub password: String,
    /// On which device.
    pub device: DeviceIntroduction,
}

/// Joining a shop by invitation, with a new account.
#[derive(Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Join {
    /// The invitation's secret: from the link's fragment, never in a URL that is sent.
    pub secret: String,
    /// Sign-in name to have.
    pub login: String,
    /// The name that others see.
    pub name: String,
    /// Password; never logged.
    pub password: String,
    /// On which device.
    pub device: DeviceIntroduction,
}

/// A session: the access token goes into `Authorization: Bearer`, the refresh token is a cookie.
#[derive(Clone, Serialize, Deserialize)]
pub struct Session {
    /// A JWT, short-lived.
    pub access_token: String,
    /// When it ends.
    pub expires: UtcMillis,
    /// Who is signed in.
    pub me: Me,
}

/// Who is signed in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Me {
    /// The person.
    pub user: UserId,
    /// Sign-in name.
    pub login: String,
    /// The name that others see.
    pub name: String,
    /// The shops and the roles held in them; none in a shop where the person is a guest on a job.
    pub shops: Vec<Membership>,
    /// The single jobs that the person has roles on, besides those in their shop.
    #[serde(default)]
    pub jobs: Vec<JobMembership>,
}

/// Roles on one job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct JobMembership {
    /// The shop of the job.
    pub shop: ShopId,
    /// The job.
    pub job: JobId,
    /// The roles held.
    pub roles: Roles,
    /// Until when; for good when absent.
    pub until: Option<UtcMillis>,
    /// For a guest, who can't read the shop's log: the names of those of the shop who wrote into this job.
    #[serde(default, skip_serializing_if = "People::is_empty")]
    pub people: People,
}

/// People's names by their ids. Kept as JSON: reading a map of a type of its own would make the first load longer.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct People(Value);

impl People {
    /// These people.
    pub fn of(names: impl IntoIterator<Item = (UserId, String)>) -> Self {
        let names: Map<_, _> =
            names.into_iter().map(|(user, name)| (user.to_string(), name.into())).collect();
        Self(if names.is_empty() { Value::Null } else { names.into() })
    }

    /// Is nobody named?
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_null()
    }

    /// What somebody is called.
    #[must_use]
    pub fn name_of(&self, user: UserId) -> Option<&str> {
        self.0.get(user.to_string())?.as_str()
    }
}

/// Signing: the password once more, with what is signed before one.
#[derive(Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Confirm {
    /// Password; never logged.
    pub password: String,
    /// The job's log.
    pub log: LogId,
    /// The signature to be made.
    pub signature: SignatureId,
    /// As what.
    pub capacity: Capacity,
    /// The digest of what exactly is covered.
    pub coverage: Digest,
    /// The statement that was shown.
    pub statement: LongText,
    /// Name as signed.
    #[serde(default)]
    pub name: ShortText,
    /// Kind of certificate or licence.
    #[serde(default)]
    pub certificate_kind: ShortText,
    /// Its number.
    #[serde(default)]
    pub certificate: ShortText,
}

impl Confirm {
    /// The fields that a signature in this capacity can't be without, and that are empty.
    #[must_use]
    pub fn missing(&self) -> Vec<&'static str> {
        let approves = self.capacity == Capacity::ApprovedForReturn;
        let needed = [
            ("statement", &self.statement.0, true),
            ("name", &self.name.0, true),
            ("certificate_kind", &self.certificate_kind.0, approves),
            ("certificate", &self.certificate.0, approves),
        ];
        let empty = needed.into_iter().filter(|(_, text, needed)| *needed && text.trim().is_empty());
        empty.map(|(field, ..)| field).collect()
    }
}

/// One shop of the person.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Membership {
    /// The shop.
    pub shop: ShopId,
    /// Its name.
    pub name: String,
    /// The roles held.
    pub roles: Roles,
}

/// A device of the person.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct DeviceView {
    /// The device.
    pub id: DeviceId,
    /// What people call it.
    pub name: String,
    /// Is it the one that asks?
    pub this: bool,
    /// When it was first seen.
    pub added: UtcMillis,
    /// When it was last seen.
    pub seen: UtcMillis,
    /// Was it signed out for good?
    pub revoked: bool,
}

/// A device's public key, to check signatures with.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct DeviceKey {
    /// The device.
    pub device: DeviceId,
    /// Whose it is; `None` for the server's own.
    pub user: Option<UserId>,
    /// As in [`DeviceIntroduction::public_key`].
    pub public_key: String,
}

/// The logs that a member may read, with how far each has come.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Logs {
    /// The database's epoch: another one means it was restored from a backup.
    pub epoch: String,
    /// The logs.
    pub logs: Vec<LogHead>,
}

/// How far a log has come, and a mark of what stands in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LogHead {
    /// The log.
    pub log: LogId,
    /// Its last sequence number.
    pub head: u64,
    /// The last change's [`crate::countersign::mark`]: a device that is as far with another one has
    /// another past. Absent from an older server, and for a log that was written before there were links.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mark: Option<u32>,
}

impl From<LogHead> for Notice {
    fn from(head: LogHead) -> Self {
        Self { log: head.log, head: head.head }
    }
}

/// "Log L is at N."
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Notice {
    /// The log.
    pub log: LogId,
    /// Its last sequence number.
    pub head: u64,
}

/// A change with its place in the log.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Logged {
    /// Its sequence number in the log, from 1, without gaps.
    pub seq: u64,
    /// When the server received it.
    pub received: UtcMillis,
    /// The change.
    pub change: SignedChange,
}

/// A page of a log.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Page {
    /// As in [`Logs::epoch`].
    pub epoch: String,
    /// The log's last sequence number.
    pub head: u64,
    /// Changes after `since`, in order; fewer than there are when the page is full.
    pub changes: Vec<Logged>,
}

/// A log's state up to one of its changes: what a device opens a long log with, in place of its history.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Snapshot<S> {
    /// As in [`Logs::epoch`].
    pub epoch: String,
    /// Which fold made it, see [`crate::fold::name`].
    pub fold: String,
    /// The latest stamp among the changes folded, as it counts.
    pub latest: Stamp,
    /// The last change folded: a device tells by it when the server goes back in time.
    pub last: Logged,
    /// The state.
    pub state: S,
}

/// Changes from a device's outbox, in the order they were made.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Push {
    /// At most [`crate::check::MAX_CHANGES_PER_PUSH`].
    pub changes: Vec<SignedChange>,
    /// How many changes and photos the device still holds, for others to see.
    #[serde(default)]
    pub pending: u64,
}

/// One answer per pushed change, in the same order.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Pushed {
    /// As in [`Logs::epoch`].
    pub epoch: String,
    /// The answers.
    pub answers: Vec<PushAnswer>,
}

/// What became of a pushed change.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "answer", rename_all = "kebab-case")]
pub enum PushAnswer {
    /// Durable in the log.
    Taken {
        /// The change.
        id: ChangeId,
        /// Its sequence number.
        seq: u64,
        /// When it was received.
        received: UtcMillis,
    },
    /// It was there already: as good as taken.
    AlreadyHad {
        /// The change.
        id: ChangeId,
        /// Its sequence number.
        seq: u64,
        /// When it was received then.
        received: UtcMillis,
    },
    /// Not taken, now and for ever.
    Refused {
        /// The change, when it could be read that far.
        id: Option<ChangeId>,
        /// Why, for programs.
        reason: RefusalReason,
        /// Why, for people.
        detail: String,
        /// The fields at fault, if it was fields.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        problems: Vec<Problem>,
    },
}

/// Why a change was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RefusalReason {
    /// Not a change, or too long.
    Malformed,
    /// A field is out of limits.
    OutOfLimits,
    /// Names another log than the one pushed to.
    WrongLog,
    /// Names another author or device than the session's.
    WrongAuthor,
    /// The device's signature does not match.
    BadSignature,
    /// Not this person's to make.
    NotPermitted,
    /// A signature without the server's word for it.
    NotConfirmed,
    /// The id is taken by another content.
    IdTaken,
    /// An offer of a step that a hold point holds back: to be sent again when nothing does any more.
    Held,
    /// A reason that this version doesn't know.
    #[serde(other)]
    Other,
}

/// An RFC 9457 problem.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ProblemDetails {
    /// Stable: `urn:faying:problem:CODE`.
    #[serde(rename = "type")]
    pub kind: String,
    /// The code in a few words.
    pub title: String,
    /// HTTP status.
    pub status: u16,
    /// What happened, for people.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub detail: String,
    /// The request, to find it in the server's log.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub instance: String,
    /// The code.
    pub code: ProblemCode,
    /// The fields at fault.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub fields: Vec<Problem>,
}

/// What went wrong, for programs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ProblemCode {
    /// 400: the request can't be read.
    Malformed,
    /// 422: fields are out of limits.
    OutOfLimits,
    /// 401: no valid access token.
    NotSignedIn,
    /// 401: wrong name or password.
    WrongCredentials,
    /// 401: the session is over (revoked, expired or reused).
    SessionOver,
    /// 403: not this person's to do.
    NotPermitted,
    /// 404: absent, or not to be seen.
    NotFound,
    /// 405.
    MethodNotAllowed,
    /// 409: conflicts with what is there.
    Conflict,
    /// 410: the invitation was used or has expired.
    InvitationOver,
    /// 413: too large; the limit is named.
    TooLarge,
    /// 415: not a type that is taken.
    UnsupportedType,
    /// 429: too many; `Retry-After` says when.
    TooMany,
    /// 460: an upload's checksum does not match.
    ChecksumMismatch,
    /// 500.
    Internal,
    /// 503: the store can't be reached just now.
    Unavailable,
    /// 507: the disk is full.
    NoSpace,
    /// A code that this version doesn't know.
    #[serde(other)]
    Other,
}
