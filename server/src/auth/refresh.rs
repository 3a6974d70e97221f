//! Refresh tokens: random, rotated at every use, stored only as a digest.
//!
//! ```text
//! token = sign-in (16 bytes) ‖ 256 bits that change at every use ‖ tag (16 bytes)
//! ```
//!
//! The bits of the next token are an HMAC of the token before, under a key of the
//! server's. So a phone that lost the answer, and twenty tabs that ask at once, are
//! all given the same successor, although the server never stored it. The tag is an
//! HMAC too: without the key nobody can make a token out of what else he may have seen.

use std::fmt;

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use hmac::digest::Key;
use hmac::{Hmac, Mac};
use sha2::Sha256;
use shared_types::digest::Digest;
use subtle::ConstantTimeEq as _;
use uuid::Uuid;

use super::secret::{NoRandomness, Purpose, Secret, random};

/// How long a sign-in lasts, used daily or not.
pub const DAYS: i64 = 180;

/// A refresh token of ours. It does not print.
#[derive(Clone, PartialEq, Eq)]
pub struct RefreshToken {
    family: Uuid,
    bits: [u8; 32],
}

impl RefreshToken {
    /// The sign-in that it follows from.
    #[must_use]
    pub const fn family(&self) -> Uuid {
        self.family
    }

    /// What is stored.
    #[must_use]
    pub fn digest(&self) -> Digest {
        Digest::of(&self.bits)
    }
}

impl fmt::Debug for RefreshToken {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("RefreshToken(…)")
    }
}

/// Makes and reads refresh tokens.
pub struct RefreshTokens(Hmac<Sha256>);

impl RefreshTokens {
    /// Tokens under the secret's key.
    #[must_use]
    pub fn new(secret: &Secret) -> Self {
        // HMAC fills a key up to a block with zeros (RFC 2104); doing so here leaves nothing that can fail.
        let mut block = Key::<Hmac<Sha256>>::default();
        block[..32].copy_from_slice(&secret.key(Purpose::RefreshToken, 0));
        Self(<Hmac<Sha256> as Mac>::new(&block))
    }

    /// The first token of a sign-in.
    ///
    /// # Errors
    /// When the machine has no random numbers to give.
    pub fn first(&self) -> Result<RefreshToken, NoRandomness> {
        Ok(RefreshToken { family: uuid::Builder::from_random_bytes(random()?).into_uuid(), bits: random()? })
    }

    /// The token after this one: always the same.
    #[must_use]
    pub fn after(&self, token: &RefreshToken) -> RefreshToken {
        RefreshToken { family: token.family, bits: self.mac(b"next", token) }
    }

    /// What the cookie holds.
    #[must_use]
    pub fn write(&self, token: &RefreshToken) -> String {
        let tag = self.mac(b"tag", token);
        URL_SAFE_NO_PAD.encode([&token.family.as_bytes()[..], &token.bits, &tag[..16]].concat())
    }

    /// Reads what a cookie holds; `None` when it isn't one of ours.
    #[must_use]
    pub fn read(&self, text: &str) -> Option<RefreshToken> {
        let bytes: [u8; 64] = URL_SAFE_NO_PAD.decode(text).ok()?.try_into().ok()?;
        let (family, rest) = bytes.split_first_chunk()?;
        let (bits, tag) = rest.split_first_chunk()?;
        let token = RefreshToken { family: Uuid::from_bytes(*family), bits: *bits };
        bool::from(self.mac(b"tag", &token)[..16].ct_eq(tag)).then_some(token)
    }

    fn mac(&self, purpose: &[u8], token: &RefreshToken) -> [u8; 32] {
        let mut mac = self.0.clone();
        for part in [purpose, token.family.as_bytes(), &token.bits] {
            mac.update(part);
        }
        mac.finalize().into_bytes().into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_token_reads_back_and_has_one_successor() {
        let tokens = RefreshTokens::new(&Secret::fleeting().unwrap());
        let first = tokens.first().unwrap();
        assert_eq!(tokens.read(&tokens.write(&first)), Some(first.clone()));
        let next = tokens.after(&first);
        assert_eq!(next.family, first.family);
        assert_ne!(next, first);
        assert_eq!(next, tokens.after(&first));
    }

    #[test]
    fn what_another_server_made_is_no_token() {
        let (ours, theirs) = (
            RefreshTokens::new(&Secret::fleeting().unwrap()),
            RefreshTokens::new(&Secret::fleeting().unwrap()),
        );
        let token = ours.first().unwrap();
        assert_ne!(theirs.after(&token), ours.after(&token));
        assert_eq!(theirs.read(&ours.write(&token)), None);
        for text in ["", "short", "====", &"A".repeat(86)] {
            assert_eq!(ours.read(text), None, "{text}");
        }
    }
}
