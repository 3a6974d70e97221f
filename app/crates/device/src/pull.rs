//! Pulling: what others made, page by page.

use std::collections::BTreeSet;

use serde_json::Value;
use shared_types::api::{Logged, Logs, Page};
use shared_types::body::{Body as ChangeBody, Known};
use shared_types::change::Change;
use shared_types::check::SNAPSHOT_AFTER;
use shared_types::digest::Digest;
use shared_types::ids::LogId;
use shared_types::sorted;
use shared_types::status::JobStatus;

use crate::call::{LARGE, SMALL, changes_path, read, request, success};
use crate::device::{Device, LocalError};
use crate::log::entry_of;
use crate::push::concerns_this_alone;
use crate::rows::{
    LogRow, Rebuild, SignedIn, WantedRow, log_key, logged_key, outbox_key, stray_key, strays_prefix,
    user_log_prefix, wanted_key,
};
use crate::session::CallError;
use crate::settle::Settled;
use crate::store::{Batch, LocalStore, StoreError, Table};
use crate::surroundings::Surroundings;
use crate::transport::{Body, Method, Transport};

/// Thumbnails fetched ahead per page of a log at most: the latest; older ones are fetched when looked at.
pub(crate) const THUMBS_AHEAD: usize = 200;

/// Thumbnails to be fetched in all, at most.
const MOST_WANTED: usize = 1_000;

/// A log as the server has it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Head {
    pub log: LogId,
    pub head: u64,
    /// Of the change there, if the server tells.
    pub mark: Option<u32>,
    pub epoch: String,
}

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// How far the server's logs are, for every shop of the person. Logs that are here but no
    /// longer there come with a head of 0: the server went back to before they began.
    pub(crate) async fn heads(&self) -> Result<Vec<Head>, CallError> {
        let shops: Vec<_> = self.signed_in()?.me.shops.iter().map(|membership| membership.shop).collect();
        let rows =
            self.inner.store.rows(Table::Logs, "", None, usize::MAX).await.map_err(LocalError::from)?;
        let mut heads = Vec::new();
        for shop in shops {
            let logs: Logs = match self.ask(Method::Get, &format!("shops/{shop}/logs"), Body::Empty).await {
                Ok(logs) => logs,
                Err(CallError::Refused(problem)) if concerns_this_alone(&problem) => continue,
                Err(error) => return Err(error),
            };
            let there = sorted::set(logs.logs.iter().map(|notice| notice.log));
            let lost = rows.iter().filter_map(|(key, row)| {
                let log = key.parse::<LogId>().ok()?;
                (LogRow::read(row).epoch.is_some() && log.shop() == shop && !there.contains(&log))
                    .then_some((log, 0, None))
            });
            let known = logs.logs.iter().map(|it| (it.log, it.head, it.mark));
            let all: Vec<_> = known.chain(lost).collect();
            let head = |(log, head, mark)| Head { log, head, mark, epoch: logs.epoch.clone() };
            heads.extend(all.into_iter().map(head));
        }
        Ok(heads)
    }

    /// Compares a log here with the server's, and says what is to be done about it.
    pub(crate) async fn compare(&self, head: &Head) -> Result<Ahead, StoreError> {
        let row = self.inner.store.get(Table::Logs, &log_key(head.log)).await?;
        let row = row.as_deref().map(LogRow::read).unwrap_or_default();
        let other = row.epoch.as_ref().is_some_and(|epoch| *epoch != head.epoch);
        if other
            || row.rebuild.is_some()
            || head.head < row.least()
            || row.has_another_past(head.head, head.mark)
        {
            return Ok(Ahead::WentBack);
        }
        Ok(if head.head > row.pulled || row.is_outdated() {
            Ahead::There
        } else if row.link.is_none() && head.mark.is_some() && head.head > 0 {
            Ahead::Unlinked
        } else {
            Ahead::Even
        })
    }

    /// Does what is to be done about it.
    pub(crate) async fn make_even(&self, head: &Head, ahead: Ahead) -> Result<(), CallError> {
        if ahead == Ahead::There {
            self.pull(head.log, head.head).await?;
        }
        let mut row = self.load(head.log).await.map_err(LocalError::from)?.row;
        if ahead == Ahead::WentBack || row.has_another_past(head.head, head.mark) {
            self.begin_rebuild(head.log, &head.epoch).await.map_err(LocalError::from)?;
            self.rebuild(head.log, head.head == 0).await?;
            row = self.load(head.log).await.map_err(LocalError::from)?.row;
            if row.has_another_past(head.head, head.mark) {
                // Its chain does not fit its own changes: these are not fetched over and over.
                return self.link(head.log, head.head, None).await.map_err(CallError::from);
            }
        }
        if row.link.is_none() && head.mark.is_some() && row.pulled > 0 {
            return match self.learn_link(head.log).await {
                // Nothing hangs on it.
                Err(CallError::Refused(_)) => Ok(()),
                done => done,
            };
        }
        Ok(())
    }

    /// Asks for the link of the last change that is here, which does not follow from what is here.
    async fn learn_link(&self, log: LogId) -> Result<(), CallError> {
        let path = changes_path(log).replace("/changes", "/head");
        let reply = self.authorised(request(Method::Get, &path, Body::Empty, SMALL)).await?;
        let told: Value = read(&success(reply)?)?;
        let link = told["head"]["link"].as_str().and_then(|link| link.parse().ok());
        let seq = told["head"]["seq"].as_u64().unwrap_or_default();
        Ok(self.link(log, seq, link).await?)
    }

    /// Keeps the link of the last change that is here, if that is the one at `seq`.
    async fn link(&self, log: LogId, seq: u64, link: Option<Digest>) -> Result<(), LocalError> {
        let _turn = self.inner.writing.lock().await;
        let mut loaded = self.take(log).await?;
        if loaded.row.pulled != seq {
            return Ok(());
        }
        loaded.row.link = link;
        match self.write(log, loaded, Batch::default()).await {
            // Another tab wrote: the next round asks again.
            Err(StoreError::Stale) => Ok(()),
            done => Ok(done?),
        }
    }

    /// Pulls a log to its end, which the server said is at `head` at least; a long log that is new here
    /// is opened by its state. The first page begins with the last change that is here already:
    /// should the server have another one in its place, it went back in time unnoticed.
    pub(crate) async fn pull(&self, log: LogId, head: u64) -> Result<(), CallError> {
        let row = self.load(log).await.map_err(LocalError::from)?.row;
        if head > SNAPSHOT_AFTER && row.pulled == 0 {
            self.open_by_snapshot(log).await?;
        }
        let mut overlap = 1;
        loop {
            let pulled = self.load(log).await.map_err(LocalError::from)?.row.pulled;
            let page = self.page(log, pulled.saturating_sub(overlap)).await?;
            match self.take_page(log, &page).await? {
                After::More => overlap = 0,
                After::End => return self.renew(log).await,
                After::WentBack => return self.rebuild(log, false).await,
            }
        }
    }

    pub(crate) async fn page(&self, log: LogId, since: u64) -> Result<Page, CallError> {
        let path = format!("{}?since={since}", changes_path(log));
        let page: Page =
            read(&success(self.authorised(request(Method::Get, &path, Body::Empty, LARGE)).await?)?)?;
        let gapless = page.changes.iter().zip(since + 1..).all(|(logged, seq)| logged.seq == seq);
        if gapless { Ok(page) } else { Err(CallError::Unreadable(format!("{log} has a gap after {since}"))) }
    }

    async fn take_page(&self, log: LogId, page: &Page) -> Result<After, LocalError> {
        let signed_in = self.signed_in()?;
        let after = loop {
            let _turn = self.inner.writing.lock().await;
            if self.user() != Some(signed_in.me.user) {
                return Err(LocalError::NotSignedIn);
            }
            match self.try_page(&signed_in, log, page).await {
                Err(StoreError::Stale) => {}
                done => break done?,
            }
        };
        self.recount().await?;
        Ok(after)
    }

    async fn try_page(&self, signed_in: &SignedIn, log: LogId, page: &Page) -> Result<After, StoreError> {
        let mut loaded = self.take(log).await?;
        let mut batch = Batch::default();
        if self.went_back(log, &loaded.row, page).await? {
            loaded.row.rebuild = Some(Rebuild { epoch: page.epoch.clone(), pulled: 0 });
            self.write(log, loaded, batch).await?;
            return Ok(After::WentBack);
        }
        let pulled = loaded.row.pulled;
        if page.head == pulled && loaded.row.epoch.is_some() {
            return Ok(After::End);
        }
        loaded.row.epoch = Some(page.epoch.clone());
        let mine = user_log_prefix(signed_in.me.user, log);
        let waiting: BTreeSet<String> = match loaded.unsent {
            0 => BTreeSet::new(),
            _ => sorted::set(self.inner.store.keys(Table::Outbox, &mine).await?),
        };
        let strays = sorted::set(self.inner.store.keys(Table::Strays, &strays_prefix(log)).await?);
        let mut settled = Settled::default();
        for logged in page.changes.iter().filter(|logged| logged.seq > pulled) {
            batch.put(Table::Logged, logged_key(log, loaded.row.generation, logged.seq), logged)?;
            loaded.row.go_on(log, logged);
            let Some(entry) = entry_of(logged) else {
                continue;
            };
            let stray = stray_key(log, entry.change.id);
            if strays.contains(&stray) {
                batch.delete(Table::Strays, stray);
            }
            let key = outbox_key(signed_in.me.user, &entry.change);
            if waiting.contains(&key) {
                // Pushed once, and the answer got lost.
                settled.own(key, entry);
            } else {
                settled.entries.push(entry);
            }
        }
        let photos = settled.entries.iter().rev().filter_map(|entry| photo_of(&entry.change));
        self.want_thumbs(log, &loaded.row, photos.take(THUMBS_AHEAD).collect(), &mut batch).await?;
        settled.end = page.changes.is_empty() || loaded.row.pulled >= page.head;
        let after = if settled.end { After::End } else { After::More };
        self.settle(log, loaded, settled, batch).await?;
        Ok(after)
    }

    /// Has the server another past than what is here?
    async fn went_back(&self, log: LogId, row: &LogRow, page: &Page) -> Result<bool, StoreError> {
        if row.epoch.as_ref().is_some_and(|epoch| *epoch != page.epoch) || page.head < row.least() {
            return Ok(true);
        }
        // The last change that is here, and own ones that were acknowledged beyond it.
        let known = row.pulled..=row.least();
        for logged in page.changes.iter().filter(|logged| known.contains(&logged.seq)) {
            let key = logged_key(log, row.generation, logged.seq);
            let here: Option<Logged> = self.row(Table::Logged, &key).await?;
            if here.is_some_and(|here| here.change != logged.change) {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Fetches the latest thumbnails ahead, of jobs that are not done; the rest when they are looked at.
    pub(crate) async fn want_thumbs(
        &self,
        log: LogId,
        row: &LogRow,
        digests: BTreeSet<Digest>,
        batch: &mut Batch,
    ) -> Result<(), StoreError> {
        let done = row.summary.as_ref().is_some_and(|summary| summary.status == JobStatus::Done);
        if digests.is_empty() || done || self.inner.store.count(Table::Wanted, "").await? > MOST_WANTED {
            return Ok(());
        }
        for digest in digests {
            batch.put(Table::Wanted, wanted_key(log, digest), &WantedRow::default())?;
        }
        Ok(())
    }
}

/// How a log here compares with the server's.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ahead {
    /// The same.
    Even,
    /// The same as far as can be told: what tells the past apart is to be asked for.
    Unlinked,
    /// The server has more, or what is here is to be folded anew.
    There,
    /// The server has less than it had, or other content: it was restored from a backup.
    WentBack,
}

/// What follows a page.
enum After {
    More,
    End,
    WentBack,
}

/// The photo that a change names.
pub(crate) fn photo_of(change: &Change) -> Option<Digest> {
    match &change.body {
        ChangeBody::Known(Known::Photo(photo)) => photo.set.digest,
        _ => None,
    }
}
