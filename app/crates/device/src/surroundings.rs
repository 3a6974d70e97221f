//! What the device needs from where it runs, besides a store and a network.

use shared_types::digest::Digest;
use shared_types::ids::DeviceId;
use shared_types::time::UtcMillis;

/// What only one tab may do at a time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Lock {
    /// Send and fetch. Held for as long as the tab lives.
    Sender,
    /// Refresh the session.
    Refresh,
}

impl Lock {
    /// The lock's name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Sender => "faying-sender",
            Self::Refresh => "faying-refresh",
        }
    }
}

/// What is known about this device's room.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Storage {
    /// Did the browser promise to keep what is stored? `None` when it doesn't say.
    pub persisted: Option<bool>,
    /// Bytes left, as far as the browser says.
    pub free: Option<u64>,
    /// Bytes used.
    pub used: Option<u64>,
}

impl Storage {
    /// Less than this is little: some hundred photos.
    const LITTLE: u64 = 500_000_000;

    /// Is it time to warn that room runs out?
    #[must_use]
    pub fn is_low(&self) -> bool {
        self.free.is_some_and(|free| free < Self::LITTLE)
    }
}

/// The key could not be made or used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("this device can't sign: {0}")]
pub struct KeyError(pub String);

/// Where the device runs.
pub trait Surroundings {
    /// Held until dropped.
    type Held;

    /// The device's own clock.
    fn now(&self) -> UtcMillis;

    /// Random bits.
    fn random(&self) -> u128;

    /// Waits.
    async fn sleep(&self, milliseconds: u32);

    /// The public key of a device id, made at its first use: uncompressed point, base64url.
    async fn public_key(&self, device: DeviceId) -> Result<String, KeyError>;

    /// Signs with a device id's key: ECDSA P-256 with SHA-256, `r || s`.
    async fn sign(&self, device: DeviceId, bytes: &[u8]) -> Result<Vec<u8>, KeyError>;

    /// SHA-256, without blocking where that can be had.
    async fn digest(&self, bytes: &[u8]) -> Digest;

    /// Waits for a lock that all tabs of this device share.
    async fn lock(&self, lock: Lock) -> Self::Held;

    /// Tells the other tabs.
    fn tell(&self, news: &str);

    /// Calls back with what other tabs tell.
    fn hear(&self, listener: Box<dyn Fn(&str)>);

    /// Room on this device.
    async fn storage(&self) -> Storage;

    /// Asks the browser to keep what is stored, and says whether it will.
    async fn ask_to_persist(&self) -> bool;

    /// A few words kept apart from the store, to notice when the store was emptied.
    fn keepsake(&self) -> Option<String>;

    /// Keeps those words.
    fn keep(&self, words: &str);
}
