//! Pushing: the outbox goes to the server log by log, in the order made. A change
//! leaves the outbox only by an answer that names it.

use shared_types::api::{Logged, ProblemDetails, Push, PushAnswer, Pushed, RefusalReason};
use shared_types::change::SignedChange;
use shared_types::check::MAX_CHANGES_PER_PUSH;
use shared_types::ids::{ChangeId, LogId};
use shared_types::sorted;

use crate::call::{LARGE, changes_path, json, read, request, success};
use crate::device::{Device, LocalError};
use crate::rows::{
    LogRow, Rebuild, RefusedRow, RefusedWhat, SignedIn, log_key, log_of_key, logged_key, refused_change_key,
    user_log_prefix, user_prefix,
};
use crate::session::CallError;
use crate::settle::Settled;
use crate::store::{Batch, Key, LocalStore, StoreError, Table};
use crate::surroundings::Surroundings;
use crate::transport::{Method, Transport};
use crate::trouble::{Going, fetching_key};

/// The most bytes of changes in one push.
const MAX_PUSH_BYTES: usize = 1024 * 1024;

/// A change on its way.
struct Sent {
    key: Key,
    id: ChangeId,
    signed: SignedChange,
}

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// Pushes every log's outbox. A log that the server takes nothing into is held and says why;
    /// the others go on.
    ///
    /// # Errors
    /// When the server can't be reached, is overloaded or the session is over: nothing more can be sent.
    pub(crate) async fn push_all(&self) -> Result<(), CallError> {
        let signed_in = self.signed_in()?;
        let keys = self.inner.store.keys(Table::Outbox, &user_prefix(signed_in.me.user)).await;
        let keys = keys.map_err(LocalError::from)?;
        if keys.iter().any(|key| log_of_key(key).is_none()) {
            let user = signed_in.me.user;
            self.outbox(user, &user_prefix(user), None, usize::MAX).await.map_err(LocalError::from)?;
        }
        let logs = sorted::set(keys.iter().filter_map(|key| log_of_key(key)));
        self.inner.now.borrow_mut().held.retain(|log, _| logs.contains(log));
        let mut going = Going::default();
        for log in logs {
            let key = log_key(log);
            if self.must_wait(&key) {
                continue;
            }
            match self.push_log(&signed_in, log).await {
                Err(CallError::Refused(problem)) if concerns_this_alone(&problem) => {
                    let why = CallError::Refused(problem).to_string();
                    self.inner.now.borrow_mut().held.insert(log, why);
                }
                done => {
                    if done.is_ok() {
                        self.inner.now.borrow_mut().held.remove(&log);
                    }
                    self.judge(&key, &mut going, done)?;
                }
            }
        }
        Ok(())
    }

    async fn push_log(&self, signed_in: &SignedIn, log: LogId) -> Result<(), CallError> {
        if self.load(log).await.map_err(LocalError::from)?.row.rebuild.is_some() {
            // Fetched anew first: that shows what the server has.
            if !self.must_wait(&fetching_key(log)) {
                self.inner.wake.urgently();
            }
            return Ok(());
        }
        let mut most = MAX_CHANGES_PER_PUSH;
        let mut after: Option<Key> = None;
        loop {
            let sent = self.next_to_send(signed_in, log, after.as_deref(), most).await?;
            let Some(last) = sent.last() else {
                return Ok(());
            };
            let last = last.key.clone();
            match self.push(signed_in, log, &sent).await {
                Ok(pushed) => {
                    if !self.take_answers(signed_in, log, &sent, &pushed).await? {
                        self.inner.wake.urgently();
                        return Ok(());
                    }
                    after = Some(last);
                }
                // One change in it spoils the whole push: find it by halves.
                Err(CallError::Refused(problem)) if matches!(problem.status, 400 | 413 | 422) => {
                    if let [alone] = sent.as_slice() {
                        self.refuse(signed_in, log, alone, &problem).await?;
                        most = MAX_CHANGES_PER_PUSH;
                    } else {
                        most = sent.len() / 2;
                    }
                }
                Err(error) => return Err(error),
            }
        }
    }

    async fn next_to_send(
        &self,
        signed_in: &SignedIn,
        log: LogId,
        after: Option<&str>,
        most: usize,
    ) -> Result<Vec<Sent>, LocalError> {
        let prefix = user_log_prefix(signed_in.me.user, log);
        let mut sent = Vec::new();
        let mut bytes = 0;
        for (key, signed) in self.outbox(signed_in.me.user, &prefix, after, most).await? {
            bytes += signed.text.len();
            if bytes > MAX_PUSH_BYTES && !sent.is_empty() {
                break;
            }
            let id = id_of_key(&key)?;
            sent.push(Sent { key, id, signed });
        }
        Ok(sent)
    }

    async fn push(&self, signed_in: &SignedIn, log: LogId, sent: &[Sent]) -> Result<Pushed, CallError> {
        let state = self.sync_state();
        let pending = u64::try_from(state.changes_to_send + state.photos_to_send).unwrap_or(u64::MAX);
        let push = Push { changes: sent.iter().map(|sent| sent.signed.clone()).collect(), pending };
        let request = request(Method::Post, &changes_path(log), json(&push)?, LARGE);
        read(&success(self.authorised_as(signed_in.me.user, request).await?)?)
    }

    /// Takes the answers in. False when they belong to another past than what is here: then the
    /// log is fetched anew first, and the outbox stays as it is.
    async fn take_answers(
        &self,
        signed_in: &SignedIn,
        log: LogId,
        sent: &[Sent],
        pushed: &Pushed,
    ) -> Result<bool, LocalError> {
        let same_epoch = loop {
            let _turn = self.inner.writing.lock().await;
            if self.user() != Some(signed_in.me.user) {
                return Err(LocalError::NotSignedIn);
            }
            match self.try_answers(signed_in, log, sent, pushed).await {
                Err(StoreError::Stale) => {}
                done => break done?,
            }
        };
        self.recount().await?;
        Ok(same_epoch)
    }

    async fn try_answers(
        &self,
        signed_in: &SignedIn,
        log: LogId,
        sent: &[Sent],
        pushed: &Pushed,
    ) -> Result<bool, StoreError> {
        let mut loaded = self.take(log).await?;
        let mut batch = Batch::default();
        let other = loaded.row.epoch.as_ref().is_some_and(|epoch| *epoch != pushed.epoch);
        if other
            || loaded.row.rebuild.is_some()
            || self.places_taken_again(log, &loaded.row, sent, pushed).await?
        {
            loaded.row.rebuild = Some(Rebuild { epoch: pushed.epoch.clone(), pulled: 0 });
            self.write(log, loaded, batch).await?;
            return Ok(false);
        }
        loaded.row.epoch = Some(pushed.epoch.clone());
        let mut settled = Settled::default();
        let mut placed = Vec::new();
        for (sent, answer) in matched(sent, &pushed.answers) {
            match answer {
                PushAnswer::Taken { seq, received, .. } | PushAnswer::AlreadyHad { seq, received, .. } => {
                    let logged = Logged { seq: *seq, received: *received, change: sent.signed.clone() };
                    batch.put(Table::Logged, logged_key(log, loaded.row.generation, *seq), &logged)?;
                    match crate::log::entry_of(&logged) {
                        Some(entry) => settled.own(sent.key.clone(), entry),
                        None => settled.leave.push(sent.key.clone()),
                    }
                    loaded.row.ahead = loaded.row.ahead.max(*seq);
                    placed.push(logged);
                }
                PushAnswer::Refused { reason, detail, problems, .. } => {
                    let row = RefusedRow {
                        log,
                        what: RefusedWhat::Change(sent.signed.clone()),
                        reason: *reason,
                        detail: detail.clone(),
                        problems: problems.clone(),
                        at: self.now(),
                        dropped: false,
                    };
                    batch.put(Table::Refused, refused_change_key(signed_in.me.user, sent.id), &row)?;
                    settled.leave.push(sent.key.clone());
                    settled.refold = true;
                }
            }
        }
        while let Some(next) = placed.iter().find(|logged| logged.seq == loaded.row.pulled + 1) {
            loaded.row.go_on(log, next);
        }
        settled.end = true;
        self.settle(log, loaded, settled, batch).await?;
        Ok(true)
    }

    /// Did the server give a place away that another change has here? Then it went back in time.
    async fn places_taken_again(
        &self,
        log: LogId,
        row: &LogRow,
        sent: &[Sent],
        pushed: &Pushed,
    ) -> Result<bool, StoreError> {
        for (sent, answer) in matched(sent, &pushed.answers) {
            if let PushAnswer::Taken { seq, .. } | PushAnswer::AlreadyHad { seq, .. } = answer
                && *seq <= row.least()
            {
                let key = logged_key(log, row.generation, *seq);
                let here: Option<Logged> = self.row(Table::Logged, &key).await?;
                // Beyond what was pulled only own ones are here.
                if here.map_or(*seq <= row.pulled, |here| here.change != sent.signed) {
                    return Ok(true);
                }
            }
        }
        Ok(false)
    }

    /// Puts a change that the server took no answer's trouble over into the refused tray.
    async fn refuse(
        &self,
        signed_in: &SignedIn,
        log: LogId,
        sent: &Sent,
        problem: &ProblemDetails,
    ) -> Result<(), LocalError> {
        let epoch = self.load(log).await?.row.epoch.unwrap_or_default();
        let answer = PushAnswer::Refused {
            id: Some(sent.id),
            reason: if problem.status == 422 { RefusalReason::OutOfLimits } else { RefusalReason::Malformed },
            detail: CallError::Refused(Box::new(problem.clone())).to_string(),
            problems: problem.fields.clone(),
        };
        let pushed = Pushed { epoch, answers: vec![answer] };
        self.take_answers(signed_in, log, std::slice::from_ref(sent), &pushed).await?;
        Ok(())
    }
}

/// Pairs answers with what was sent: by the id they name. A refusal without an id is paired by
/// its place, if there is one answer for each.
fn matched<'a>(sent: &'a [Sent], answers: &'a [PushAnswer]) -> Vec<(&'a Sent, &'a PushAnswer)> {
    let by_id = sorted::map(sent.iter().map(|sent| (sent.id, sent)));
    let one_each = sent.len() == answers.len();
    let find = |(place, answer): (usize, &PushAnswer)| match answer {
        PushAnswer::Taken { id, .. } | PushAnswer::AlreadyHad { id, .. } => by_id.get(id).copied(),
        PushAnswer::Refused { id: Some(id), .. } => by_id.get(id).copied(),
        PushAnswer::Refused { id: None, .. } => sent.get(place).filter(|_| one_each),
    };
    answers.iter().enumerate().filter_map(|(place, answer)| Some((find((place, answer))?, answer))).collect()
}

pub(crate) fn id_of_key(key: &str) -> Result<ChangeId, StoreError> {
    let id = key.rsplit('|').next().and_then(|id| id.parse().ok());
    id.ok_or_else(|| StoreError::Damaged(format!("outbox/{key}")))
}

/// Is it about this log or photo alone? Then the rest may go on. Otherwise the server as a whole
/// can't take anything just now.
pub(crate) fn concerns_this_alone(problem: &ProblemDetails) -> bool {
    (400..500).contains(&problem.status) && !matches!(problem.status, 401 | 408 | 429)
}
