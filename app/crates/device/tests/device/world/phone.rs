//! A phone: a store, surroundings and a wire, and tabs on them.

use std::ops::Deref;
use std::rc::Rc;

use device::{Device, SyncLine};

use super::hand::{Hand, Shared};
use super::store::Rows;
use super::wire::Wire;
use super::{Clock, Server};

pub type TestDevice = Device<Rows, Wire, Hand>;

pub struct Phone {
    pub clock: Clock,
    pub store: Rows,
    pub shared: Rc<Shared>,
    pub wire: Wire,
    seed: u64,
}

/// A tab with the app open.
#[derive(Clone)]
pub struct Tab(pub TestDevice);

impl Deref for Tab {
    type Target = TestDevice;

    fn deref(&self) -> &TestDevice {
        &self.0
    }
}

impl Phone {
    pub fn new(clock: Clock, server: Server, seed: u64) -> Self {
        let wire = Wire::new(clock.clone(), server);
        Self { clock, store: Rows::default(), shared: Rc::default(), wire, seed }
    }

    /// Opens the app (again).
    pub async fn tab(&self) -> Tab {
        let hand = Hand::new(self.clock.clone(), Rc::clone(&self.shared), self.seed);
        Tab(Device::open(self.store.clone(), self.wire.clone(), hand).await.expect("the store opens"))
    }

    pub fn offline(&self, offline: bool) {
        self.wire.offline.set(offline);
    }
}

impl Tab {
    /// Syncs until nothing is left to send, over whatever the wire does.
    pub async fn settle(&self, clock: &Clock) {
        for _ in 0..200 {
            self.sync_once().await;
            let state = self.sync_state();
            if state.line == SyncLine::AllSent {
                return;
            }
            clock.sleep(1_000).await;
        }
        panic!("it does not come to rest: {:?}", self.sync_state());
    }
}
