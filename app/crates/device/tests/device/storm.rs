//! Chance: three phones, a bad line, killed tabs, wrong clocks, ended sessions, a server put back
//! to last night. When it calms down, everything that was ever made is there once, and all agree.

use std::collections::{BTreeMap, BTreeSet};

use device::SyncLine;
use shared_types::body::{Known, OnStep};
use shared_types::ids::{ChangeId, LogId, NoteId};
use shared_types::job::NotePatch;
use uuid::Uuid;

use crate::killed::polled;
use crate::photos::jpeg;
use crate::world::server::Durable;
use crate::world::{Fault, Phone, SHOP, Tab, World, job, part, step, titled};

const SEEDS: u64 = 40;
const ACTS: u32 = 150;

struct Chance(u64);

impl Chance {
    fn below(&mut self, end: u64) -> u64 {
        // splitmix64, public domain.
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (mixed ^ (mixed >> 31)) % end
    }
}

struct Storm {
    world: World,
    chance: Chance,
    phones: Vec<(Phone, Tab, &'static str)>,
    made: BTreeMap<ChangeId, LogId>,
    photos: BTreeSet<shared_types::digest::Digest>,
    backups: Vec<Durable>,
}

impl Storm {
    async fn begin(world: World, seed: u64) -> Self {
        let mut phones = Vec::new();
        for login in ["mech", "mech", "insp"] {
            let (phone, tab) = world.signed_in(login).await;
            phones.push((phone, tab, login));
        }
        let backups = vec![world.server.backup()];
        Self { world, chance: Chance(seed), phones, made: BTreeMap::new(), photos: BTreeSet::new(), backups }
    }

    async fn act(&mut self) {
        let who = self.chance.below(3) as usize;
        match self.chance.below(14) {
            0..=4 => self.change(who).await,
            5 => self.photograph(who).await,
            6..=9 => self.sync(who).await,
            10 => self.kill(who).await,
            11 => {
                let clear = self.chance.below(3) == 0;
                self.world.server.expire(clear);
            }
            12 => self.time_passes(who).await,
            _ => self.backup_or_restore(),
        }
    }

    async fn change(&mut self, who: usize) {
        let log = job(1 + u128::from(self.chance.below(2)));
        let number = u128::from(self.chance.below(6));
        let text = format!("text {}", self.chance.below(1_000));
        let (_, tab, login) = &self.phones[who];
        let body = match (*login, self.chance.below(3)) {
            ("insp", _) => {
                let set = NotePatch { text: Some(text.into()), ..NotePatch::default() };
                Known::Note(OnStep { id: NoteId(Uuid::from_u128(number)), step: None, set })
            }
            (_, 0) => titled(&text),
            (_, 1) => part(&text),
            _ => step(number, &text),
        };
        tab.change(log, vec![body]).await.unwrap();
        self.note_made(who).await;
    }

    async fn photograph(&mut self, who: usize) {
        let photo = jpeg(400_000, self.chance.below(200) as u8);
        let (_, digest, _) = self.phones[who].1.add_photo(job(1), photo).await.unwrap();
        self.photos.insert(digest);
        self.note_made(who).await;
    }

    async fn note_made(&mut self, who: usize) {
        for waiting in self.phones[who].1.waiting(10_000).await.unwrap() {
            self.made.insert(waiting.change.unwrap().id, waiting.log);
        }
    }

    fn weather(&mut self, who: usize) {
        let kinds = [
            Fault::Lost,
            Fault::AnswerLost,
            Fault::Twice,
            Fault::Portal,
            Fault::Silence,
            Fault::Status(500),
            Fault::Status(429),
            Fault::Status(409),
        ];
        let (mut chance, bad) = (Chance(self.chance.below(u64::MAX)), self.chance.below(6));
        self.phones[who].0.wire.rule(move |_| {
            let fault = kinds[chance.below(kinds.len() as u64) as usize];
            (chance.below(10) < bad).then_some(fault)
        });
    }

    async fn sync(&mut self, who: usize) {
        self.weather(who);
        let (_, tab, login) = &self.phones[who];
        tab.sync_once().await;
        if tab.sync_state().line == SyncLine::SignInNeeded {
            // Over a bad line this may fail: then it is tried at the next round.
            let _ = tab.sign_in(login, "secret", "phone").await;
        }
    }

    async fn kill(&mut self, who: usize) {
        self.weather(who);
        let polls = self.chance.below(400) as usize;
        let (phone, tab, _) = &mut self.phones[who];
        polled(tab.sync_once(), polls).await;
        *tab = phone.tab().await;
    }

    async fn time_passes(&mut self, who: usize) {
        let skew = self.chance.below(3) as i64 - 1;
        self.phones[who].0.shared.skew.set(skew * 86_400_000);
        let wait = self.chance.below(900_000) as u32;
        self.world.clock.sleep(wait).await;
    }

    fn backup_or_restore(&mut self) {
        if self.chance.below(3) == 0 {
            let which = self.chance.below(self.backups.len() as u64) as usize;
            // Where the database's file alone is put back, the epoch stays, and so does the folder of photos.
            let new_epoch = self.chance.below(2) == 0;
            let uploads = self.world.server.backup().uploads;
            self.world.server.restore(&self.backups[which], new_epoch);
            if !new_epoch {
                self.world.server.state.borrow_mut().durable.uploads = uploads;
            }
        } else {
            self.backups.push(self.world.server.backup());
        }
    }

    /// Calm: everything comes to rest.
    async fn end(self) {
        for _ in 0..3 {
            for (phone, tab, login) in &self.phones {
                phone.wire.mend();
                tab.sync_once().await;
                if tab.sync_state().line == SyncLine::SignInNeeded {
                    tab.sign_in(login, "secret", "phone").await.unwrap();
                }
                tab.settle(&self.world.clock).await;
            }
        }
        let mut there = BTreeMap::new();
        for log in [job(1), job(2)] {
            let folded = self.world.server.fold(log);
            for logged in self.world.server.log(log) {
                let change = logged.change.read().unwrap();
                assert_eq!(there.insert(change.id, log), None, "a change is there twice");
            }
            for (phone, tab, _) in &self.phones {
                let id = log.job().unwrap();
                assert_eq!(*tab.job(SHOP, id).await.unwrap(), folded, "shown");
                assert_eq!(*phone.tab().await.job(SHOP, id).await.unwrap(), folded, "stored");
                assert!(tab.tray().await.unwrap().is_empty(), "{:?}", tab.tray().await.unwrap());
                let left = tab.unsent_work().await.unwrap();
                assert!(left.is_empty(), "{left:?}");
            }
        }
        for (id, log) in &self.made {
            assert_eq!(there.get(id), Some(log), "a change is lost");
        }
        for digest in &self.photos {
            let bytes = self.world.server.photo(*digest).expect("a photo is lost");
            assert_eq!(shared_types::digest::Digest::of(&bytes), *digest);
        }
    }
}

#[test]
fn after_a_storm_everything_is_there_once_and_all_agree() {
    for seed in 0..SEEDS {
        println!("seed {seed}");
        let world = World::new();
        world.clock.clone().run(async move {
            let mut storm = Storm::begin(world, seed).await;
            for _ in 0..ACTS {
                storm.act().await;
            }
            storm.end().await;
        });
    }
}
