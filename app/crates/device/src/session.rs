//! Signing in, joining, signing out, and calls that need the server at once.

use shared_types::api::{DeviceView, InvitationView, Invite, Invited, Me, ProblemDetails};
use shared_types::ids::{DeviceId, ShopId};

use crate::device::{Device, LocalError, UnsentWork};
use crate::store::{LocalStore, StoreError};
use crate::surroundings::Surroundings;
use crate::transport::{NetError, Transport};

/// Why a call that needs the server failed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum CallError {
    /// The server can't be reached.
    #[error(transparent)]
    Net(#[from] NetError),
    /// The session is over.
    #[error("sign in again")]
    SignInNeeded,
    /// The server says no, and why.
    #[error("{}", if .0.detail.is_empty() { &.0.title } else { &.0.detail })]
    Refused(Box<ProblemDetails>),
    /// The server's answer can't be read by this version of the app.
    #[error("the server's answer can't be read; update the app ({0})")]
    Unreadable(String),
    /// The device itself failed.
    #[error(transparent)]
    Local(#[from] LocalError),
}

/// What to do with unsent work at sign-out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unsent {
    /// Don't sign out if there is any: say so.
    Warn,
    /// Sign out and keep it, locked, until the same person signs in here again.
    KeepLocked,
}

/// Why the person is still signed in.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SignOutError {
    /// This device alone holds work of theirs.
    #[error("{} changes and {} photos are not sent yet", .0.changes, .0.photos)]
    UnsentWork(UnsentWork),
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl<S: LocalStore, T: Transport, E: Surroundings> Device<S, T, E> {
    /// Signs in. When another person was signed in here, their unsent work stays, locked.
    ///
    /// # Errors
    /// When the server can't be reached or refuses.
    pub async fn sign_in(&self, login: &str, password: &str, device_name: &str) -> Result<Me, CallError> {
        let _ = (login, password, device_name);
        todo!()
    }

    /// Joins a shop by invitation, with a new account.
    ///
    /// # Errors
    /// When the server can't be reached or refuses.
    pub async fn join(
        &self,
        secret: &str,
        login: &str,
        name: &str,
        password: &str,
        device_name: &str,
    ) -> Result<Me, CallError> {
        let _ = (secret, login, name, password, device_name);
        todo!()
    }

    /// Signs out, offline too: what others could read is deleted from the device at once, the
    /// server's session as soon as the server can be reached.
    ///
    /// # Errors
    /// When there is unsent work and `unsent` says to warn, or the store fails.
    pub async fn sign_out(&self, unsent: Unsent) -> Result<(), SignOutError> {
        let _ = unsent;
        todo!()
    }

    /// Work of the person signed in that only this device holds.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn unsent_work(&self) -> Result<UnsentWork, StoreError> {
        todo!()
    }

    /// Work of other people that waits here, locked, until they sign in.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn locked_work(&self) -> Result<Vec<UnsentWork>, StoreError> {
        todo!()
    }

    /// What an invitation is for.
    ///
    /// # Errors
    /// When the server can't be reached or the invitation is over.
    pub async fn look_at_invitation(&self, secret: &str) -> Result<InvitationView, CallError> {
        let _ = secret;
        todo!()
    }

    /// Invites a person; the link is `/join#SECRET`.
    ///
    /// # Errors
    /// When the server can't be reached or refuses.
    pub async fn invite(&self, shop: ShopId, invite: &Invite) -> Result<Invited, CallError> {
        let _ = (shop, invite);
        todo!()
    }

    /// The shop's invitations.
    ///
    /// # Errors
    /// When the server can't be reached or refuses.
    pub async fn invitations(&self, shop: ShopId) -> Result<Vec<InvitationView>, CallError> {
        let _ = shop;
        todo!()
    }

    /// Withdraws an invitation.
    ///
    /// # Errors
    /// When the server can't be reached or refuses.
    pub async fn withdraw_invitation(&self, shop: ShopId, id: &str) -> Result<(), CallError> {
        let _ = (shop, id);
        todo!()
    }

    /// The person's devices.
    ///
    /// # Errors
    /// When the server can't be reached.
    pub async fn devices(&self) -> Result<Vec<DeviceView>, CallError> {
        todo!()
    }

    /// Signs a device out for good.
    ///
    /// # Errors
    /// When the server can't be reached or refuses.
    pub async fn revoke_device(&self, device: DeviceId) -> Result<(), CallError> {
        let _ = device;
        todo!()
    }
}
