//! Shops: their members and invitations.

use async_trait::async_trait;
use shared_types::api::Membership;
use shared_types::digest::Digest;
use shared_types::ids::{JobId, LogId, ShopId, UserId};
use shared_types::shop::Roles;
use shared_types::time::UtcMillis;
use uuid::Uuid;

use crate::account::NewUser;
use crate::error::Result;
use crate::log::OwnChanges;

/// An invitation's id: no secret.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct InvitationId(pub Uuid);

/// An invitation to be made.
#[derive(Clone, Debug)]
pub struct NewInvitation {
    /// Its id.
    pub id: InvitationId,
    /// To which shop.
    pub shop: ShopId,
    /// To which of its jobs alone; to the whole shop when absent.
    pub job: Option<JobId>,
    /// The roles it gives.
    pub roles: Roles,
    /// Until when the roles on a job are to hold; for good when absent.
    pub until: Option<UtcMillis>,
    /// For whom, in words.
    pub note: String,
    /// Digest of its secret.
    pub secret: Digest,
    /// Who invites.
    pub by: UserId,
    /// Until when it holds.
    pub expires: UtcMillis,
}

/// An invitation.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Invitation {
    /// Its id.
    pub id: InvitationId,
    /// To which shop.
    pub shop: ShopId,
    /// The shop's name now.
    pub shop_name: String,
    /// To which of its jobs alone; to the whole shop when absent.
    pub job: Option<JobId>,
    /// The roles it gives.
    pub roles: Roles,
    /// Until when the roles on a job are to hold; for good when absent.
    pub until: Option<UtcMillis>,
    /// For whom, in words.
    pub note: String,
    /// Who invites.
    pub by: UserId,
    /// Until when it holds.
    pub expires: UtcMillis,
    /// Who joined by it.
    pub used_by: Option<UserId>,
}

impl Invitation {
    /// The log that the membership goes into.
    #[must_use]
    pub fn log(&self) -> LogId {
        log_of(self.shop, self.job)
    }
}

/// The log of a shop, or of one of its jobs.
pub(crate) fn log_of(shop: ShopId, job: Option<JobId>) -> LogId {
    job.map_or(LogId::Shop(shop), |job| LogId::Job(shop, job))
}

/// A membership as the shop's log has it: always the fold of its member changes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Member {
    /// The person.
    pub user: UserId,
    /// The name that others see.
    pub name: String,
    /// The roles held; none once retired.
    pub roles: Roles,
    /// Is the person no longer a member?
    pub retired: bool,
}

/// Members and invitations.
#[async_trait]
pub trait ShopStore {
    /// All shops with their names (roles empty).
    async fn shops(&self) -> Result<Vec<Membership>>;

    /// A person's membership, retired ones included.
    async fn member(&self, shop: ShopId, user: UserId) -> Result<Option<Member>>;

    /// A shop's members, retired ones included.
    async fn members(&self, shop: ShopId) -> Result<Vec<Member>>;

    /// The shops of a person, retired memberships left out.
    async fn memberships(&self, user: UserId) -> Result<Vec<Membership>>;

    /// Keeps an invitation.
    async fn invite(&self, invitation: NewInvitation) -> Result<()>;

    /// A shop's invitations, the latest to expire first.
    async fn invitations(&self, shop: ShopId) -> Result<Vec<Invitation>>;

    /// The invitation with this secret (its digest), used or expired ones included.
    async fn invitation(&self, secret: Digest) -> Result<Option<Invitation>>;

    /// Withdraws an unused invitation.
    ///
    /// # Errors
    /// [`crate::StoreError::NotFound`] when the shop has no such unused invitation.
    async fn withdraw_invitation(&self, shop: ShopId, invitation: InvitationId) -> Result<()>;

    /// Makes an account by invitation: uses the invitation up, and appends the membership, in one transaction.
    ///
    /// # Errors
    /// [`crate::Conflict::InvitationOver`], [`crate::Conflict::LoginTaken`], [`crate::Conflict::IdTaken`].
    async fn join(&self, secret: Digest, user: NewUser, own: OwnChanges) -> Result<()>;

    /// Uses an invitation up for somebody who has an account, and appends the membership, in one transaction.
    ///
    /// # Errors
    /// [`crate::Conflict::InvitationOver`].
    async fn accept(&self, secret: Digest, user: UserId, now: UtcMillis, own: OwnChanges) -> Result<()>;
}
