//! A world in a test: virtual time, phones with tabs, a server, and a network that can be made to fail.

pub mod phone;
pub mod server;
pub mod uploads;
pub mod wire;

use std::cell::Cell;
use std::rc::Rc;

pub use phone::{Phone, Tab};
pub use pretend_phone::{Clock, hand, store};
pub use server::Server;
pub use wire::Fault;

use shared_types::body::{Known, On, The};
use shared_types::ids::{JobId, LogId, ShopId, StepId};
use shared_types::job::{JobPatch, StepPatch};
use shared_types::shop::Role;
use uuid::Uuid;

/// The world: a clock and a server with two people.
pub struct World {
    pub clock: Clock,
    pub server: Server,
    seeds: Rc<Cell<u64>>,
}

pub const SHOP: ShopId = ShopId(Uuid::from_u128(0x5109));
/// 2026-11-25T12:00:00Z.
pub const NOON: i64 = 1_795_608_000_000;

impl World {
    pub fn new() -> Self {
        let clock = Clock::at(NOON);
        let server = Server::new(clock.clone());
        server.add_person("mech", "Mechanic", &[Role::Lead, Role::Mechanic]);
        server.add_person("insp", "Inspector", &[Role::Inspector]);
        Self { clock, server, seeds: Rc::new(Cell::new(1)) }
    }

    /// A fresh phone.
    pub fn phone(&self) -> Phone {
        self.seeds.set(self.seeds.get() + 1);
        Phone::new(self.clock.clone(), self.server.clone(), self.seeds.get())
    }

    /// A fresh phone with one tab, signed in.
    pub async fn signed_in(&self, login: &str) -> (Phone, Tab) {
        let phone = self.phone();
        let tab = phone.tab().await;
        tab.sign_in(login, "secret", "phone").await.expect("the person is known");
        (phone, tab)
    }
}

/// A job's log with a fixed id.
pub fn job(number: u128) -> LogId {
    LogId::Job(SHOP, JobId(Uuid::from_u128(number)))
}

pub fn titled(title: &str) -> Known {
    Known::Job(The { set: JobPatch { title: Some(title.into()), ..JobPatch::default() } })
}

pub fn part(name: &str) -> Known {
    Known::Job(The { set: JobPatch { part: Some(name.into()), ..JobPatch::default() } })
}

pub fn step(number: u128, title: &str) -> Known {
    let set = StepPatch { title: Some(title.into()), ..StepPatch::default() };
    Known::Step(On { id: StepId(Uuid::from_u128(number)), set })
}
