//! A phone of a version to come: it writes changes of kinds, and with fields, that nobody here
//! knows. The server and the phones of today must keep them to the letter.

use std::collections::BTreeMap;
use std::rc::Rc;

use device::{Body, Method, Reply, Request, Surroundings as _, Transport as _};
use pretend_phone::hand::{Hand, Shared};
use serde_json::json;
use shared_types::api::{DeviceIntroduction, PREFIX, Push, PushAnswer, Pushed, Session, SignIn};
use shared_types::change::{Change, SignedChange};
use shared_types::digest::Digest;
use shared_types::ids::{Author, ChangeId, DeviceId, LogId, UserId};
use shared_types::json as text;
use shared_types::stamp::Clock as StampClock;
use uuid::Uuid;

use crate::servers::PASSWORD;
use crate::wire::{Net, Wire};

const LOGIN: &str = "mech";
const NUMBER: u8 = 6;
const PATIENCE: u32 = 20_000;

/// What it holds and what it wrote.
pub struct Newer {
    wire: Wire,
    hand: Hand,
    device: DeviceId,
    session: Option<(String, UserId)>,
    stamps: StampClock,
    chains: BTreeMap<LogId, Digest>,
    waiting: Vec<(LogId, ChangeId, SignedChange)>,
    /// The exact text of each change.
    pub wrote: BTreeMap<ChangeId, String>,
}

impl Newer {
    pub fn new(net: &Rc<Net>, seed: u64) -> Self {
        let hand =
            Hand::new(net.clock.clone(), Rc::<Shared>::default(), seed.wrapping_mul(100).wrapping_add(99));
        Self {
            wire: Wire::new(Rc::clone(net), NUMBER),
            device: DeviceId(Uuid::from_u128(hand.random())),
            hand,
            session: None,
            stamps: StampClock::default(),
            chains: BTreeMap::new(),
            waiting: Vec::new(),
            wrote: BTreeMap::new(),
        }
    }

    pub const fn is_at_rest(&self) -> bool {
        self.waiting.is_empty()
    }

    /// Signs in if need be; what it writes is signed in its person's name.
    async fn session(&mut self) -> Option<(String, UserId)> {
        if self.session.is_none() {
            let public_key = self.hand.public_key(self.device).await.expect("a key is at hand");
            let device = DeviceIntroduction { id: self.device, name: "phone".into(), public_key };
            let body = SignIn { login: LOGIN.into(), password: PASSWORD.into(), device };
            let reply =
                self.post("auth/sign-in", text::write(&body).expect("it has a JSON form"), None).await?;
            let session: Session = text::read(&reply.body).ok()?;
            self.session = Some((session.access_token, session.me.user));
        }
        self.session.clone()
    }

    async fn post(&self, path: &str, body: String, token: Option<&str>) -> Option<Reply> {
        let headers = token.map(|token| ("authorization", format!("Bearer {token}"))).into_iter().collect();
        let path = format!("{PREFIX}/{path}");
        let request =
            Request { method: Method::Post, path, headers, body: Body::Json(body), timeout_ms: PATIENCE };
        self.wire.send(request).await.ok().filter(|reply| reply.status == 200)
    }

    /// Writes a change; gives its id, once it knows in whose name.
    pub async fn write(&mut self, log: LogId, number: u64) -> Option<ChangeId> {
        let (_, user) = self.session().await?;
        let id = ChangeId(Uuid::from_u128(self.hand.random()));
        let change = Change {
            id,
            log,
            author: Author::Person(user),
            device: self.device,
            stamp: self.stamps.next(self.hand.now()),
            previous: self.chains.get(&log).copied(),
            replaces: Vec::new(),
            body: serde_json::from_value(json!({"kind": "weld.v1", "bead": number})).expect("any kind reads"),
        };
        // A field of a later version, in an order that nobody here would write.
        let written = text::write(&change).expect("it has a JSON form");
        let written = written.replacen('{', "{ \"weather\" : \"dry\",", 1);
        let signature = self.hand.sign(self.device, written.as_bytes()).await.expect("a key is at hand");
        let signed = SignedChange::new(written.clone(), &signature);
        self.chains.insert(log, signed.digest());
        self.waiting.push((log, id, signed));
        self.wrote.insert(id, written);
        Some(id)
    }

    /// Tries once to send what waits for the first of its logs.
    pub async fn send(&mut self) {
        let Some(log) = self.waiting.first().map(|(log, ..)| *log) else { return };
        let Some((token, _)) = self.session().await else { return };
        let changes = self.waiting.iter().filter(|(of, ..)| *of == log).map(|(.., signed)| signed.clone());
        let push = Push { changes: changes.collect(), pending: 0 };
        let LogId::Job(shop, job) = log else { return };
        let path = format!("shops/{shop}/jobs/{job}/changes");
        let body = text::write(&push).expect("it has a JSON form");
        let Some(reply) = self.post(&path, body, Some(&token)).await else {
            // Whatever it was, a fresh session does no harm.
            self.session = None;
            return;
        };
        let Ok(pushed) = text::read::<Pushed>(&reply.body) else { return };
        for answer in pushed.answers {
            match answer {
                PushAnswer::Taken { id, .. } | PushAnswer::AlreadyHad { id, .. } => {
                    self.waiting.retain(|(_, waiting, _)| *waiting != id);
                }
                PushAnswer::Refused { detail, .. } => panic!("a newer phone's record is refused: {detail}"),
            }
        }
    }
}
