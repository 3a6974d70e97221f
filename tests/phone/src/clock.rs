//! Virtual time, and an executor that moves it on when everything waits.

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::future::poll_fn;
use std::rc::Rc;
use std::task::{Poll, Waker};

use futures::executor::LocalPool;
use futures::task::LocalSpawnExt as _;

#[derive(Clone, Default)]
pub struct Clock {
    now: Rc<Cell<i64>>,
    timers: Rc<RefCell<BTreeMap<(i64, u64), Waker>>>,
    count: Rc<Cell<u64>>,
}

impl Clock {
    pub fn at(millis: i64) -> Self {
        let clock = Self::default();
        clock.now.set(millis);
        clock
    }

    pub fn now(&self) -> i64 {
        self.now.get()
    }

    pub async fn sleep(&self, millis: u32) {
        let end = self.now.get() + i64::from(millis);
        self.count.set(self.count.get() + 1);
        let key = (end, self.count.get());
        let _forget = Forget(self.clone(), key);
        poll_fn(|context| {
            if self.now.get() >= end {
                return Poll::Ready(());
            }
            self.timers.borrow_mut().insert(key, context.waker().clone());
            Poll::Pending
        })
        .await;
    }

    fn advance(&self) -> bool {
        let next = self.timers.borrow_mut().pop_first();
        match next {
            Some(((at, _), waker)) => {
                self.now.set(at.max(self.now.get()));
                waker.wake();
                true
            }
            None => false,
        }
    }

    /// Runs a test to its end in virtual time; what it spawned ends with it.
    pub fn run<R: 'static>(&self, main: impl Future<Output = R> + 'static) -> R {
        let mut pool = LocalPool::new();
        let main = pool.spawner().spawn_local_with_handle(main).expect("the pool lives");
        let mut main = Box::pin(main);
        loop {
            pool.run_until_stalled();
            let waker = futures::task::noop_waker();
            let mut context = std::task::Context::from_waker(&waker);
            if let Poll::Ready(result) = main.as_mut().poll(&mut context) {
                return result;
            }
            assert!(self.advance(), "everything waits, and no time will come");
        }
    }
}

struct Forget(Clock, (i64, u64));

impl Drop for Forget {
    fn drop(&mut self) {
        self.0.timers.borrow_mut().remove(&self.1);
    }
}
