//! Guests: people with roles on one job, and links that open one job's record.

use async_trait::async_trait;
use shared_types::digest::Digest;
use shared_types::ids::{JobId, LogId, ShopId, UserId};
use shared_types::shop::Roles;
use shared_types::time::UtcMillis;
use uuid::Uuid;

use crate::error::Result;

/// A membership of one job as its log has it: always the fold of its job-member changes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JobMember {
    /// To which shop the job belongs.
    pub shop: ShopId,
    /// The shop's name.
    pub shop_name: String,
    /// Which job.
    pub job: JobId,
    /// The person.
    pub user: UserId,
    /// The name that others see.
    pub name: String,
    /// The roles given; none once retired.
    pub roles: Roles,
    /// Until when they hold; for good when absent.
    pub until: Option<UtcMillis>,
}

impl JobMember {
    /// The roles that hold at a moment.
    #[must_use]
    pub fn roles_at(&self, now: UtcMillis) -> Roles {
        let over = self.until.is_some_and(|until| until <= now);
        if over { Roles::new() } else { self.roles.clone() }
    }

    /// The job's log.
    #[must_use]
    pub const fn log(&self) -> LogId {
        LogId::Job(self.shop, self.job)
    }
}

/// A record link's id: no secret.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct RecordLinkId(pub Uuid);

/// A link that opens one job's record to whoever holds it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RecordLink {
    /// Its id.
    pub id: RecordLinkId,
    /// To which shop the job belongs.
    pub shop: ShopId,
    /// Which job.
    pub job: JobId,
    /// For whom, in words.
    pub note: String,
    /// Digest of its secret.
    pub secret: Digest,
    /// Who made it.
    pub by: UserId,
    /// When.
    pub made: UtcMillis,
    /// Until when it holds.
    pub expires: UtcMillis,
    /// When it was revoked, if it was.
    pub revoked: Option<UtcMillis>,
}

impl RecordLink {
    /// Does it open anything at a moment?
    #[must_use]
    pub fn holds(&self, now: UtcMillis) -> bool {
        self.revoked.is_none() && now < self.expires
    }

    /// The log of the job that it opens.
    #[must_use]
    pub const fn log(&self) -> LogId {
        LogId::Job(self.shop, self.job)
    }
}

/// Members of single jobs, and record links.
#[async_trait]
pub trait GuestStore {
    /// A person's membership of a job, retired ones included.
    async fn job_member(&self, shop: ShopId, job: JobId, user: UserId) -> Result<Option<JobMember>>;

    /// The members of a shop's jobs, retired ones included.
    async fn job_members(&self, shop: ShopId) -> Result<Vec<JobMember>>;

    /// The single jobs that a person is a member of, retired memberships left out.
    async fn jobs_of(&self, user: UserId) -> Result<Vec<JobMember>>;

    /// Keeps a record link.
    async fn add_record_link(&self, link: RecordLink) -> Result<()>;

    /// A job's record links, the latest made first.
    async fn record_links(&self, shop: ShopId, job: JobId) -> Result<Vec<RecordLink>>;

    /// The record link with this secret (its digest), revoked or expired ones included.
    async fn record_link_by_secret(&self, secret: Digest) -> Result<Option<RecordLink>>;

    /// A record link.
    async fn record_link(&self, id: RecordLinkId) -> Result<Option<RecordLink>>;

    /// Revokes a job's record link; once revoked, it stays as it is.
    ///
    /// # Errors
    /// [`crate::StoreError::NotFound`] when the job has no such link.
    async fn revoke_record_link(
        &self,
        shop: ShopId,
        job: JobId,
        id: RecordLinkId,
        at: UtcMillis,
    ) -> Result<()>;
}
