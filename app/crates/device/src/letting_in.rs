//! Letting others in, and being let in: invitations, and links to a job's record. All of it needs the server.

use shared_types::api::{
    InvitationSecret, InvitationView, Invite, Invited, MakeRecordLink, Me, OpenedRecord, RecordLinkMade,
    RecordLinkView,
};
use shared_types::ids::{JobId, ShopId};

use crate::call::{SMALL, json, read, request, success};
use crate::device::{Device, LocalError};
use crate::session::CallError;
use crate::store::LocalStore;
use crate::surroundings::Surroundings;
use crate::transport::{Body, Method, Transport};

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// What an invitation is for.
    ///
    /// # Errors
    /// When the server can't be reached or the invitation is over.
    pub async fn look_at_invitation(&self, secret: &str) -> Result<InvitationView, CallError> {
        let body = json(&InvitationSecret { secret: secret.to_owned() })?;
        let reply = self.exchange(request(Method::Post, "auth/invitation", body, SMALL)).await?;
        read(&success(reply)?)
    }

    /// Takes an invitation up with the account that is signed in; what it opens is fetched at once.
    ///
    /// # Errors
    /// When the server can't be reached or the invitation is over.
    pub async fn accept_invitation(&self, secret: &str) -> Result<Me, CallError> {
        let mut signed_in = self.signed_in()?;
        let body = json(&InvitationSecret { secret: secret.to_owned() })?;
        let me: Me = self.ask(Method::Post, "auth/accept", body).await?;
        signed_in.me = me.clone();
        self.keep_me(signed_in).await.map_err(LocalError::from)?;
        self.inner.wake.urgently();
        Ok(me)
    }

    /// Invites a person; the link is `/join#SECRET`.
    ///
    /// # Errors
    /// When the server can't be reached or refuses.
    pub async fn invite(&self, shop: ShopId, invite: &Invite) -> Result<Invited, CallError> {
        self.ask(Method::Post, &format!("shops/{shop}/invitations"), json(invite)?).await
    }

    /// The shop's invitations.
    ///
    /// # Errors
    /// When the server can't be reached or refuses.
    pub async fn invitations(&self, shop: ShopId) -> Result<Vec<InvitationView>, CallError> {
        self.ask(Method::Get, &format!("shops/{shop}/invitations"), Body::Empty).await
    }

    /// Withdraws an invitation.
    ///
    /// # Errors
    /// When the server can't be reached or refuses.
    pub async fn withdraw_invitation(&self, shop: ShopId, id: &str) -> Result<(), CallError> {
        self.order(Method::Delete, &format!("shops/{shop}/invitations/{id}"), Body::Empty).await
    }

    /// The links to a job's record, the latest made first.
    ///
    /// # Errors
    /// When the server can't be reached or refuses.
    pub async fn record_links(&self, shop: ShopId, job: JobId) -> Result<Vec<RecordLinkView>, CallError> {
        self.ask(Method::Get, &format!("shops/{shop}/jobs/{job}/links"), Body::Empty).await
    }

    /// Makes a link to a job's record; the link is `/open#SECRET`.
    ///
    /// # Errors
    /// When the server can't be reached or refuses.
    pub async fn make_record_link(
        &self,
        shop: ShopId,
        job: JobId,
        asked: &MakeRecordLink,
    ) -> Result<RecordLinkMade, CallError> {
        self.ask(Method::Post, &format!("shops/{shop}/jobs/{job}/links"), json(asked)?).await
    }

    /// Revokes a link to a job's record.
    ///
    /// # Errors
    /// When the server can't be reached or refuses.
    pub async fn revoke_record_link(&self, shop: ShopId, job: JobId, id: &str) -> Result<(), CallError> {
        self.order(Method::Delete, &format!("shops/{shop}/jobs/{job}/links/{id}"), Body::Empty).await
    }

    /// Opens a link to a record, for somebody with or without an account: from then on the browser may
    /// show that record for an hour.
    ///
    /// # Errors
    /// When the server can't be reached, or the link has run out or was revoked.
    pub async fn open_record_link(&self, secret: &str) -> Result<OpenedRecord, CallError> {
        let body = json(&InvitationSecret { secret: secret.to_owned() })?;
        read(&success(self.exchange(request(Method::Post, "links/open", body, SMALL)).await?)?)
    }
}
