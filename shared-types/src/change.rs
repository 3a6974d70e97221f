//! A change, and the exact text of it that a device signed.

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use serde::{Deserialize, Serialize};

use crate::body::Body;
use crate::check::{MAX_CHANGE_BYTES, Problem};
use crate::digest::Digest;
use crate::field::Mark;
use crate::ids::{Author, ChangeId, DeviceId, LogId};
use crate::stamp::Stamp;
use crate::time::UtcMillis;

/// One change to one log: small and self-contained.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Change {
    /// Made on the device, once, when the person acted.
    pub id: ChangeId,
    /// The log it belongs to.
    pub log: LogId,
    /// Who made it.
    pub author: Author,
    /// On which device.
    pub device: DeviceId,
    /// When, by that device's clock.
    pub stamp: Stamp,
    /// Digest of this device's previous change in this log.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub previous: Option<Digest>,
    /// Changes whose values in the fields set here the author saw.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub replaces: Vec<ChangeId>,
    /// What it does.
    pub body: Body,
}

/// A change as it travels and is stored: the exact text, and the device's signature over it.
///
/// The text is never written anew, so what a newer version put into it passes through unharmed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct SignedChange {
    /// The change as JSON, exactly as signed.
    pub text: String,
    /// ECDSA P-256 with SHA-256 over the text's bytes, `r || s` (as in JWS ES256, RFC 7518 3.4), base64url.
    pub signature: String,
}

/// Why a change's text can't be taken.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Unreadable {
    /// Over [`MAX_CHANGE_BYTES`].
    #[error("the change has {0} bytes; at most {MAX_CHANGE_BYTES} are taken")]
    TooLong(usize),
    /// Not a change.
    #[error("the change can't be read: {0}")]
    Malformed(String),
}

impl SignedChange {
    /// The digest that the device's next change names as its previous one.
    #[must_use]
    pub fn digest(&self) -> Digest {
        Digest::of(self.text.as_bytes())
    }

    /// Reads the change.
    ///
    /// # Errors
    /// When the text is too long or isn't a change.
    pub fn read(&self) -> Result<Change, Unreadable> {
        if self.text.len() > MAX_CHANGE_BYTES {
            return Err(Unreadable::TooLong(self.text.len()));
        }
        crate::json::read(self.text.as_bytes()).map_err(|error| Unreadable::Malformed(error.to_string()))
    }

    /// The signature's bytes, `None` when they aren't base64url.
    #[must_use]
    pub fn signature_bytes(&self) -> Option<Vec<u8>> {
        URL_SAFE_NO_PAD.decode(&self.signature).ok()
    }

    /// Puts a text and a signature's bytes together.
    #[must_use]
    pub fn new(text: String, signature: &[u8]) -> Self {
        Self { text, signature: URL_SAFE_NO_PAD.encode(signature) }
    }
}

/// A change as the fold takes it: with the time at which the server received it, once it has.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// The change.
    pub change: Change,
    /// When the server received it; `None` while it is only on this device.
    pub received: Option<UtcMillis>,
}

impl Entry {
    /// The mark that its values get.
    #[must_use]
    pub fn mark(&self) -> Mark {
        Mark {
            stamp: self.change.stamp.counted(self.received),
            device: self.change.device,
            change: self.change.id,
            author: self.change.author,
        }
    }
}

impl Change {
    /// Everything about the change that is out of limits; empty when it may be taken.
    #[must_use]
    pub fn problems(&self) -> Vec<Problem> {
        self.body.problems()
    }
}
