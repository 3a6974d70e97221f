//! The sync loop: what is made here goes out, what is new comes in, changes always before photos.

use std::pin::pin;

use futures::future::{Either, select};
use shared_types::api::Me;

use crate::device::{Device, LocalError};
use crate::event::{News, SyncLine};
use crate::pull::{Ahead, Head};
use crate::push::concerns_this_alone;
use crate::rows::{LogRow, OWES_SIGN_OUT, log_key};
use crate::session::CallError;
use crate::store::{LocalStore, StoreError, Table};
use crate::surroundings::{Lock, Surroundings};
use crate::transport::{Body, Method, NetError, Transport};
use crate::trouble::{Going, fetching_key};
use crate::wake::Work;

/// With nothing to do, everything is compared again after this many milliseconds: the server's
/// notices make that a formality.
const RECHECK: u32 = 300_000;
/// The wait after the first failure, in milliseconds; it doubles with each further one.
const FIRST_WAIT: u32 = 1_000;
/// The longest wait after a failure.
const LONGEST_WAIT: u32 = 30_000;

/// What follows a round.
enum Rest {
    /// All done; something is due after so many milliseconds.
    Done(u32),
    /// Nothing can be done until somebody signs in.
    Asleep,
    /// Try again; not before so many milliseconds, if the server said so.
    Failed(Option<u32>),
}

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// Sends and fetches everything once, as far as it goes; the outcome is in [`Device::sync_state`].
    pub async fn sync_once(&self) {
        let mut work = Work::full();
        // What comes up on the way is done too; a bound keeps two quarrelling servers from holding us here.
        for _ in 0..10 {
            if !matches!(self.round(work).await, Rest::Done(_)) {
                return;
            }
            work = self.inner.wake.take();
            if work.is_empty() {
                return;
            }
        }
    }

    /// The sync loop: runs for as long as the tab lives. One tab of a device sends; the others
    /// wait for their turn and are told what changed.
    pub async fn run(&self) {
        let _turn = self.inner.surroundings.lock(Lock::Sender).await;
        self.inner.now.borrow_mut().sender = true;
        futures::join!(self.send_loop(), self.notice_loop());
    }

    /// Something happened that makes a try worthwhile: back online, page shown again, a button.
    pub fn kick(&self) {
        self.try_everything();
        if !self.inner.now.borrow().sender {
            self.tell(&News::Wake);
        }
    }

    /// What failed before is tried too.
    pub(crate) fn try_everything(&self) {
        self.inner.now.borrow_mut().trouble.clear();
        self.inner.wake.urgently();
    }

    async fn send_loop(&self) {
        let mut failures = 0;
        let mut work = Work::full();
        loop {
            let (wait, only_urgent) = match self.round(work).await {
                Rest::Done(due) => {
                    failures = 0;
                    (due, false)
                }
                Rest::Asleep => (RECHECK, true),
                Rest::Failed(asked) => {
                    failures += 1;
                    self.inner.surroundings.sleep(asked.unwrap_or_default()).await;
                    (self.back_off(failures), true)
                }
            };
            let woken = pin!(self.inner.wake.wait(only_urgent));
            let due = pin!(self.inner.surroundings.sleep(wait));
            let on_time = matches!(select(woken, due).await, Either::Right(_));
            let taken = self.inner.wake.take();
            work = if on_time || failures > 0 { Work::full() } else { taken };
        }
    }

    /// A wait that doubles with each failure, half of it by chance, so that a shop full of phones
    /// does not come back all at once.
    pub(crate) fn back_off(&self, failures: u32) -> u32 {
        let whole = FIRST_WAIT.saturating_mul(1 << failures.saturating_sub(1).min(10)).min(LONGEST_WAIT);
        let half = whole / 2;
        let chance =
            u32::try_from(self.inner.surroundings.random() % u128::from(half + 1)).unwrap_or_default();
        half + chance
    }

    async fn round(&self, work: Work) -> Rest {
        let _turn = self.inner.syncing.lock().await;
        if self.user().is_none() {
            return self.round_of_nobody().await;
        }
        let state = self.sync_state();
        if state.line != SyncLine::AllSent || state.changes_to_send + state.photos_to_send > 0 {
            self.say(SyncLine::Sending);
        }
        match self.everything(work).await {
            Ok(due) => {
                self.say_done();
                Rest::Done(due.into_iter().chain(self.trouble_due()).min().unwrap_or(RECHECK).min(RECHECK))
            }
            Err(CallError::SignInNeeded) => {
                self.say(SyncLine::SignInNeeded);
                Rest::Asleep
            }
            Err(CallError::Local(LocalError::NotSignedIn)) => Rest::Asleep,
            Err(error) => {
                self.say(match &error {
                    CallError::Net(NetError::Unreachable | NetError::TimedOut) => SyncLine::Offline,
                    error => SyncLine::Problem(error.to_string()),
                });
                Rest::Failed(self.inner.now.borrow_mut().access.retry_after.take())
            }
        }
    }

    async fn round_of_nobody(&self) -> Rest {
        let owes = match self.settle_sign_out().await {
            Ok(()) => self.inner.store.get(Table::Meta, OWES_SIGN_OUT).await,
            Err(error) => Err(error),
        };
        match owes {
            Ok(None) => Rest::Asleep,
            Ok(Some(_)) => Rest::Failed(None),
            Err(error) => {
                self.say(SyncLine::Problem(error.to_string()));
                Rest::Failed(None)
            }
        }
    }

    fn say_done(&self) {
        let state = self.sync_state();
        let held = {
            let now = self.inner.now.borrow();
            now.held.values().chain(now.trouble.values().map(|trouble| &trouble.why)).next().cloned()
        };
        self.say(match held {
            Some(why) => SyncLine::Problem(why),
            None if state.changes_to_send + state.photos_to_send == 0 => SyncLine::AllSent,
            None => SyncLine::Sending,
        });
    }

    /// Does the work, then photos. Gives the milliseconds until something more is due, if anything is.
    async fn everything(&self, work: Work) -> Result<Option<u32>, CallError> {
        let full = work.full;
        self.changes(work).await?;
        // There is contact: notices need not wait until all pictures have come.
        self.inner.contact.give();
        self.upload_all().await?;
        let due = self.fetch_thumbs().await?;
        if full {
            self.tidy().await.map_err(LocalError::from)?;
        }
        Ok(due)
    }

    /// Changes go first: what came up while photos are on their way is done in between.
    /// Says whether anything had come up.
    pub(crate) async fn attend(&self) -> Result<bool, CallError> {
        let work = self.inner.wake.take();
        if work.is_empty() {
            return Ok(false);
        }
        self.changes(work).await?;
        Ok(true)
    }

    async fn changes(&self, work: Work) -> Result<(), CallError> {
        let mut going = Going::default();
        if !work.full {
            self.push_all().await?;
            for (log, head) in work.heads {
                let row = self.inner.store.get(Table::Logs, &log_key(log)).await.map_err(LocalError::from)?;
                if row.is_none_or(|row| head > LogRow::read(&row).pulled) {
                    let head = Head { log, head, mark: None, epoch: String::new() };
                    self.catch_up(&head, Ahead::There, &mut going).await?;
                }
            }
            return Ok(());
        }
        self.inner.now.borrow_mut().held.clear();
        // What only this device has goes out before anything is asked.
        self.push_all().await?;
        self.ask_who().await?;
        let mut behind = Vec::new();
        let mut went_back = false;
        for head in self.heads().await? {
            match self.compare(&head).await.map_err(LocalError::from)? {
                Ahead::Even => {}
                Ahead::WentBack => {
                    self.catch_up(&head, Ahead::WentBack, &mut going).await?;
                    went_back = true;
                }
                ahead => behind.push((head, ahead)),
            }
        }
        if went_back {
            self.push_all().await?;
        }
        for (head, ahead) in behind {
            self.catch_up(&head, ahead, &mut going).await?;
        }
        Ok(())
    }

    /// Makes a log here what it is at the server. One that can't be read (any more) does not keep the
    /// others from being read.
    async fn catch_up(&self, head: &Head, ahead: Ahead, going: &mut Going) -> Result<(), CallError> {
        let key = fetching_key(head.log);
        if self.must_wait(&key) {
            return Ok(());
        }
        match self.make_even(head, ahead).await {
            Err(CallError::Refused(problem)) if concerns_this_alone(&problem) => {
                let why = CallError::Refused(problem).to_string();
                if ahead == Ahead::WentBack {
                    self.went_wrong(&key, why.clone());
                }
                self.inner.now.borrow_mut().held.insert(head.log, why);
                Ok(())
            }
            done => self.judge(&key, going, done),
        }
    }

    /// Roles and shops may have changed.
    async fn ask_who(&self) -> Result<(), CallError> {
        let me: Me = self.ask(Method::Get, "me", Body::Empty).await?;
        let mut signed_in = self.signed_in()?;
        if me.user == signed_in.me.user && me != signed_in.me {
            signed_in.me = me;
            self.keep_me(signed_in).await.map_err(|error: StoreError| LocalError::from(error))?;
        }
        Ok(())
    }
}
