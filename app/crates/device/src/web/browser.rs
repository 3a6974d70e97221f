//! The browser as surroundings: clock, chance, keys, locks, other tabs, room.

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use js_sys::{Array, Function, Promise};
use shared_types::digest::Digest;
use shared_types::ids::DeviceId;
use shared_types::time::UtcMillis;
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast as _, JsValue};
use web_sys::{BroadcastChannel, MessageEvent};

use super::{IndexedDb, js};
use crate::store::StoreError;
use crate::surroundings::{KeyError, Lock, Storage, Surroundings};

/// The name of the tabs' channel.
const CHANNEL: &str = "faying";
/// The name of the keepsake.
const KEEPSAKE: &str = "faying-unsent";

type Listener = Closure<dyn FnMut(MessageEvent)>;

/// The browser.
pub struct Browser {
    keys: IndexedDb,
    /// Key pairs at hand; their private halves can't be read, only used.
    pairs: RefCell<BTreeMap<DeviceId, JsValue>>,
    channel: Option<BroadcastChannel>,
    listener: RefCell<Option<Listener>>,
}

impl Browser {
    /// The browser, with its keys in the given store's database.
    #[must_use]
    pub fn new(keys: IndexedDb) -> Self {
        let channel = BroadcastChannel::new(CHANNEL).ok();
        Self { keys, pairs: RefCell::default(), channel, listener: RefCell::default() }
    }

    /// A device id's key pair, made at its first use.
    async fn pair(&self, device: DeviceId) -> Result<JsValue, KeyError> {
        if let Some(pair) = self.pairs.borrow().get(&device) {
            return Ok(pair.clone());
        }
        let name = device.to_string();
        let pair = match self.keys.key_pair(&name).await? {
            Some(pair) => pair,
            None => self.keys.keep_key_pair(&name, &generate().await?).await?,
        };
        self.pairs.borrow_mut().insert(device, pair.clone());
        Ok(pair)
    }
}

/// A P-256 key pair whose private half never leaves the browser.
async fn generate() -> Result<JsValue, KeyError> {
    let algorithm = js::object(&[("name", "ECDSA".into()), ("namedCurve", "P-256".into())]);
    let uses = Array::of2(&"sign".into(), &"verify".into());
    Ok(js::called(&subtle()?, "generateKey", &[&algorithm, &JsValue::FALSE, &uses]).await?)
}

fn subtle() -> Result<JsValue, KeyError> {
    js::global(&["crypto", "subtle"])
        .ok_or_else(|| KeyError("this page is not secure: open it by https".to_owned()))
}

impl From<JsValue> for KeyError {
    fn from(error: JsValue) -> Self {
        Self(js::words(&error))
    }
}

impl From<StoreError> for KeyError {
    fn from(error: StoreError) -> Self {
        Self(error.to_string())
    }
}

impl Surroundings for Browser {
    type Held = Held;

    fn now(&self) -> UtcMillis {
        #[expect(clippy::cast_possible_truncation, reason = "whole milliseconds, far below 2^53")]
        UtcMillis(js_sys::Date::now() as i64)
    }

    fn random(&self) -> u128 {
        let filled = js::global(&["crypto"])
            .and_then(|crypto| js::call(&crypto, "getRandomValues", &[&js::array(&[0; 16])]).ok());
        let bytes: Option<[u8; 16]> = filled.and_then(|filled| js::bytes(&filled).try_into().ok());
        bytes.map_or_else(weak_random, u128::from_be_bytes)
    }

    async fn sleep(&self, milliseconds: u32) {
        js::sleep(milliseconds).await;
    }

    async fn public_key(&self, device: DeviceId) -> Result<String, KeyError> {
        let public = js::get(&self.pair(device).await?, "publicKey")?;
        let raw = js::called(&subtle()?, "exportKey", &[&"raw".into(), &public]).await?;
        Ok(URL_SAFE_NO_PAD.encode(js::bytes(&raw)))
    }

    async fn sign(&self, device: DeviceId, bytes: &[u8]) -> Result<Vec<u8>, KeyError> {
        let private = js::get(&self.pair(device).await?, "privateKey")?;
        let algorithm = js::object(&[("name", "ECDSA".into()), ("hash", "SHA-256".into())]);
        let signature = js::called(&subtle()?, "sign", &[&algorithm, &private, &js::array(bytes)]).await?;
        Ok(js::bytes(&signature))
    }

    async fn digest(&self, bytes: &[u8]) -> Digest {
        let Ok(subtle) = subtle() else {
            return Digest::of(bytes);
        };
        let digest = js::called(&subtle, "digest", &[&"SHA-256".into(), &js::array(bytes)]).await;
        let digest: Option<[u8; 32]> = digest.ok().and_then(|digest| js::bytes(&digest).try_into().ok());
        digest.map_or_else(|| Digest::of(bytes), Digest::from)
    }

    async fn lock(&self, lock: Lock) -> Held {
        let mut release = None;
        let held = Promise::new(&mut |resolve, _| release = Some(resolve));
        // Made before the wait: a wait that is given up lets go too.
        let guard = Held(release);
        let Some(locks) = js::global(&["navigator", "locks"]) else {
            // An old browser: the server takes a change once, however many tabs send it.
            return guard;
        };
        let grant: Cell<Option<Function>> = Cell::new(None);
        let granted = Promise::new(&mut |resolve, _| grant.set(Some(resolve)));
        let grant = grant.take();
        let callback = Closure::once_into_js(move |_: JsValue| {
            if let Some(grant) = &grant {
                // Calling a promise's own function can't fail.
                let _ = grant.call0(&JsValue::UNDEFINED);
            }
            held
        });
        if js::call(&locks, "request", &[&lock.name().into(), &callback]).is_ok() {
            let _ = js::awaited(granted.into()).await;
        }
        guard
    }

    fn tell(&self, news: &str) {
        if let Some(channel) = &self.channel {
            // Only a closed channel refuses, and this one is never closed.
            let _ = channel.post_message(&news.into());
        }
    }

    fn hear(&self, listener: Box<dyn Fn(&str)>) {
        let Some(channel) = &self.channel else {
            return;
        };
        let listener = Listener::new(move |message: MessageEvent| {
            if let Some(news) = message.data().as_string() {
                listener(&news);
            }
        });
        channel.set_onmessage(Some(listener.as_ref().unchecked_ref()));
        *self.listener.borrow_mut() = Some(listener);
    }

    async fn storage(&self) -> Storage {
        let Some(storage) = js::global(&["navigator", "storage"]) else {
            return Storage::default();
        };
        let persisted = js::called(&storage, "persisted", &[]).await.ok().and_then(|yes| yes.as_bool());
        let estimate = js::called(&storage, "estimate", &[]).await.unwrap_or_default();
        let number = |name| js::get(&estimate, name).ok().and_then(|number| number.as_f64()).map(whole);
        let (quota, used) = (number("quota"), number("usage"));
        let free = quota.zip(used).map(|(quota, used)| quota.saturating_sub(used));
        Storage { persisted, free, used }
    }

    async fn ask_to_persist(&self) -> bool {
        match js::global(&["navigator", "storage"]) {
            Some(storage) => js::called(&storage, "persist", &[])
                .await
                .ok()
                .and_then(|yes| yes.as_bool())
                .unwrap_or_default(),
            None => false,
        }
    }

    fn keepsake(&self) -> Option<String> {
        let storage = js::global(&["localStorage"])?;
        js::call(&storage, "getItem", &[&KEEPSAKE.into()]).ok()?.as_string()
    }

    fn keep(&self, words: &str) {
        if let Some(storage) = js::global(&["localStorage"]) {
            // It only helps to notice a loss; where it can't be kept, nothing else suffers.
            let _ = js::call(&storage, "setItem", &[&KEEPSAKE.into(), &words.into()]);
        }
    }
}

/// A lock, let go of when dropped.
pub struct Held(Option<Function>);

impl Drop for Held {
    fn drop(&mut self) {
        if let Some(release) = self.0.take() {
            // Calling a promise's own function can't fail.
            let _ = release.call0(&JsValue::UNDEFINED);
        }
    }
}

/// For ids only, and only where a browser has no better chance: keys are never made of it.
fn weak_random() -> u128 {
    let part = || u128::from(js_sys::Math::random().to_bits() & 0x000f_ffff_ffff_ffff);
    part() << 96 ^ part() << 64 ^ part() << 32 ^ part()
}

fn whole(number: f64) -> u64 {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "bytes of a store")]
    let bytes = number.max(0.0) as u64;
    bytes
}
