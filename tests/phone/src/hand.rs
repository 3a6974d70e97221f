//! Surroundings for a test: virtual time with a clock that may be wrong, seeded chance, keys made of a seed.

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::future::poll_fn;
use std::rc::{Rc, Weak};
use std::task::{Poll, Waker};

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use device::{KeyError, Lock, Storage, Surroundings};
use p256::ecdsa::signature::Signer as _;
use p256::ecdsa::{Signature, SigningKey};
use shared_types::digest::Digest;
use shared_types::ids::DeviceId;
use shared_types::time::UtcMillis;

use crate::Clock;

type Listener = Rc<dyn Fn(&str)>;

/// What the tabs of one phone share.
#[derive(Default)]
pub struct Shared {
    pub skew: Cell<i64>,
    pub free: Cell<Option<u64>>,
    /// A browser without Web Locks.
    pub no_locks: Cell<bool>,
    pub keepsake: RefCell<Option<String>>,
    locks: RefCell<BTreeMap<Lock, Option<Vec<Waker>>>>,
    tabs: RefCell<BTreeMap<u64, Listener>>,
    random: Cell<u64>,
    next_tab: Cell<u64>,
}

pub struct Hand {
    clock: Clock,
    shared: Rc<Shared>,
    seed: u64,
    tab: u64,
}

impl Hand {
    pub fn new(clock: Clock, shared: Rc<Shared>, seed: u64) -> Self {
        shared.next_tab.set(shared.next_tab.get() + 1);
        if shared.random.get() == 0 {
            shared.random.set(seed);
        }
        let tab = shared.next_tab.get();
        Self { clock, shared, seed, tab }
    }

    fn key(&self, device: DeviceId) -> SigningKey {
        let seed = format!("{}|{device}", self.seed);
        SigningKey::from_slice(Digest::of(seed.as_bytes()).as_bytes()).expect("a digest is a fine scalar")
    }

    /// splitmix64, public domain.
    fn next(&self) -> u64 {
        let state = self.shared.random.get().wrapping_add(0x9e37_79b9_7f4a_7c15);
        self.shared.random.set(state);
        let mixed = (state ^ (state >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }
}

impl Drop for Hand {
    fn drop(&mut self) {
        self.shared.tabs.borrow_mut().remove(&self.tab);
    }
}

/// A lock, let go of when dropped.
pub struct Held(Weak<Shared>, Lock);

impl Drop for Held {
    fn drop(&mut self) {
        if let Some(shared) = self.0.upgrade()
            && let Some(waiting) = shared.locks.borrow_mut().insert(self.1, None).flatten()
        {
            waiting.into_iter().for_each(Waker::wake);
        }
    }
}

impl Surroundings for Hand {
    type Held = Held;

    fn now(&self) -> UtcMillis {
        UtcMillis(self.clock.now() + self.shared.skew.get())
    }

    fn random(&self) -> u128 {
        u128::from(self.next()) << 64 | u128::from(self.next())
    }

    async fn sleep(&self, milliseconds: u32) {
        self.clock.sleep(milliseconds).await;
    }

    async fn public_key(&self, device: DeviceId) -> Result<String, KeyError> {
        let point = self.key(device).verifying_key().to_encoded_point(false);
        Ok(URL_SAFE_NO_PAD.encode(point.as_bytes()))
    }

    async fn sign(&self, device: DeviceId, bytes: &[u8]) -> Result<Vec<u8>, KeyError> {
        crate::store::pause().await;
        let signature: Signature = self.key(device).sign(bytes);
        Ok(signature.to_bytes().to_vec())
    }

    async fn digest(&self, bytes: &[u8]) -> Digest {
        Digest::of(bytes)
    }

    async fn lock(&self, lock: Lock) -> Held {
        if self.shared.no_locks.get() {
            return Held(Weak::new(), lock);
        }
        poll_fn(|context| {
            let mut locks = self.shared.locks.borrow_mut();
            match locks.entry(lock).or_default() {
                Some(waiting) => {
                    waiting.push(context.waker().clone());
                    Poll::Pending
                }
                free @ None => {
                    *free = Some(Vec::new());
                    Poll::Ready(())
                }
            }
        })
        .await;
        Held(Rc::downgrade(&self.shared), lock)
    }

    fn tell(&self, news: &str) {
        let others: Vec<Listener> = self
            .shared
            .tabs
            .borrow()
            .iter()
            .filter(|(tab, _)| **tab != self.tab)
            .map(|(_, it)| it.clone())
            .collect();
        others.iter().for_each(|listener| listener(news));
    }

    fn hear(&self, listener: Box<dyn Fn(&str)>) {
        self.shared.tabs.borrow_mut().insert(self.tab, listener.into());
    }

    async fn storage(&self) -> Storage {
        Storage { persisted: Some(false), free: self.shared.free.get(), used: Some(0) }
    }

    async fn ask_to_persist(&self) -> bool {
        false
    }

    fn keepsake(&self) -> Option<String> {
        self.shared.keepsake.borrow().clone()
    }

    fn keep(&self, words: &str) {
        *self.shared.keepsake.borrow_mut() = Some(words.to_owned());
    }
}
