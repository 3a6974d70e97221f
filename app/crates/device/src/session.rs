//! Signing in, joining, signing out, and calls that need the server at once.

use serde_json::Value;
use shared_types::api::{
    Confirm, DeviceIntroduction, DeviceView, Join, Me, ProblemCode, ProblemDetails, Session, SignIn,
};
use shared_types::ids::{DeviceId, UserId};
use shared_types::signature::Confirmation;
use shared_types::sorted;
use shared_types::worksheet::WorksheetResult;

use crate::call::{Access, SMALL, json, read, request, success};
use crate::device::{Device, LocalError, UnsentWork};
use crate::event::{Event, News, SyncState};
use crate::log::Cache;
use crate::rows::{OWES_SIGN_OUT, SIGNED_IN, SignedIn, identity_key, log_of_key, person_key, user_prefix};
use crate::store::{Batch, LocalStore, StoreError, Table, from_row};
use crate::surroundings::Surroundings;
use crate::transport::{Body, Method, NetError, Transport};
use crate::upload::Progress;

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

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// Signs in. When another person was signed in here, their unsent work stays, locked.
    ///
    /// # Errors
    /// When the server can't be reached or refuses.
    pub async fn sign_in(&self, login: &str, password: &str, device_name: &str) -> Result<Me, CallError> {
        self.enter("auth/sign-in", login, device_name, |device| {
            json(&SignIn { login: login.to_owned(), password: password.to_owned(), device })
        })
        .await
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
        self.enter("auth/join", login, device_name, |device| {
            json(&Join {
                secret: secret.to_owned(),
                login: login.to_owned(),
                name: name.to_owned(),
                password: password.to_owned(),
                device,
            })
        })
        .await
    }

    async fn enter(
        &self,
        path: &str,
        login: &str,
        device_name: &str,
        body: impl Fn(DeviceIntroduction) -> Result<Body, CallError>,
    ) -> Result<Me, CallError> {
        let known: Option<DeviceId> =
            self.row(Table::Meta, &identity_key(login)).await.map_err(LocalError::from)?;
        let known = known.unwrap_or_else(|| DeviceId(self.uuid()));
        let (session, device) = match self.introduce(path, known, device_name, &body).await {
            Ok(session) => (session, known),
            // The id is another phone's or another key's by now (a copied or emptied phone).
            Err(CallError::Refused(problem)) if problem.code == ProblemCode::Conflict => {
                let fresh = DeviceId(self.uuid());
                (self.introduce(path, fresh, device_name, &body).await?, fresh)
            }
            Err(error) => return Err(error),
        };
        let signed_in = SignedIn { me: session.me.clone(), device };
        self.adopt(&session, signed_in).await.map_err(LocalError::from)?;
        self.inner.wake.urgently();
        Ok(session.me)
    }

    async fn introduce(
        &self,
        path: &str,
        id: DeviceId,
        name: &str,
        body: impl Fn(DeviceIntroduction) -> Result<Body, CallError>,
    ) -> Result<Session, CallError> {
        let public_key = self.inner.surroundings.public_key(id).await.map_err(LocalError::from)?;
        let body = body(DeviceIntroduction { id, name: name.to_owned(), public_key })?;
        read(&success(self.exchange(request(Method::Post, path, body, SMALL)).await?)?)
    }

    async fn adopt(&self, session: &Session, signed_in: SignedIn) -> Result<(), StoreError> {
        let turn = self.inner.writing.lock().await;
        let mut batch = Batch::default();
        let another = self.user().is_some_and(|user| user != signed_in.me.user);
        if another {
            self.clear_readable(&mut batch).await?;
        }
        batch.put(Table::Meta, identity_key(&signed_in.me.login), &signed_in.device)?;
        batch.put(Table::Meta, person_key(signed_in.me.user), &signed_in.me.login)?;
        batch.put(Table::Meta, SIGNED_IN, &signed_in)?;
        batch.delete(Table::Meta, OWES_SIGN_OUT);
        self.inner.store.commit(batch).await?;
        self.switch(Some(signed_in), Access::of(session));
        drop(turn);
        self.list_unsent_jobs().await?;
        self.take_up_own_strays().await?;
        self.recount().await
    }

    /// What was made offline before a sign-out is in the outbox alone: its jobs get their rows again.
    async fn list_unsent_jobs(&self) -> Result<(), StoreError> {
        let Some(user) = self.user() else {
            return Ok(());
        };
        let keys = self.inner.store.keys(Table::Outbox, &user_prefix(user)).await?;
        let logs = sorted::set(keys.iter().filter_map(|key| log_of_key(key)));
        for log in logs {
            let _turn = self.inner.writing.lock().await;
            let loaded = self.load(log).await?;
            if loaded.stored.is_none() {
                match self.write(log, loaded, Batch::default()).await {
                    Ok(()) | Err(StoreError::Stale) => {}
                    Err(error) => return Err(error),
                }
            }
        }
        Ok(())
    }

    /// Signs out, offline too: what others could read is deleted from the device at once, the
    /// server's session as soon as the server can be reached.
    ///
    /// # Errors
    /// When there is unsent work and `unsent` says to warn, or the store fails.
    pub async fn sign_out(&self, unsent: Unsent) -> Result<(), SignOutError> {
        let work = self.unsent_work().await?;
        if unsent == Unsent::Warn && !work.is_empty() {
            return Err(SignOutError::UnsentWork(work));
        }
        {
            let _turn = self.inner.writing.lock().await;
            let mut batch = Batch::default();
            self.clear_readable(&mut batch).await?;
            if let Some(user) = self.user().filter(|_| work.is_empty()) {
                batch.clear(Table::Drafts, user_prefix(user));
            }
            batch.delete(Table::Meta, SIGNED_IN);
            batch.put(Table::Meta, OWES_SIGN_OUT, &true)?;
            self.inner.store.commit(batch).await?;
            self.switch(None, Access::default());
        }
        self.recount().await?;
        self.settle_sign_out().await?;
        Ok(())
    }

    /// Ends the server's session of somebody who signed out while it could not be reached.
    pub(crate) async fn settle_sign_out(&self) -> Result<(), StoreError> {
        if self.inner.store.get(Table::Meta, OWES_SIGN_OUT).await?.is_none() {
            return Ok(());
        }
        // Any answer of ours settles it: a session that the server does not know is over too.
        if self.exchange(request(Method::Post, "auth/sign-out", Body::Empty, SMALL)).await.is_ok() {
            let mut batch = Batch::default();
            batch.delete(Table::Meta, OWES_SIGN_OUT);
            self.inner.store.commit(batch).await?;
        }
        Ok(())
    }

    /// Deletes what a person could read here; unsent work stays, whoever's it is.
    async fn clear_readable(&self, batch: &mut Batch) -> Result<(), StoreError> {
        // Others' changes that the server lost stay: they may be the last copies. They are locked, too.
        for table in [Table::Logs, Table::Logged, Table::Snapshots, Table::Wanted] {
            batch.clear(table, "");
        }
        let unsent = self.digests_only_here().await?;
        for key in self.inner.store.keys(Table::Photos, "").await? {
            if !key.parse().is_ok_and(|digest| unsent.contains(&digest)) {
                batch.clear(Table::Parts, format!("{key}|"));
                batch.delete(Table::Photos, key);
            }
        }
        Ok(())
    }

    fn switch(&self, signed_in: Option<SignedIn>, access: Access) {
        let mut now = self.inner.now.borrow_mut();
        let sync = SyncState { last_contact: now.sync.last_contact, ..SyncState::default() };
        let same = signed_in.as_ref().map(|it| it.me.user) == now.signed_in.as_ref().map(|it| it.me.user);
        now.access = access;
        now.signed_in.clone_from(&signed_in);
        if !same {
            now.cache = Cache::default();
            now.held.clear();
            now.trouble.clear();
            now.progress = Progress::default();
            now.sync = sync;
        }
        drop(now);
        self.tell(&News::SignedIn(signed_in));
        self.inner.ears.tell(&Event::Session(self.me()));
        self.inner.ears.tell(&Event::Jobs);
    }

    /// Work of the person signed in that only this device holds.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn unsent_work(&self) -> Result<UnsentWork, StoreError> {
        match self.me() {
            Some(me) => self.work_of(me.user, me.login).await,
            None => Ok(UnsentWork::default()),
        }
    }

    /// Work of other people that waits here, locked, until they sign in.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn locked_work(&self) -> Result<Vec<UnsentWork>, StoreError> {
        let mut locked = Vec::new();
        for (key, row) in self.inner.store.rows(Table::Meta, "person|", None, usize::MAX).await? {
            let Some(Ok(user)) = key.split('|').nth(1).map(str::parse::<UserId>) else {
                continue;
            };
            if Some(user) != self.user() {
                let login = from_row(Table::Meta, &key, &row)?;
                locked.push(self.work_of(user, login).await?);
            }
        }
        locked.retain(|work| !work.is_empty());
        Ok(locked)
    }

    /// Confirms a signature: the password once more, and the server's word for this moment.
    ///
    /// # Errors
    /// When the server can't be reached, or refuses the password or the capacity.
    pub async fn confirm(&self, confirm: &Confirm) -> Result<Confirmation, CallError> {
        self.ask(Method::Post, "auth/confirm", json(confirm)?).await
    }

    /// Works a worksheet out on the server without recording it: what the recorded answer leaves
    /// out, such as a template to print.
    ///
    /// # Errors
    /// When the server can't be reached or refuses the input.
    pub async fn work_out(&self, kind: &str, input: &Value) -> Result<WorksheetResult, CallError> {
        self.ask(Method::Post, &format!("calc/{kind}"), json(input)?).await
    }

    /// The person's devices.
    ///
    /// # Errors
    /// When the server can't be reached.
    pub async fn devices(&self) -> Result<Vec<DeviceView>, CallError> {
        self.ask(Method::Get, "devices", Body::Empty).await
    }

    /// Signs a device out for good.
    ///
    /// # Errors
    /// When the server can't be reached or refuses.
    pub async fn revoke_device(&self, device: DeviceId) -> Result<(), CallError> {
        self.order(Method::Delete, &format!("devices/{device}"), Body::Empty).await
    }
}
