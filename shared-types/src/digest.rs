//! SHA-256 digests, and the canonical form of JSON that they are taken over.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _};
use sha2::{Digest as _, Sha256};

/// A SHA-256 digest, written as 64 lower-case hexadecimal digits.
#[derive(Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Digest([u8; 32]);

/// The text is not 64 hexadecimal digits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a digest is 64 hexadecimal digits (SHA-256)")]
pub struct NotADigest;

impl Digest {
    /// The digest of some bytes.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// The digest of a value's canonical JSON: object keys sorted, no white space.
    ///
    /// Numbers are written as `serde_json` writes them (shortest text that reads
    /// back to the same double), so equal values have equal digests on every device.
    #[must_use]
    pub fn of_json(value: &serde_json::Value) -> Self {
        // `serde_json::Map` is a BTreeMap in this workspace (feature `preserve_order` is off),
        // so `to_string` already sorts the keys; `keys_are_sorted` below guards that.
        Self::of(value.to_string().as_bytes())
    }

    /// The digest's bytes.
    #[must_use]
    pub const fn as_bytes(&self) -> &[u8; 32] {
        &self.0
    }

    /// Eight digits, for people: enough to tell two apart on a page.
    #[must_use]
    pub fn short(&self) -> String {
        self.to_string()[..8].to_owned()
    }
}

impl From<[u8; 32]> for Digest {
    fn from(bytes: [u8; 32]) -> Self {
        Self(bytes)
    }
}

impl fmt::Display for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        const DIGITS: &[u8; 16] = b"0123456789abcdef";
        let mut text = [0; 64];
        for (pair, byte) in text.chunks_exact_mut(2).zip(self.0) {
            pair[0] = DIGITS[usize::from(byte >> 4)];
            pair[1] = DIGITS[usize::from(byte & 15)];
        }
        f.write_str(std::str::from_utf8(&text).map_err(|_| fmt::Error)?)
    }
}

impl fmt::Debug for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Digest({self})")
    }
}

impl FromStr for Digest {
    type Err = NotADigest;

    fn from_str(text: &str) -> Result<Self, NotADigest> {
        let text = text.as_bytes();
        if text.len() != 64 {
            return Err(NotADigest);
        }
        let mut bytes = [0; 32];
        for (byte, pair) in bytes.iter_mut().zip(text.chunks_exact(2)) {
            *byte = hex_digit(pair[0])? << 4 | hex_digit(pair[1])?;
        }
        Ok(Self(bytes))
    }
}

fn hex_digit(digit: u8) -> Result<u8, NotADigest> {
    match digit {
        b'0'..=b'9' => Ok(digit - b'0'),
        b'a'..=b'f' => Ok(digit - b'a' + 10),
        _ => Err(NotADigest),
    }
}

impl Serialize for Digest {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Digest {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(D::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_digest_reads_back_what_it_writes() {
        let digest = Digest::of(b"abc");
        // FIPS 180-4 example "abc", NIST's published SHA-256 test vector.
        let text = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(digest.to_string(), text);
        assert_eq!(text.parse(), Ok(digest));
        assert_eq!("BA78".parse::<Digest>(), Err(NotADigest));
    }

    #[test]
    fn keys_are_sorted() {
        let one: serde_json::Value = serde_json::from_str(r#"{"b":1,"a":2}"#).unwrap();
        let two: serde_json::Value = serde_json::from_str(r#"{"a":2,"b":1}"#).unwrap();
        assert_eq!(Digest::of_json(&one), Digest::of_json(&two));
        assert_eq!(one.to_string(), r#"{"a":2,"b":1}"#);
    }
}
