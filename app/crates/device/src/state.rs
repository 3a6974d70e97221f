//! The fold of a log, whichever kind it is.

use std::rc::Rc;

use serde::Serialize;
use serde_json::Value;
use shared_types::body::Known;
use shared_types::change::Entry;
use shared_types::digest::Digest;
use shared_types::fold::{self, Folded as _};
use shared_types::ids::{ChangeId, LogId};
use shared_types::job::JobState;
use shared_types::json;
use shared_types::shop::ShopState;
use shared_types::status::JobSummary;

use crate::rows::SnapshotRow;
use crate::store::{StoreError, to_row};

/// A log's state; clones are cheap and share it until one of them is changed.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum State {
    Shop(Rc<ShopState>),
    Job(Rc<JobState>),
}

impl State {
    pub(crate) fn empty(log: LogId) -> Self {
        match log {
            LogId::Shop(_) => Self::Shop(Rc::default()),
            LogId::Job(..) => Self::Job(Rc::default()),
        }
    }

    pub(crate) fn apply(&mut self, entry: &Entry) {
        match self {
            Self::Shop(state) => Rc::make_mut(state).apply(entry),
            Self::Job(state) => Rc::make_mut(state).apply(entry),
        }
    }

    pub(crate) fn seen(&self, body: &Known) -> Vec<ChangeId> {
        match self {
            Self::Shop(state) => state.seen(body),
            Self::Job(state) => state.seen(body),
        }
    }

    pub(crate) fn undo(&self, body: &Known) -> Option<Known> {
        match self {
            Self::Shop(state) => state.undo(body),
            Self::Job(state) => state.undo(body),
        }
    }

    pub(crate) fn summary(&self) -> Option<JobSummary> {
        match self {
            Self::Shop(_) => None,
            Self::Job(state) => Some(state.summary()),
        }
    }

    /// The snapshot's bytes.
    pub(crate) fn to_snapshot(&self, generation: u32, seq: u64) -> Result<Vec<u8>, StoreError> {
        fn row<S: Serialize>(state: &S, generation: u32, seq: u64) -> Result<Vec<u8>, StoreError> {
            to_row(&SnapshotRow { fold: fold::name(), generation, seq, state })
        }
        match self {
            Self::Shop(state) => row(state.as_ref(), generation, seq),
            Self::Job(state) => row(state.as_ref(), generation, seq),
        }
    }

    /// A snapshot's state and place; `None` when another fold or generation made it: fold anew then.
    pub(crate) fn from_snapshot(
        log: LogId,
        generation: u32,
        fold: &str,
        bytes: &[u8],
    ) -> Option<(Self, u64)> {
        let row: SnapshotRow<Value> = json::read(bytes).ok()?;
        let fits = row.fold == fold && row.generation == generation;
        Self::from_value(log, row.state).filter(|_| fits).map(|state| (state, row.seq))
    }

    /// A state that was folded elsewhere; `None` when this version can't read it.
    pub(crate) fn from_value(log: LogId, state: Value) -> Option<Self> {
        match log {
            LogId::Shop(_) => serde_json::from_value(state).ok().map(|state| Self::Shop(Rc::new(state))),
            LogId::Job(..) => serde_json::from_value(state).ok().map(|state| Self::Job(Rc::new(state))),
        }
    }

    /// A job's photos, the latest first.
    pub(crate) fn latest_photos(&self) -> impl Iterator<Item = Digest> {
        let photos = match self {
            Self::Shop(_) => None,
            Self::Job(job) => Some(&job.photos),
        };
        photos
            .into_iter()
            .flat_map(|photos| photos.values().rev())
            .filter_map(|it| it.it.digest.get().copied())
    }
}
