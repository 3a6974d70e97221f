//! Five phones of three people, and the scheduler that decides who does what.

use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use device::{Device, NewPhoto, SyncLine, TrayId, Unsent};
use futures::future::{Either, join, join_all, select};
use pretend_phone::Clock;
use pretend_phone::hand::{Hand, Shared};
use pretend_phone::store::{Dies, Rows};
use shared_types::api::RefusalReason;
use shared_types::digest::Digest;
use shared_types::ids::{ChangeId, JobId, LogId, ShopId};
use shared_types::job::Moment;
use uuid::Uuid;

use crate::chance::Chance;
use crate::newer::Newer;
use crate::people;
use crate::servers::{NOON, PASSWORD, Servers};
use crate::struck::{Blow, Struck};
use crate::trace::Trace;
use crate::wire::{Net, Wire};

pub type Phone = Device<Rows, Wire, Hand>;

const ACTS: u32 = 40;
/// No round takes longer than this, unless the app died in it.
const DEAD_AFTER: u32 = 7_200_000;
const YEAR: i64 = 31_536_000_000;
const PICTURE: &[u8] = include_bytes!("../../../server/tests/routes/photos/picture.jpg");
/// The number of the phone that joins late; the newer version's has the one before.
const LATE: u8 = 7;
const PEOPLE: [&str; 5] = ["mech", "mech", "lead", "insp", "insp"];

/// A phone with the app open.
pub struct Held {
    pub store: Rows,
    shared: Rc<Shared>,
    wire: Wire,
    pub app: Phone,
    /// Whose phone it is.
    owner: &'static str,
    /// Who uses it now.
    login: &'static str,
    seed: u64,
}

pub struct World {
    pub net: Rc<Net>,
    pub shop: ShopId,
    pub phones: Vec<Held>,
    /// What people made, and in which log.
    pub made: BTreeMap<ChangeId, LogId>,
    pub photos: BTreeSet<Digest>,
    /// What the server would not take, from anybody's tray.
    pub refused: BTreeSet<ChangeId>,
    /// A phone of a later version.
    pub newer: Newer,
    chance: Chance,
}

impl Held {
    async fn new(net: &Rc<Net>, seed: u64, number: u8, login: &'static str) -> Self {
        let (store, shared) = (Rows::default(), Rc::<Shared>::default());
        let wire = Wire::new(Rc::clone(net), number);
        let seed = seed.wrapping_mul(100).wrapping_add(u64::from(number));
        let app = open(net, &store, &shared, &wire, seed).await;
        Self { store, shared, wire, app, owner: login, login, seed }
    }

    async fn reopen(&mut self, net: &Rc<Net>) {
        self.store.dies.set(None);
        self.app = open(net, &self.store, &self.shared, &self.wire, self.seed).await;
    }

    /// One round of sync; signs in where nobody is, or the session is over.
    async fn sync(&self) {
        self.app.sync_once().await;
        if self.app.me().is_none() || self.app.sync_state().line == SyncLine::SignInNeeded {
            // Over a bad line this may fail: then it is tried at the next round.
            let _ = self.app.sign_in(self.login, PASSWORD, "phone").await;
        }
    }

    /// Does it, unless the app dies over it.
    async fn survives(&self, clock: &Clock, work: impl Future<Output = ()>) -> bool {
        let (work, late) = (std::pin::pin!(work), std::pin::pin!(clock.sleep(DEAD_AFTER)));
        matches!(select(work, late).await, Either::Left(_))
    }
}

async fn open(net: &Net, store: &Rows, shared: &Rc<Shared>, wire: &Wire, seed: u64) -> Phone {
    let hand = Hand::new(net.clock.clone(), Rc::clone(shared), seed);
    Device::open(store.clone(), wire.clone(), hand).await.expect("the store opens")
}

impl World {
    pub async fn begin(clock: Clock, seed: u64, trace: Trace, struck: Struck) -> Self {
        let chance = Chance::new(seed);
        // Every other seed keeps its photos as objects; every third has a job with a long history.
        let servers = Servers::start(seed % 2 == 1, seed.is_multiple_of(3), struck.clone());
        let net = Rc::new(Net::new(clock, chance.clone(), trace, servers, struck));
        net.stormy.set(false);
        let shop = net.servers.borrow().shop;
        let mut phones = Vec::new();
        for (number, login) in (1..).zip(PEOPLE) {
            let phone = Held::new(&net, seed, number, login).await;
            phone.app.sign_in(login, PASSWORD, "phone").await.expect("the person is known");
            phones.push(phone);
        }
        net.stormy.set(true);
        Self {
            newer: Newer::new(&net, seed),
            net,
            shop,
            phones,
            made: BTreeMap::new(),
            photos: BTreeSet::new(),
            refused: BTreeSet::new(),
            chance,
        }
    }

    pub async fn storm(&mut self) {
        for _ in 0..ACTS {
            let who = self.chance.index(PEOPLE.len());
            match self.chance.below(15) {
                0..=4 => self.change(who).await,
                5..=6 => self.photograph(who).await,
                7..=9 => self.sync_some().await,
                10 => self.time_passes(who).await,
                11 => self.trouble_at_home(who).await,
                12 => self.hand_over(who).await,
                13 => self.newer_version().await,
                _ => self.lie_open(who).await,
            }
        }
    }

    pub fn job(&self, number: u64) -> LogId {
        LogId::Job(self.shop, JobId(Uuid::from_u128(1 + u128::from(number))))
    }

    fn say(&self, line: String) {
        self.net.trace.say(line);
    }

    async fn change(&mut self, who: usize) {
        let log = self.job(self.chance.below(2));
        let body = people::act(self.phones[who].login, &self.chance);
        self.say(format!("phone {} makes {}", who + 1, body.kind()));
        let phone = &self.phones[who];
        let survived = phone
            .survives(&self.net.clock, async {
                // A store without room refuses it in words; nothing was made then.
                let _ = phone.app.change(log, vec![body]).await;
            })
            .await;
        self.after(who, survived).await;
    }

    async fn photograph(&mut self, who: usize) {
        let mut bytes = PICTURE.to_vec();
        // What follows a JPEG's end marker is not looked at: no two photos are alike.
        bytes.extend((0..2_000).map(|_| u8::try_from(self.chance.below(256)).unwrap_or_default()));
        let photo = NewPhoto {
            step: None,
            moment: Moment::During,
            caption: "rivet row".into(),
            answers: None,
            attached_to: None,
            bytes,
            pixels: Some((64, 48)),
            thumb: Some(PICTURE.to_vec()),
        };
        let digest = Digest::of(&photo.bytes);
        self.say(format!("phone {} photographs", who + 1));
        let (phone, log) = (&self.phones[who], self.job(0));
        let taken = std::cell::Cell::new(false);
        let survived = phone
            .survives(&self.net.clock, async { taken.set(phone.app.add_photo(log, photo).await.is_ok()) });
        let survived = survived.await;
        if taken.get() {
            self.photos.insert(digest);
        }
        self.after(who, survived).await;
    }

    /// Opens the app again if it died, and notes what is made.
    async fn after(&mut self, who: usize, survived: bool) {
        if !survived {
            self.net.struck.note(Blow::AppDies);
            self.say(format!("phone {} died", who + 1));
            self.phones[who].reopen(&self.net).await;
        }
        for waiting in self.phones[who].app.waiting(10_000).await.expect("the store reads") {
            let change = waiting.change.expect("a change of this version");
            self.made.insert(change.id, change.log);
        }
    }

    /// Some phones at the same time: their requests take turns.
    async fn sync_some(&mut self) {
        let first = self.chance.index(PEOPLE.len());
        let count = 1 + self.chance.index(3);
        let who: Vec<usize> = (0..count).map(|at| (first + at) % PEOPLE.len()).collect();
        let clock = &self.net.clock;
        let rounds = who.iter().map(|at| {
            let phone = &self.phones[*at];
            phone.survives(clock, phone.sync())
        });
        let survived = join_all(rounds).await;
        for (at, survived) in who.into_iter().zip(survived) {
            self.after(at, survived).await;
        }
    }

    async fn time_passes(&mut self, who: usize) {
        let skews = [0, YEAR, -YEAR, 86_400_000, -3_600_000];
        self.phones[who].shared.skew.set(skews[self.chance.index(skews.len())]);
        self.net.struck.note(Blow::PhoneClockJumps);
        if self.chance.percent(30) {
            let skews = [0, 240_000, -240_000, 7_200_000];
            self.net.servers.borrow().set_clock(self.chance.index(2), skews[self.chance.index(skews.len())]);
            self.net.struck.note(Blow::ServerClockJumps);
        }
        let wait = self.chance.below(1_800_000);
        self.net.clock.sleep(u32::try_from(wait).unwrap_or_default()).await;
        self.say(format!("{wait} ms pass; phone {}'s clock jumps", who + 1));
    }

    /// The app will die at a write, or there is no room for photos, or there is again, or for some writes there is
    /// none for anything.
    async fn trouble_at_home(&mut self, who: usize) {
        let store = &self.phones[who].store;
        match self.chance.below(5) {
            0 => {
                store.full.set(!store.full.get());
                self.net.struck.note(Blow::NoRoomForPhotos);
            }
            4 => {
                store.crowded.set(u32::try_from(1 + self.chance.below(12)).unwrap_or_default());
                self.net.struck.note(Blow::NoRoomAtAll);
            }
            kind => {
                let dies = if kind == 1 { Dies::Before } else { Dies::After };
                let writes = u32::try_from(self.chance.below(6)).unwrap_or_default();
                store.dies.set(Some((writes, dies)));
            }
        }
        self.say(format!("trouble at phone {}", who + 1));
    }

    /// Somebody else takes the phone, whatever its owner has not sent yet.
    async fn hand_over(&mut self, who: usize) {
        let login = PEOPLE[self.chance.index(PEOPLE.len())];
        self.phones[who].login = login;
        self.net.struck.note(Blow::PhoneChangesHands);
        let phone = &self.phones[who];
        let survived = phone.survives(&self.net.clock, async {
            // Either may fail: a store may die or be full, the line be bad. It is tried at the next round.
            let _ = phone.app.sign_out(Unsent::KeepLocked).await;
            let _ = phone.app.sign_in(login, PASSWORD, "phone").await;
        });
        let survived = survived.await;
        self.say(format!("{login} takes phone {}", who + 1));
        self.after(who, survived).await;
    }

    async fn newer_version(&mut self) {
        let log = self.job(self.chance.below(2));
        if let Some(id) = self.newer.write(log, self.chance.below(1_000)).await {
            self.made.insert(id, log);
            self.net.struck.note(Blow::NewerVersionWrites);
        }
        self.newer.send().await;
    }

    /// Some phones lie open on the bench for a while, and follow what the servers tell; one is worked on.
    async fn lie_open(&mut self, first: usize) {
        let who: Vec<usize> = (0..3).map(|at| (first + at) % PEOPLE.len()).collect();
        let log = self.job(self.chance.below(2));
        let body = people::act(self.phones[first].login, &self.chance);
        self.say(format!("phones {who:?} lie open"));
        let work = async {
            self.net.clock.sleep(20_000).await;
            let _ = self.phones[first].app.change(log, vec![body]).await;
        };
        // Any of it may die and never come back.
        let all = join(join_all(who.iter().map(|at| self.phones[*at].app.run())), work);
        select(Box::pin(all), Box::pin(self.net.clock.sleep(80_000))).await;
        // Closed in the middle of whatever they did.
        for at in who {
            self.after(at, false).await;
        }
    }

    /// Calm: everything comes to rest.
    pub async fn calm(&mut self) -> Result<(), String> {
        self.net.stormy.set(false);
        for which in 0..2 {
            self.net.servers.borrow().set_clock(which, 0);
            self.net.servers.borrow_mut().restart(which);
        }
        for at in 0..self.phones.len() {
            self.phones[at].store.full.set(false);
            self.phones[at].store.crowded.set(0);
            self.phones[at].reopen(&self.net).await;
            self.everybody_sends(at).await?;
        }
        while !self.newer.is_at_rest() {
            self.newer.send().await;
        }
        self.made.append(&mut self.net.pushed.borrow_mut());
        self.somebody_joins_late().await?;
        self.all_are_told().await
    }

    /// A new phone comes; it opens the job by its state, if that has a long history.
    async fn somebody_joins_late(&mut self) -> Result<(), String> {
        self.phones.push(Held::new(&self.net, self.chance.below(u64::MAX), LATE, "insp").await);
        let at = self.phones.len() - 1;
        self.settle(at).await?;
        let long = self.net.servers.borrow().long_history;
        let history = self.phones[at].app.history(self.job(0)).await.map_err(|error| error.to_string())?;
        if history.is_whole() == long {
            return Err(format!("the late phone opened a log (long: {long}) by {history:?}"));
        }
        Ok(())
    }

    /// Whoever left work on a phone comes back for it; its owner last.
    async fn everybody_sends(&mut self, at: usize) -> Result<(), String> {
        let locked = self.phones[at].app.locked_work().await.map_err(|error| error.to_string())?;
        let mut logins: Vec<&'static str> = PEOPLE.into_iter().collect();
        logins.retain(|login| locked.iter().any(|work| work.login == *login));
        logins.extend(self.phones[at].app.me().and_then(|me| PEOPLE.into_iter().find(|it| *it == me.login)));
        logins.push(self.phones[at].owner);
        for login in logins {
            let phone = &mut self.phones[at];
            phone.login = login;
            if phone.app.me().is_none_or(|me| me.login != login) {
                phone.app.sign_out(Unsent::KeepLocked).await.map_err(|error| error.to_string())?;
            }
            self.settle(at).await?;
            self.collect_refused(at).await?;
        }
        Ok(())
    }

    async fn settle(&self, at: usize) -> Result<(), String> {
        let phone = &self.phones[at];
        for _ in 0..200 {
            phone.sync().await;
            if phone.app.me().is_some() && phone.app.sync_state().line == SyncLine::AllSent {
                return Ok(());
            }
            self.net.clock.sleep(1_000).await;
        }
        Err(format!("phone {} does not come to rest: {:?}", at + 1, phone.app.sync_state()))
    }

    /// What the server would not take is the person's to see, with a reason that is theirs to understand.
    async fn collect_refused(&mut self, at: usize) -> Result<(), String> {
        for item in self.phones[at].app.tray().await.map_err(|error| error.to_string())? {
            let fair = item.reason == RefusalReason::NotPermitted && !item.detail.is_empty();
            match item.id {
                TrayId::Change(id) if fair => drop(self.refused.insert(id)),
                _ => return Err(format!("phone {}: refused for no fault of theirs: {item:?}", at + 1)),
            }
        }
        Ok(())
    }

    /// All phones lie open; what one person writes then, all are told at once: nobody asks before
    /// five minutes are over.
    async fn all_are_told(&mut self) -> Result<(), String> {
        let log = self.job(0);
        let work = async {
            self.net.clock.sleep(60_000).await;
            let body = people::title("the last word");
            let written = self.phones[0].app.change(log, vec![body]).await.map_err(|error| error.to_string());
            self.net.clock.sleep(60_000).await;
            written.map(drop)
        };
        let running = join_all(self.phones.iter().map(|phone| phone.app.run()));
        match select(Box::pin(running), Box::pin(work)).await {
            Either::Right((written, _)) => written,
            Either::Left(_) => Err("a sync loop ended by itself".to_owned()),
        }
    }
}

/// The world's clock at its begin.
pub fn clock() -> Clock {
    Clock::at(NOON)
}
