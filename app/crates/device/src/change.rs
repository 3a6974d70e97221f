//! Making changes.

use shared_types::api::Me;
use shared_types::body::{Body, Known};
use shared_types::change::{Change, Entry, SignedChange};
use shared_types::check::{MAX_CHANGE_BYTES, Problem};
use shared_types::digest::Digest;
use shared_types::ids::{Author, ChangeId, LogId, UserId};
use shared_types::json;
use shared_types::rules::{Denied, permit};
use shared_types::shop::Roles;
use shared_types::signature::takes_back;
use shared_types::stamp::Stamp;

use crate::device::{Device, LocalError};
use crate::log::Loaded;
use crate::rows::{CLOCK, ClockRow, SignedIn, chain_key, outbox_key};
use crate::store::{Batch, LocalStore, StoreError, Table, row_or_default};
use crate::surroundings::Surroundings;
use crate::transport::Transport;

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// Makes changes: checked, signed, stored together with their place in the outbox in one
    /// transaction, and folded in. Never waits for the network. A new job is made by changing its log.
    ///
    /// Gives the bodies that take them back, to be passed to this same method.
    ///
    /// # Errors
    /// When nobody is signed in, something is out of limits or not permitted, or the store
    /// fails. Nothing is saved then.
    pub async fn change(&self, log: LogId, bodies: Vec<Known>) -> Result<Vec<Known>, LocalError> {
        self.change_with(log, bodies, Batch::default()).await
    }

    /// [`Device::change`], with further rows in the same transaction.
    pub(crate) async fn change_with(
        &self,
        log: LogId,
        bodies: Vec<Known>,
        with: Batch,
    ) -> Result<Vec<Known>, LocalError> {
        let bodies: Vec<Body> = bodies.into_iter().map(Body::Known).collect();
        let problems: Vec<Problem> = bodies.iter().flat_map(Body::problems).collect();
        if !problems.is_empty() {
            return Err(LocalError::OutOfLimits(problems));
        }
        let undo = loop {
            let _turn = self.inner.writing.lock().await;
            let signed_in = self.signed_in()?;
            for body in &bodies {
                self.may(&signed_in, log, body).await?;
            }
            match self.try_change(&signed_in, log, &bodies, with.clone()).await {
                // Another tab wrote to the log or moved the clock: look again, and make them anew.
                Err(LocalError::Store(StoreError::Stale)) => {
                    self.inner.now.borrow_mut().cache.forget(log);
                }
                done => break done?,
            }
        };
        self.recount().await?;
        self.made();
        Ok(undo)
    }

    async fn try_change(
        &self,
        signed_in: &SignedIn,
        log: LogId,
        bodies: &[Body],
        mut batch: Batch,
    ) -> Result<Vec<Known>, LocalError> {
        let mut loaded = self.load(log).await?;
        let stored_clock = self.inner.store.get(Table::Meta, CLOCK).await?;
        let mut clock: ClockRow = row_or_default(Table::Meta, CLOCK, stored_clock.as_deref())?;
        let chain = chain_key(signed_in.device, log);
        let mut previous: Option<Digest> = self.row(Table::Meta, &chain).await?;
        let mut undo = Vec::new();
        for body in bodies {
            if let Body::Known(known) = body
                && !takes_back(known)
            {
                undo.extend(loaded.shown.undo(known));
            }
            let stamp = clock.clock().next(self.now());
            clock.made = stamp;
            let change = self.make(signed_in, log, body, stamp, previous, &loaded);
            let signed = self.sign(signed_in, &change).await?;
            previous = Some(signed.digest());
            batch.put(Table::Outbox, outbox_key(signed_in.me.user, &change), &signed)?;
            loaded.shown.apply(&Entry::from(change));
            loaded.unsent += 1;
        }
        if let Some(previous) = previous {
            batch.put(Table::Meta, chain, &previous)?;
        }
        batch.require(Table::Meta, CLOCK, stored_clock);
        batch.put(Table::Meta, CLOCK, &clock)?;
        self.write(log, loaded, batch).await?;
        undo.reverse();
        Ok(undo)
    }

    fn make(
        &self,
        signed_in: &SignedIn,
        log: LogId,
        body: &Body,
        stamp: Stamp,
        previous: Option<Digest>,
        loaded: &Loaded,
    ) -> Change {
        let replaces = match body {
            Body::Known(known) => loaded.shown.seen(known),
            Body::Unknown { .. } => Vec::new(),
        };
        Change {
            id: ChangeId(self.uuid_at(stamp.0)),
            log,
            author: Author::Person(signed_in.me.user),
            device: signed_in.device,
            stamp,
            previous,
            replaces,
            body: body.clone(),
        }
    }

    async fn sign(&self, signed_in: &SignedIn, change: &Change) -> Result<SignedChange, LocalError> {
        let text = json::write(change).map_err(|error| StoreError::Failed(error.to_string()))?;
        if text.len() > MAX_CHANGE_BYTES {
            return Err(LocalError::TooLong { bytes: text.len(), limit: MAX_CHANGE_BYTES });
        }
        let signature = self.inner.surroundings.sign(signed_in.device, text.as_bytes()).await?;
        Ok(SignedChange::new(text, &signature))
    }

    /// May the person make this change, as far as this device knows? The roles of the last
    /// contact count, or those in the shop's log if they allow more.
    async fn may(&self, signed_in: &SignedIn, log: LogId, body: &Body) -> Result<(), LocalError> {
        let author = Author::Person(signed_in.me.user);
        let Err(denied) = permit(&roles_of(signed_in, log), author, log, body) else {
            return Ok(());
        };
        if denied == Denied::WrongLog {
            return Err(denied.into());
        }
        let roles = self.shop_roles(log, signed_in.me.user).await?;
        if roles.is_empty() {
            return Err(denied.into());
        }
        Ok(permit(&roles, author, log, body)?)
    }

    async fn shop_roles(&self, log: LogId, user: UserId) -> Result<Roles, StoreError> {
        Ok(self.shop(log.shop()).await?.roles(user))
    }
}

/// The roles of the shop, and of the job if the log is one's.
fn roles_of(signed_in: &SignedIn, log: LogId) -> Roles {
    let Me { shops, jobs, .. } = &signed_in.me;
    let in_shop = shops.iter().filter(|it| it.shop == log.shop()).flat_map(|it| &it.roles);
    let on_job = jobs.iter().filter(|it| LogId::Job(it.shop, it.job) == log).flat_map(|it| &it.roles);
    in_shop.chain(on_job).copied().collect()
}
