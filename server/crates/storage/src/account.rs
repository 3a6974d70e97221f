//! People, their devices, sessions and invitations, and their memberships.

use std::fmt;

use async_trait::async_trait;
use shared_types::api::{DeviceIntroduction, DeviceKey, Membership};
use shared_types::digest::Digest;
use shared_types::ids::{DeviceId, ShopId, UserId};
use shared_types::shop::Roles;
use shared_types::time::UtcMillis;
use uuid::Uuid;

use crate::error::Result;
use crate::log::OwnChanges;

/// A person's account to be made.
#[derive(Clone)]
pub struct NewUser {
    /// Its id.
    pub id: UserId,
    /// Sign-in name; capitals don't count.
    pub login: String,
    /// The name that others see.
    pub name: String,
    /// The password's hash as a PHC string.
    pub password: String,
    /// When.
    pub added: UtcMillis,
}

/// A person's account.
#[derive(Clone)]
pub struct User {
    /// Its id.
    pub id: UserId,
    /// Sign-in name as entered.
    pub login: String,
    /// The name that others see.
    pub name: String,
    /// The password's hash as a PHC string.
    pub password: String,
    /// May not sign in.
    pub disabled: bool,
    /// Since when.
    pub added: UtcMillis,
}

impl fmt::Debug for NewUser {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("NewUser").field("id", &self.id).field("login", &self.login).finish_non_exhaustive()
    }
}

impl fmt::Debug for User {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("User").field("id", &self.id).field("login", &self.login).finish_non_exhaustive()
    }
}

/// A person's use of a device. A shared tablet is one device with one key, used by several people.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Device {
    /// The device.
    pub id: DeviceId,
    /// The person.
    pub user: UserId,
    /// What people call it.
    pub name: String,
    /// As in [`DeviceIntroduction::public_key`].
    pub public_key: String,
    /// When the person first signed in on it.
    pub added: UtcMillis,
    /// When the person last used it.
    pub seen: UtcMillis,
    /// Signed out for good.
    pub revoked: bool,
    /// How many changes and photos it said it still holds.
    pub pending: u64,
}

/// All refresh tokens that follow from one sign-in. Part of the token, so never shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Family(pub Uuid);

/// A session: one sign-in of one person on one device.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Session {
    /// Its family of refresh tokens.
    pub family: Family,
    /// Who.
    pub user: UserId,
    /// Where.
    pub device: DeviceId,
    /// When it ends, however often it is refreshed.
    pub expires: UtcMillis,
}

/// What became of a presented refresh token.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Rotation {
    /// The successor is the family's token now.
    Next(Session),
    /// The token was replaced by the same successor less than a minute ago: the answer got lost, give it again.
    Again(Session),
    /// A token that was replaced earlier: someone has a copy. The family was ended.
    Reused(Session),
    /// Unknown, ended or expired; or the person is disabled or the device revoked.
    Over,
}

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
    /// The roles it gives.
    pub roles: Roles,
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
    /// The roles it gives.
    pub roles: Roles,
    /// For whom, in words.
    pub note: String,
    /// Who invites.
    pub by: UserId,
    /// Until when it holds.
    pub expires: UtcMillis,
    /// Who joined by it.
    pub used_by: Option<UserId>,
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

/// How often something was tried lately.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Attempts {
    /// How many times, this one included.
    pub count: u32,
    /// The earliest that still counts.
    pub oldest: UtcMillis,
}

/// Accounts, devices, sessions, invitations.
#[async_trait]
pub trait AccountStore {
    /// Makes an account, and in the same transaction the server's own changes (the membership).
    ///
    /// # Errors
    /// [`crate::Conflict::LoginTaken`], [`crate::Conflict::IdTaken`].
    async fn add_user(&self, user: NewUser, own: Option<OwnChanges>) -> Result<()>;

    /// Makes an account by invitation: uses the invitation up, and appends the membership, in one transaction.
    ///
    /// # Errors
    /// [`crate::Conflict::InvitationOver`], [`crate::Conflict::LoginTaken`], [`crate::Conflict::IdTaken`].
    async fn join(&self, secret: Digest, user: NewUser, own: OwnChanges) -> Result<()>;

    /// The account with this id.
    async fn user(&self, user: UserId) -> Result<Option<User>>;

    /// The account with this sign-in name; capitals don't count.
    async fn user_by_login(&self, login: &str) -> Result<Option<User>>;

    /// All accounts by sign-in name.
    async fn users(&self) -> Result<Vec<User>>;

    /// Sets a password's hash and ends the person's sessions.
    async fn set_password(&self, user: UserId, password: &str) -> Result<()>;

    /// Disables an account and ends its sessions, or enables it.
    async fn set_disabled(&self, user: UserId, disabled: bool) -> Result<()>;

    /// Takes note of a person's device. A revoked device of this person stays revoked.
    ///
    /// # Errors
    /// [`crate::Conflict::OtherKey`] when the device is known with another key.
    async fn introduce_device(
        &self,
        user: UserId,
        device: &DeviceIntroduction,
        now: UtcMillis,
    ) -> Result<Device>;

    /// A person's use of a device.
    async fn device(&self, user: UserId, device: DeviceId) -> Result<Option<Device>>;

    /// A person's devices, the last seen first.
    async fn devices(&self, user: UserId) -> Result<Vec<Device>>;

    /// The devices of a shop's members, the last seen first.
    async fn shop_devices(&self, shop: ShopId) -> Result<Vec<Device>>;

    /// A device's key and its first user; the server's own device included.
    async fn device_key(&self, device: DeviceId) -> Result<Option<DeviceKey>>;

    /// Takes note that a device was used, and how much it still holds if it said so.
    async fn device_seen(
        &self,
        user: UserId,
        device: DeviceId,
        now: UtcMillis,
        pending: Option<u64>,
    ) -> Result<()>;

    /// Signs a person's device out for good.
    ///
    /// # Errors
    /// [`crate::StoreError::NotFound`] when the person has no such device.
    async fn revoke_device(&self, user: UserId, device: DeviceId) -> Result<()>;

    /// Starts a session with the digest of its first refresh token.
    async fn start_session(&self, session: &Session, token: Digest) -> Result<()>;

    /// The session if it is alive: not ended, not expired, person not disabled, device not revoked.
    async fn session(&self, family: Family, now: UtcMillis) -> Result<Option<Session>>;

    /// Replaces a refresh token by its successor (digests of both).
    ///
    /// The same token presented again within a minute with the same successor
    /// gets [`Rotation::Again`]; so the successor must follow from the token and
    /// a secret of the server.
    async fn rotate(
        &self,
        family: Family,
        token: Digest,
        successor: Digest,
        now: UtcMillis,
    ) -> Result<Rotation>;

    /// Ends a session.
    async fn end_session(&self, family: Family) -> Result<()>;

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

    /// A person's membership, retired ones included.
    async fn member(&self, shop: ShopId, user: UserId) -> Result<Option<Member>>;

    /// A shop's members, retired ones included.
    async fn members(&self, shop: ShopId) -> Result<Vec<Member>>;

    /// The shops of a person, retired memberships left out.
    async fn memberships(&self, user: UserId) -> Result<Vec<Membership>>;

    /// All shops with their names (roles empty).
    async fn shops(&self) -> Result<Vec<Membership>>;

    /// Counts an attempt at something (`sign-in:LOGIN`, `sign-in-from:ADDRESS`) at `now`,
    /// with those not before `since`.
    async fn attempt(&self, key: &str, now: UtcMillis, since: UtcMillis) -> Result<Attempts>;

    /// Forgets the attempts at something.
    async fn forget_attempts(&self, key: &str) -> Result<()>;

    /// Forgets what no longer matters: attempts before `before`, sessions that ended before it.
    async fn tidy_accounts(&self, before: UtcMillis) -> Result<()>;
}
