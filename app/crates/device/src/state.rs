//! The fold of a log, whichever kind it is.

use std::rc::Rc;

use serde::Serialize;
use serde::de::DeserializeOwned;
use shared_types::body::Known;
use shared_types::change::Entry;
use shared_types::digest::Digest;
use shared_types::fold::Folded as _;
use shared_types::ids::{ChangeId, LogId};
use shared_types::job::JobState;
use shared_types::json;
use shared_types::shop::ShopState;
use shared_types::status::JobSummary;

use crate::rows::SnapshotRow;
use crate::store::{StoreError, to_row};

/// Raised by hand when the fold of known kinds changes: snapshots made before are not used then.
const FOLD: u32 = 2;

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
            to_row(&SnapshotRow { fold: fold_name(), generation, seq, state })
        }
        match self {
            Self::Shop(state) => row(state.as_ref(), generation, seq),
            Self::Job(state) => row(state.as_ref(), generation, seq),
        }
    }

    /// A snapshot's state and place; `None` when another version or generation made it: fold anew then.
    pub(crate) fn from_snapshot(log: LogId, generation: u32, bytes: &[u8]) -> Option<(Self, u64)> {
        fn row<S: DeserializeOwned>(generation: u32, bytes: &[u8]) -> Option<(Rc<S>, u64)> {
            let row: SnapshotRow<S> = json::read(bytes).ok()?;
            (row.fold == fold_name() && row.generation == generation).then(|| (Rc::new(row.state), row.seq))
        }
        match log {
            LogId::Shop(_) => row(generation, bytes).map(|(state, seq)| (Self::Shop(state), seq)),
            LogId::Job(..) => row(generation, bytes).map(|(state, seq)| (Self::Job(state), seq)),
        }
    }
}

/// Names the fold: changes that an older version could not fold must be folded anew by a newer one.
fn fold_name() -> String {
    format!("{FOLD}-{}", Digest::of(Known::KINDS.concat().as_bytes()).short())
}
