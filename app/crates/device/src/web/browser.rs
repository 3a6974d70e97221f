//! The browser as surroundings.

use shared_types::digest::Digest;
use shared_types::ids::DeviceId;
use shared_types::time::UtcMillis;

use crate::surroundings::{KeyError, Lock, Storage, Surroundings};
use crate::web::IndexedDb;

/// The browser.
pub struct Browser {
    keys: IndexedDb,
}

impl Browser {
    /// The browser, with its keys in the given store's database.
    #[must_use]
    pub fn new(keys: IndexedDb) -> Self {
        Self { keys }
    }
}

impl Surroundings for Browser {
    type Held = ();

    fn now(&self) -> UtcMillis {
        todo!()
    }
    fn random(&self) -> u128 {
        todo!()
    }
    async fn sleep(&self, _milliseconds: u32) {
        todo!()
    }
    async fn public_key(&self, _device: DeviceId) -> Result<String, KeyError> {
        let _ = &self.keys;
        todo!()
    }
    async fn sign(&self, _device: DeviceId, _bytes: &[u8]) -> Result<Vec<u8>, KeyError> {
        todo!()
    }
    async fn digest(&self, _bytes: &[u8]) -> Digest {
        todo!()
    }
    async fn lock(&self, _lock: Lock) {
        todo!()
    }
    fn tell(&self, _news: &str) {
        todo!()
    }
    fn hear(&self, _listener: Box<dyn Fn(&str)>) {
        todo!()
    }
    async fn storage(&self) -> Storage {
        todo!()
    }
    async fn ask_to_persist(&self) -> bool {
        todo!()
    }
    fn keepsake(&self) -> Option<String> {
        todo!()
    }
    fn keep(&self, _words: &str) {
        todo!()
    }
}
