//! A phone that is signed in, and the changes that it makes: signed as real devices sign
//! them, and written down before any clock runs.

use anyhow::{Context as _, Result};
use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use bytes::Bytes;
use p256::ecdsa::signature::Signer as _;
use p256::ecdsa::{Signature, SigningKey};
use shared_types::api::Push;
use shared_types::body::{Body, OnStep};
use shared_types::change::{Change, SignedChange};
use shared_types::digest::Digest;
use shared_types::ids::{Author, ChangeId, DeviceId, LogId, NoteId, UserId};
use shared_types::job::NotePatch;
use shared_types::stamp::Stamp;
use shared_types::time::UtcMillis;
use storage::PreparedChange;
use uuid::Uuid;

/// What a phone signs with.
pub struct Key {
    pub device: DeviceId,
    key: SigningKey,
}

/// A phone that is signed in.
pub struct Phone {
    /// Which of the mechanics uses it.
    pub person: usize,
    pub user: UserId,
    pub key: Key,
    pub token: String,
}

impl Key {
    pub fn new(device: Uuid) -> Result<Self> {
        let key = SigningKey::from_slice(Digest::of(device.as_bytes()).as_bytes())?;
        Ok(Self { device: DeviceId(device), key })
    }

    /// As a device introduces itself with it.
    pub fn public(&self) -> String {
        URL_SAFE_NO_PAD.encode(self.key.verifying_key().to_encoded_point(false))
    }

    fn sign(&self, change: &Change) -> Result<SignedChange> {
        let text = serde_json::to_string(change)?;
        let signature: Signature = self.key.sign(text.as_bytes());
        Ok(SignedChange::new(text, &signature.to_bytes()))
    }
}

impl Phone {
    /// A small change to a note of a log, as it would be before it is signed.
    fn change(
        &self,
        log: LogId,
        (note, replaces): (NoteId, Option<ChangeId>),
        at: Stamp,
        previous: Option<Digest>,
    ) -> Change {
        let set = NotePatch {
            text: Some("Ground down to sound cloth, 12 mm past the crack".into()),
            ..NotePatch::default()
        };
        Change {
            id: ChangeId(Uuid::now_v7()),
            log,
            author: Author::Person(self.user),
            device: self.key.device,
            stamp: at,
            previous,
            replaces: replaces.into_iter().collect(),
            body: Body::from(OnStep { id: note, step: None, set }),
        }
    }

    /// Signed changes, each chained on the one before, to so many notes.
    pub fn changes(
        &self,
        log: LogId,
        count: usize,
        notes: usize,
        now: UtcMillis,
    ) -> Result<Vec<SignedChange>> {
        let mut previous = None;
        let mut notes: Vec<_> = (0..notes).map(|_| (NoteId(Uuid::now_v7()), None)).collect();
        let length = notes.len();
        (0..count)
            .map(|number| {
                let note = &mut notes[number % length];
                let change = self.change(log, *note, Stamp(now, u32::try_from(number)?), previous);
                note.1 = Some(change.id);
                let signed = self.key.sign(&change)?;
                previous = Some(signed.digest());
                Ok(signed)
            })
            .collect()
    }

    /// Changes as the store takes them from the server, which has checked their signatures: for
    /// filling logs, where signing a million would take minutes.
    pub fn unsigned(&self, log: LogId, count: usize, now: UtcMillis) -> Result<Vec<PreparedChange>> {
        (0..count)
            .map(|number| {
                let note = (NoteId(Uuid::now_v7()), None);
                let change = self.change(log, note, Stamp(now, u32::try_from(number)?), None);
                let text = serde_json::to_string(&change)?;
                Ok(PreparedChange::new(change, SignedChange::new(text, &[0; 64])))
            })
            .collect()
    }

    /// The bodies of pushes of so many signed changes each, every one a new note.
    pub fn pushes(&self, log: LogId, count: usize, each: usize, now: UtcMillis) -> Result<Vec<Bytes>> {
        self.pushes_on(log, count, each, count, now)
    }

    /// The same, to so many notes.
    pub fn pushes_on(
        &self,
        log: LogId,
        count: usize,
        each: usize,
        notes: usize,
        now: UtcMillis,
    ) -> Result<Vec<Bytes>> {
        let changes = self.changes(log, count, notes, now)?;
        let body = |changes: &[SignedChange]| -> Result<Bytes> {
            let push = Push { changes: changes.to_vec(), pending: 0 };
            Ok(serde_json::to_vec(&push).context("a push has no JSON")?.into())
        };
        changes.chunks(each).map(body).collect()
    }
}
