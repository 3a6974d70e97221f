//! Letting others in: invitations to a shop or to one job, and links that open a job's record.

use serde::{Deserialize, Serialize};

use crate::ids::{JobId, ShopId, UserId};
use crate::shop::Roles;
use crate::time::UtcMillis;

/// Inviting a person.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Invite {
    /// The roles to give.
    pub roles: Roles,
    /// For whom, in words.
    pub note: String,
    /// How many hours it holds; 1 to 720.
    pub hours: u32,
    /// To one job alone, as a guest.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<JobId>,
    /// Until when the roles on that job are to hold; for good when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub until: Option<UtcMillis>,
}

/// An invitation made: the secret is shown this once.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Invited {
    /// The invitation.
    pub invitation: InvitationView,
    /// Its secret; the link is `/join#SECRET`.
    pub secret: String,
}

/// An invitation as others see it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct InvitationView {
    /// Its id; no secret.
    pub id: String,
    /// To which shop.
    pub shop: ShopId,
    /// The shop's name.
    pub shop_name: String,
    /// To which job alone; to the whole shop when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<JobId>,
    /// The roles it gives.
    pub roles: Roles,
    /// Until when roles on a job hold; for good when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub until: Option<UtcMillis>,
    /// For whom, in words.
    pub note: String,
    /// Until when it holds.
    pub expires: UtcMillis,
    /// Was it used?
    pub used: bool,
}

/// Making a link that opens a job's record to whoever holds it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MakeRecordLink {
    /// For whom, in words.
    pub note: String,
    /// How many hours it holds; 1 to 8760.
    pub hours: u32,
}

/// A record link made: the secret is shown this once.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RecordLinkMade {
    /// The link.
    pub link: RecordLinkView,
    /// Its secret; it belongs into an address's fragment alone, which no browser sends.
    pub secret: String,
}

/// A record link as others see it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RecordLinkView {
    /// Its id; no secret.
    pub id: String,
    /// For whom, in words.
    pub note: String,
    /// Who made it.
    pub by: UserId,
    /// When.
    pub made: UtcMillis,
    /// Until when it holds.
    pub expires: UtcMillis,
    /// When it was revoked, if it was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub revoked: Option<UtcMillis>,
}

/// What an opened record link shows: `/record/SHOP/JOB`, for an hour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct OpenedRecord {
    /// The shop of the job.
    pub shop: ShopId,
    /// The job.
    pub job: JobId,
    /// Until when the link holds.
    pub expires: UtcMillis,
}

/// An invitation's or a record link's secret, in a body rather than in a URL.
#[derive(Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct InvitationSecret {
    /// The secret.
    pub secret: String,
}
