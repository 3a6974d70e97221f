//! What the sync loop is woken for.

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::future::poll_fn;
use std::task::{Poll, Waker};

use shared_types::ids::LogId;

/// What there is to do.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Work {
    /// Ask the server for everything.
    pub full: bool,
    /// Something was made here.
    pub made: bool,
    /// Logs that the server says have moved.
    pub heads: BTreeMap<LogId, u64>,
}

impl Work {
    pub(crate) fn full() -> Self {
        Self { full: true, ..Self::default() }
    }

    pub(crate) fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

/// Collects work until the loop comes for it.
#[derive(Default)]
pub(crate) struct Wake {
    work: RefCell<Work>,
    /// Worth trying at once, even while waiting after a failure.
    urgent: Cell<bool>,
    waker: Cell<Option<Waker>>,
}

impl Wake {
    /// Asks for everything, at once.
    pub(crate) fn urgently(&self) {
        self.work.borrow_mut().full = true;
        self.urgent.set(true);
        self.wake();
    }

    /// Something was made here: it is sent when nothing speaks against it.
    pub(crate) fn made(&self) {
        self.work.borrow_mut().made = true;
        self.wake();
    }

    /// A log has moved on the server.
    pub(crate) fn moved(&self, log: LogId, head: u64) {
        self.work.borrow_mut().heads.insert(log, head);
        self.wake();
    }

    fn wake(&self) {
        if let Some(waker) = self.waker.take() {
            waker.wake();
        }
    }

    /// Takes what there is to do.
    pub(crate) fn take(&self) -> Work {
        self.urgent.set(false);
        self.work.take()
    }

    /// Waits for work; after a failure only for urgent work.
    pub(crate) async fn wait(&self, only_urgent: bool) {
        poll_fn(|context| {
            let ready = if only_urgent { self.urgent.get() } else { !self.work.borrow().is_empty() };
            if ready {
                return Poll::Ready(());
            }
            self.waker.set(Some(context.waker().clone()));
            Poll::Pending
        })
        .await;
    }
}

/// Wakes one waiter once.
#[derive(Default)]
pub(crate) struct Signal {
    given: Cell<bool>,
    waker: Cell<Option<Waker>>,
}

impl Signal {
    pub(crate) fn give(&self) {
        self.given.set(true);
        if let Some(waker) = self.waker.take() {
            waker.wake();
        }
    }

    pub(crate) async fn wait(&self) {
        poll_fn(|context| {
            if self.given.take() {
                return Poll::Ready(());
            }
            self.waker.set(Some(context.waker().clone()));
            Poll::Pending
        })
        .await;
    }
}
