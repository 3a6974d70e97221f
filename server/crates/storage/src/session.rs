//! Sessions: sign-ins that go on by refresh tokens.

use async_trait::async_trait;
use shared_types::digest::Digest;
use shared_types::ids::{DeviceId, UserId};
use shared_types::time::UtcMillis;
use uuid::Uuid;

use crate::error::Result;

/// How long a replaced refresh token may be presented again, in milliseconds: its answer may have got lost.
pub(crate) const GRACE: i64 = 60_000;

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

/// Sessions.
#[async_trait]
pub trait SessionStore {
    /// Starts a session with the digest of its first refresh token.
    async fn start_session(&self, session: &Session, token: Digest) -> Result<()>;

    /// The session if it is alive: not ended, not expired, person not disabled, device not revoked.
    async fn session(&self, family: Family, now: UtcMillis) -> Result<Option<Session>>;

    /// Replaces a refresh token by its successor (digests of both).
    ///
    /// The same token presented again within a minute with the same successor
    /// gets [`Rotation::Again`]; so the successor must follow from the token and
    /// a secret of the server.
    ///
    /// After a restore from a backup, phones hold tokens that follow from the ones stored: the
    /// first token presented then is taken as the present one. So the caller must have made sure
    /// that the token is one that this server made.
    async fn rotate(
        &self,
        family: Family,
        token: Digest,
        successor: Digest,
        now: UtcMillis,
    ) -> Result<Rotation>;

    /// Ends a session.
    async fn end_session(&self, family: Family) -> Result<()>;

    /// Forgets sessions that expired before `before`.
    async fn tidy_accounts(&self, before: UtcMillis) -> Result<()>;
}
