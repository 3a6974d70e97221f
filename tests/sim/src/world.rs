//! Five phones of three people, and the scheduler that decides who does what.

use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use device::{Device, NewPhoto, SyncLine};
use futures::future::{Either, join_all, select};
use pretend_phone::Clock;
use pretend_phone::hand::{Hand, Shared};
use pretend_phone::store::{Dies, Rows};
use shared_types::body::{Known, On, OnStep, The};
use shared_types::digest::Digest;
use shared_types::ids::{
    ChangeId, DecisionId, JobId, LogId, NoteId, OfferId, ReadingId, ShopId, SignatureId, StepId,
};
use shared_types::job::{
    DecisionPatch, JobPatch, Moment, NotePatch, OfferPatch, Outcome, ReadingPatch, SignaturePatch, StepPatch,
};
use uuid::Uuid;

use crate::chance::Chance;
use crate::servers::{NOON, PASSWORD};
use crate::trace::Trace;
use crate::wire::{Net, Wire};

pub type Phone = Device<Rows, Wire, Hand>;

const ACTS: u32 = 40;
/// No round takes longer than this, unless the app died in it.
const DEAD_AFTER: u32 = 7_200_000;
const YEAR: i64 = 31_536_000_000;
const PICTURE: &[u8] = include_bytes!("../../../server/tests/routes/photos/picture.jpg");
const PEOPLE: [&str; 5] = ["mech", "mech", "lead", "insp", "insp"];

/// A phone with the app open.
pub struct Held {
    pub store: Rows,
    shared: Rc<Shared>,
    wire: Wire,
    pub app: Phone,
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
    chance: Chance,
}

impl Held {
    async fn new(net: &Rc<Net>, seed: u64, number: u8, login: &'static str) -> Self {
        let (store, shared) = (Rows::default(), Rc::<Shared>::default());
        let wire = Wire::new(Rc::clone(net), number);
        let seed = seed.wrapping_mul(100).wrapping_add(u64::from(number));
        let app = open(net, &store, &shared, &wire, seed).await;
        Self { store, shared, wire, app, login, seed }
    }

    async fn reopen(&mut self, net: &Rc<Net>) {
        self.store.dies.set(None);
        self.app = open(net, &self.store, &self.shared, &self.wire, self.seed).await;
    }

    /// One round of sync; signs in again where the session is over.
    async fn sync(&self) {
        self.app.sync_once().await;
        if self.app.sync_state().line == SyncLine::SignInNeeded {
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
    pub async fn begin(clock: Clock, seed: u64, trace: Trace) -> Self {
        let chance = Chance::new(seed);
        let net = Rc::new(Net::new(clock, chance.clone(), trace));
        net.stormy.set(false);
        let shop = net.servers.borrow().shop;
        let mut phones = Vec::new();
        for (number, login) in (1..).zip(PEOPLE) {
            let phone = Held::new(&net, seed, number, login).await;
            phone.app.sign_in(login, PASSWORD, "phone").await.expect("the person is known");
            phones.push(phone);
        }
        net.stormy.set(true);
        Self { net, shop, phones, made: BTreeMap::new(), photos: BTreeSet::new(), chance }
    }

    pub async fn storm(&mut self) {
        for _ in 0..ACTS {
            let who = self.chance.index(PEOPLE.len());
            match self.chance.below(12) {
                0..=5 => self.change(who).await,
                6 => self.photograph(who).await,
                7..=9 => self.sync_some().await,
                10 => self.time_passes(who).await,
                _ => self.trouble_at_home(who).await,
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
        let body = self.body(self.phones[who].login);
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

    fn body(&self, login: &str) -> Known {
        let chance = &self.chance;
        let id = |kind: u128, count| Uuid::from_u128(kind << 64 | u128::from(chance.below(count)));
        let text = format!("text {}", chance.below(1_000));
        let step = StepId(Uuid::from_u128(1 << 64 | u128::from(chance.below(3))));
        match (login, chance.below(6)) {
            ("insp", 0 | 1) => {
                let offer = Some(OfferId(id(5, 4)));
                let outcome = Some(if chance.percent(50) { Outcome::Accept } else { Outcome::Return });
                let set = DecisionPatch { offer, outcome, ..DecisionPatch::default() };
                Known::Decision(OnStep { id: DecisionId(id(6, 1 << 40)), step: Some(step), set })
            }
            ("insp", 2) => {
                let set = SignaturePatch { statement: Some(text.into()), ..SignaturePatch::default() };
                Known::Signature(On { id: SignatureId(id(7, 1 << 40)), set })
            }
            ("insp", _) => {
                let set = NotePatch { text: Some(text.into()), ..NotePatch::default() };
                Known::Note(OnStep { id: NoteId(id(2, 6)), step: None, set })
            }
            (_, 0) => Known::Job(The { set: JobPatch { title: Some(text.into()), ..JobPatch::default() } }),
            (_, 1) => Known::Job(The { set: JobPatch { part: Some(text.into()), ..JobPatch::default() } }),
            (_, 2) => {
                let set = ReadingPatch { value: Some(text.into()), ..ReadingPatch::default() };
                Known::Reading(OnStep { id: ReadingId(id(3, 4)), step: Some(step), set })
            }
            (_, 3) => {
                let set = OfferPatch { note: Some(text.into()), ..OfferPatch::default() };
                Known::Offer(OnStep { id: OfferId(id(5, 4)), step: Some(step), set })
            }
            _ => {
                let retired = chance.percent(20).then_some(true);
                let set = StepPatch { title: Some(text.into()), retired, ..StepPatch::default() };
                Known::Step(On { id: step, set })
            }
        }
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
            self.say(format!("phone {} died", who + 1));
            self.phones[who].reopen(&self.net).await;
        }
        for waiting in self.phones[who].app.waiting(10_000).await.expect("the store reads") {
            self.made.insert(waiting.change.id, waiting.change.log);
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
        let wait = self.chance.below(1_800_000);
        self.net.clock.sleep(u32::try_from(wait).unwrap_or_default()).await;
        self.say(format!("{wait} ms pass; phone {}'s clock jumps", who + 1));
    }

    /// The app will die at a write, or there is no room for photos, or there is again.
    async fn trouble_at_home(&mut self, who: usize) {
        let store = &self.phones[who].store;
        match self.chance.below(4) {
            0 => store.full.set(!store.full.get()),
            kind => {
                let dies = if kind == 1 { Dies::Before } else { Dies::After };
                let writes = u32::try_from(self.chance.below(6)).unwrap_or_default();
                store.dies.set(Some((writes, dies)));
            }
        }
        self.say(format!("trouble at phone {}", who + 1));
    }

    /// Calm: everything comes to rest.
    pub async fn calm(&mut self) -> Result<(), String> {
        self.net.stormy.set(false);
        for phone in &mut self.phones {
            phone.store.full.set(false);
            phone.reopen(&self.net).await;
        }
        for _ in 0..3 {
            for (at, phone) in self.phones.iter().enumerate() {
                let mut rounds = 0;
                while rounds == 0 || phone.app.sync_state().line != SyncLine::AllSent {
                    rounds += 1;
                    if rounds > 200 {
                        return Err(format!(
                            "phone {} does not come to rest: {:?}",
                            at + 1,
                            phone.app.sync_state()
                        ));
                    }
                    phone.sync().await;
                    self.net.clock.sleep(1_000).await;
                }
            }
        }
        Ok(())
    }
}

/// The world's clock at its begin.
pub fn clock() -> Clock {
    Clock::at(NOON)
}
