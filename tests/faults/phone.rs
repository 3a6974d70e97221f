//! A phone with the app open: the real sync loop in real time, on a store in memory.

use std::rc::Rc;
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

use device::{Device, KeyError, Lock, NewPhoto, Storage, Surroundings, SyncLine};
use pretend_phone::Clock;
use pretend_phone::hand::{Hand, Held, Shared};
use pretend_phone::store::Rows;
use shared_types::body::{Known, On, OnStep};
use shared_types::digest::Digest;
use shared_types::ids::{DeviceId, JobId, LogId, NoteId, ShopId, StepId};
use shared_types::job::{JobState, Moment, NotePatch, StepPatch};
use shared_types::time::UtcMillis;
use tokio::task::JoinHandle;
use uuid::Uuid;

use crate::served::PASSWORD;
use crate::wire::{Seen, Wire};

const PICTURE: &[u8] = include_bytes!("../../server/tests/routes/photos/picture.jpg");
/// How long anything may take on a busy machine.
const PATIENCE: Duration = Duration::from_secs(60);

type App = Device<Rows, Wire, InRealTime>;

/// A phone's surroundings, but with the machine's own clock.
pub struct InRealTime(Hand);

impl Surroundings for InRealTime {
    type Held = Held;

    fn now(&self) -> UtcMillis {
        let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
        UtcMillis(i64::try_from(since.as_millis()).unwrap_or_default())
    }

    fn random(&self) -> u128 {
        self.0.random()
    }

    async fn sleep(&self, milliseconds: u32) {
        tokio::time::sleep(Duration::from_millis(u64::from(milliseconds))).await;
    }

    async fn public_key(&self, device: DeviceId) -> Result<String, KeyError> {
        self.0.public_key(device).await
    }

    async fn sign(&self, device: DeviceId, bytes: &[u8]) -> Result<Vec<u8>, KeyError> {
        self.0.sign(device, bytes).await
    }

    async fn digest(&self, bytes: &[u8]) -> Digest {
        self.0.digest(bytes).await
    }

    async fn lock(&self, lock: Lock) -> Held {
        self.0.lock(lock).await
    }

    fn tell(&self, news: &str) {
        self.0.tell(news);
    }

    fn hear(&self, listener: Box<dyn Fn(&str)>) {
        self.0.hear(listener);
    }

    async fn storage(&self) -> Storage {
        self.0.storage().await
    }

    async fn ask_to_persist(&self) -> bool {
        self.0.ask_to_persist().await
    }

    fn keepsake(&self) -> Option<String> {
        self.0.keepsake()
    }

    fn keep(&self, words: &str) {
        self.0.keep(words);
    }
}

/// A phone of somebody signed in.
pub struct Phone {
    pub app: App,
    store: Rows,
    shared: Rc<Shared>,
    wire: Wire,
    seed: u64,
    running: Option<JoinHandle<()>>,
}

impl Phone {
    /// Signs somebody in, and lets the app run.
    pub async fn new(server: &str, seen: &Seen, login: &str, seed: u64) -> Self {
        let (store, shared) = (Rows::default(), Rc::default());
        let wire = Wire::new(server.to_owned(), seen.clone());
        let app = open(&store, &shared, &wire, seed).await;
        app.sign_in(login, PASSWORD, "phone").await.unwrap();
        let mut phone = Self { app, store, shared, wire, seed, running: None };
        phone.run();
        phone
    }

    fn run(&mut self) {
        let app = self.app.clone();
        self.running = Some(tokio::task::spawn_local(async move { app.run().await }));
    }

    /// The app is closed, in the middle of whatever it does.
    pub fn close(&mut self) {
        if let Some(running) = self.running.take() {
            running.abort();
        }
    }

    /// Opens the app again, on what is stored.
    pub async fn reopen(&mut self) {
        self.close();
        // What was aborted lets go of its locks when it is next looked at.
        tokio::task::yield_now().await;
        self.app = open(&self.store, &self.shared, &self.wire, self.seed).await;
        self.run();
    }

    /// Waits for something about where sync stands.
    pub async fn until(&self, what: &str, holds: impl Fn(&App) -> bool) {
        let started = Instant::now();
        while !holds(&self.app) {
            assert!(started.elapsed() < PATIENCE, "{what}: not yet, but {:?}", self.app.sync_state());
            tokio::time::sleep(Duration::from_millis(1)).await;
        }
    }

    /// Waits until the server has all changes.
    pub async fn changes_sent(&self) {
        self.until("all changes sent", |app| app.sync_state().changes_to_send == 0).await;
    }

    /// Waits until nothing is left to send.
    pub async fn all_sent(&self) {
        self.until("all sent", |app| app.sync_state().line == SyncLine::AllSent).await;
    }

    /// Waits until this phone shows the same state of a job.
    pub async fn shows(&self, log: LogId, state: &JobState) {
        let started = Instant::now();
        while *self.app.job(log.shop(), log.job().unwrap()).await.unwrap() != *state {
            assert!(started.elapsed() < PATIENCE, "a phone shows another state of {log}");
            tokio::time::sleep(Duration::from_millis(5)).await;
        }
    }

    /// Gives a step a title.
    pub async fn titles(&self, log: LogId, number: u128, title: String) {
        let set = StepPatch { title: Some(title.into()), ..StepPatch::default() };
        let body = Known::Step(On { id: StepId(Uuid::from_u128(number)), set });
        self.app.change(log, vec![body]).await.unwrap();
    }

    /// Writes a long note.
    pub async fn notes(&self, log: LogId, number: u128) {
        let set = NotePatch { text: Some("working rivet ".repeat(700).into()), ..NotePatch::default() };
        let body = Known::Note(OnStep { id: NoteId(Uuid::from_u128(number)), step: None, set });
        self.app.change(log, vec![body]).await.unwrap();
    }

    /// Takes a photo of so many bytes that no other has.
    pub async fn photographs(&self, log: LogId, length: usize, number: u64) -> Digest {
        let photo = NewPhoto {
            step: None,
            moment: Moment::During,
            caption: format!("photo {number}"),
            answers: None,
            attached_to: None,
            bytes: photo_bytes(length, number),
            pixels: Some((64, 48)),
            thumb: None,
        };
        let (_, digest, _) = self.app.add_photo(log, photo).await.unwrap();
        digest
    }
}

impl Drop for Phone {
    fn drop(&mut self) {
        self.close();
    }
}

async fn open(store: &Rows, shared: &Rc<Shared>, wire: &Wire, seed: u64) -> App {
    let hand = InRealTime(Hand::new(Clock::default(), Rc::clone(shared), seed));
    Device::open(store.clone(), wire.clone(), hand).await.unwrap()
}

/// A photo's bytes: what follows a JPEG's end marker is not looked at.
pub fn photo_bytes(length: usize, number: u64) -> Vec<u8> {
    let mut bytes = PICTURE.to_vec();
    let more = (bytes.len()..length).map(|at| (at as u64).wrapping_mul(number.wrapping_add(0x9e37_79b9)));
    bytes.extend(more.map(|mixed| mixed.to_le_bytes()[1]));
    bytes
}

pub fn job(shop: ShopId, number: u128) -> LogId {
    LogId::Job(shop, JobId(Uuid::from_u128(number)))
}
