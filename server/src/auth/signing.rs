//! Signatures over changes: checking those of devices, making the server's own.

use aws_lc_rs::error::KeyRejected;
use aws_lc_rs::signature::{ECDSA_P256_SHA256_FIXED, ParsedPublicKey};
use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use p256::ecdsa::signature::Signer as _;
use p256::ecdsa::{Signature, SigningKey};
use shared_types::change::{Change, SignedChange};
use shared_types::check::Problem;
use shared_types::ids::DeviceId;

use super::secret::{Purpose, Secret};

/// A device's P-256 public key: an uncompressed point (SEC 1, 2.3.3), 65 bytes, known to lie on the curve.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PublicKey([u8; 65]);

impl PublicKey {
    /// Reads the base64url text that a device introduces itself with.
    ///
    /// # Errors
    /// When it isn't a point on the curve.
    pub fn read(text: &str) -> Result<Self, Problem> {
        let refused = || {
            Problem::new(
                "public_key",
                "is not a P-256 public key",
                "an uncompressed point on P-256 (SEC 1, 65 bytes) in base64url",
            )
        };
        let bytes: [u8; 65] =
            URL_SAFE_NO_PAD.decode(text).ok().and_then(|bytes| bytes.try_into().ok()).ok_or_else(refused)?;
        p256::PublicKey::from_sec1_bytes(&bytes).map_err(|_| refused())?;
        Ok(Self(bytes))
    }

    /// The key as base64url text.
    #[must_use]
    pub fn text(&self) -> String {
        URL_SAFE_NO_PAD.encode(self.0)
    }

    /// Gets the key ready to check many signatures.
    ///
    /// # Errors
    /// When the library won't have it, which a point on the curve gives it no reason for.
    pub fn checker(&self) -> Result<SignatureChecker, KeyRejected> {
        ParsedPublicKey::new(&ECDSA_P256_SHA256_FIXED, self.0).map(SignatureChecker)
    }

    /// Did this key's device sign the change?
    #[must_use]
    pub fn signed(&self, change: &SignedChange) -> bool {
        self.checker().is_ok_and(|checker| checker.signed(change))
    }
}

/// A device's key, read once for all signatures of a push.
#[derive(Clone)]
pub struct SignatureChecker(ParsedPublicKey);

impl SignatureChecker {
    /// Did this key's device sign the change?
    #[must_use]
    pub fn signed(&self, change: &SignedChange) -> bool {
        change
            .signature_bytes()
            .is_some_and(|signature| self.0.verify_sig(change.text.as_bytes(), &signature).is_ok())
    }
}

/// A device that can sign: the server's own, and those of the demo.
#[derive(Clone)]
pub struct SigningDevice {
    /// Its id.
    pub id: DeviceId,
    key: SigningKey,
}

impl SigningDevice {
    /// The server's own device; every process with the same secret is the same device.
    #[must_use]
    pub fn of_server(secret: &Secret) -> Self {
        let id: [u8; 32] = secret.key(Purpose::DeviceId, 0);
        let mut half = [0; 16];
        half.copy_from_slice(&id[..16]);
        Self { id: DeviceId(uuid::Builder::from_custom_bytes(half).into_uuid()), key: server_key(secret) }
    }

    /// A device with a key of its own.
    ///
    /// # Errors
    /// When the bytes are no private key: zero, or not below the curve's order.
    pub fn new(id: DeviceId, private_key: &[u8; 32]) -> Result<Self, p256::ecdsa::Error> {
        Ok(Self { id, key: SigningKey::from_slice(private_key)? })
    }

    /// Its public key.
    #[must_use]
    pub fn public_key(&self) -> PublicKey {
        let point = self.key.verifying_key().to_encoded_point(false);
        let mut bytes = [0; 65];
        bytes.copy_from_slice(point.as_bytes());
        PublicKey(bytes)
    }

    /// Writes a change down and signs it.
    ///
    /// # Errors
    /// When the change has no JSON form, which is a fault of ours.
    pub fn sign(&self, change: &Change) -> Result<SignedChange, serde_json::Error> {
        Ok(self.sign_text(serde_json::to_string(change)?))
    }

    /// Signs a change that is written down already.
    #[must_use]
    pub fn sign_text(&self, text: String) -> SignedChange {
        let signature: Signature = self.key.sign(text.as_bytes());
        SignedChange::new(text, &signature.to_bytes())
    }
}

fn server_key(secret: &Secret) -> SigningKey {
    // All but one in 2^32 of the numbers are keys; 256 in a row that are none do not happen.
    let mut keys = (0..=u8::MAX)
        .filter_map(|number| SigningKey::from_slice(&secret.key(Purpose::DeviceKey, number)).ok());
    #[expect(clippy::expect_used, reason = "2^-8192")]
    keys.next().expect("one of 256 numbers is a key")
}

#[cfg(test)]
mod tests {
    use super::*;
    use shared_types::body::The;
    use shared_types::ids::{Author, ChangeId, LogId, ShopId};
    use shared_types::shop::ShopPatch;
    use shared_types::stamp::Stamp;
    use uuid::Uuid;

    fn change(device: DeviceId) -> Change {
        Change {
            id: ChangeId(Uuid::from_u128(1)),
            log: LogId::Shop(ShopId(Uuid::from_u128(2))),
            author: Author::Server,
            device,
            stamp: Stamp::default(),
            previous: None,
            replaces: Vec::new(),
            body: The { set: ShopPatch { name: Some("Hangar 3".into()), ..ShopPatch::default() } }.into(),
        }
    }

    #[test]
    fn a_signature_fits_its_text_and_its_device_only() {
        let server = SigningDevice::of_server(&Secret::fleeting().unwrap());
        let other = SigningDevice::of_server(&Secret::fleeting().unwrap());
        let signed = server.sign(&change(server.id)).unwrap();
        assert!(server.public_key().signed(&signed));
        assert!(!other.public_key().signed(&signed));
        let altered = SignedChange { text: signed.text.replace('3', "4"), ..signed.clone() };
        assert!(!server.public_key().signed(&altered));
        for signature in ["", "AAAA", "not base64!", &"A".repeat(86)] {
            let forged = SignedChange { signature: signature.to_owned(), ..signed.clone() };
            assert!(!server.public_key().signed(&forged), "{signature}");
        }
    }

    #[test]
    fn the_same_secret_is_the_same_device() {
        let secret = Secret::fleeting().unwrap();
        let (one, two) = (SigningDevice::of_server(&secret), SigningDevice::of_server(&secret));
        assert_eq!(one.id, two.id);
        assert_eq!(one.public_key(), two.public_key());
    }

    #[test]
    fn a_public_key_is_a_point_on_the_curve() {
        let key = SigningDevice::of_server(&Secret::fleeting().unwrap()).public_key();
        assert_eq!(PublicKey::read(&key.text()), Ok(key));
        let off_the_curve = URL_SAFE_NO_PAD.encode([&[4][..], &[1; 64]].concat());
        for text in ["", "AAAA", off_the_curve.as_str()] {
            assert!(PublicKey::read(text).is_err(), "{text}");
        }
    }
}
