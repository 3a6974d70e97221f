//! What the server vouches for with a key of its own: how far a log has come and what stands in it, and
//! which keys are the server's.
//!
//! Each log has a chain of links over its changes in the order of their sequence numbers. Whoever knows one
//! link knows that nothing before it was altered, left out or moved. The server signs a log's last link, so
//! that its end is vouched for too.

use serde::{Deserialize, Serialize};
use serde_json::json;
use sha2::{Digest as _, Sha256};
use std::collections::BTreeSet;

use crate::digest::Digest;
use crate::ids::LogId;
use crate::time::UtcMillis;

/// The link before a log's first change: the log's own name, so that no two logs share a chain.
#[must_use]
pub fn first_link(log: LogId) -> Digest {
    Digest::of(log.to_string().as_bytes())
}

/// The link of a change: SHA-256 over the link before it, its sequence number, the digest of its text and
/// when it was received, numbers as eight bytes, the highest first.
#[must_use]
pub fn next_link(before: Digest, seq: u64, change: Digest, received: UtcMillis) -> Digest {
    let link = Sha256::new()
        .chain_update(before.as_bytes())
        .chain_update(seq.to_be_bytes())
        .chain_update(change.as_bytes())
        .chain_update(received.0.to_be_bytes());
    Digest::from(<[u8; 32]>::from(link.finalize()))
}

/// A link's first four bytes: enough to notice by accident, not on purpose, that two pasts differ, and
/// short enough to be told for thousands of logs at once.
#[must_use]
pub fn mark(link: Digest) -> u32 {
    let [a, b, c, d, ..] = *link.as_bytes();
    u32::from_be_bytes([a, b, c, d])
}

/// The digest of the changes that a log did not take.
#[must_use]
pub fn refusals_digest(refused: &BTreeSet<Digest>) -> Digest {
    Digest::of_json(&json!(refused))
}

/// How far a log has come, and what stands in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Head {
    /// Which log.
    pub log: LogId,
    /// The last sequence number: how many changes it has.
    pub seq: u64,
    /// The last change's link.
    pub link: Digest,
    /// As [`refusals_digest`] says.
    pub refusals: Digest,
    /// When the server looked.
    pub at: UtcMillis,
}

impl Head {
    /// The text that the server signs: canonical JSON, so that anyone can write it again.
    #[must_use]
    pub fn text(&self) -> String {
        json!({ "head": self }).to_string()
    }
}

/// A log's head under the server's signature.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SignedHead {
    /// What is signed.
    pub head: Head,
    /// The server's key: the digest of its public half.
    pub key: Digest,
    /// Its Ed25519 signature over [`Head::text`], in base64url.
    pub signature: String,
}

/// One of the server's keys, introduced by the one before it; the first one by itself.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ServerKey {
    /// Its public half: an Ed25519 key (RFC 8032), 32 bytes in base64url.
    pub public_key: String,
    /// The key that introduces it: the digest of its public half.
    pub by: Digest,
    /// When.
    pub at: UtcMillis,
    /// The introducing key's Ed25519 signature over [`ServerKey::text`], in base64url.
    pub signature: String,
}

impl ServerKey {
    /// The text that the introducing key signs: canonical JSON.
    #[must_use]
    pub fn text(public_key: &str, by: Digest, at: UtcMillis) -> String {
        json!({ "introduced": { "public_key": public_key, "by": by, "at": at } }).to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ids::{JobId, ShopId};
    use uuid::Uuid;

    const LOG: LogId = LogId::Job(ShopId(Uuid::from_u128(1)), JobId(Uuid::from_u128(2)));

    #[test]
    fn a_link_depends_on_everything_before_it_and_in_it() {
        let first = first_link(LOG);
        let (change, noon) = (Digest::of(b"change"), UtcMillis(1_795_610_520_000));
        let link = next_link(first, 1, change, noon);
        let others = [
            next_link(first_link(LogId::Shop(LOG.shop())), 1, change, noon),
            next_link(first, 2, change, noon),
            next_link(first, 1, Digest::of(b"another"), noon),
            next_link(first, 1, change, UtcMillis(noon.0 + 1)),
        ];
        assert!(others.iter().all(|other| *other != link));
        // Worked out by hand, with another program: the chain's form is for ever.
        assert_eq!(first.to_string(), EXPECTED_FIRST);
        assert_eq!(link.to_string(), EXPECTED_LINK);
    }

    const EXPECTED_FIRST: &str = "62802b684afce7fe5127b3403f7967b5ce20d2fb845a08602a0a3e8d7cc2dee7";
    const EXPECTED_LINK: &str = "03b405569d60c529855ffa52bc771a4d60035a629afd38b594727858d547431a";

    #[test]
    fn the_signed_texts_are_canonical() {
        let head =
            Head { log: LOG, seq: 3, link: Digest::default(), refusals: Digest::default(), at: UtcMillis(5) };
        let text = head.text();
        assert!(text.starts_with(r#"{"head":{"at":5,"link":"0000"#), "{text}");
        assert!(text.ends_with(r#""seq":3}}"#), "{text}");
        let key = ServerKey::text("AAAA", Digest::default(), UtcMillis(5));
        assert!(key.starts_with(r#"{"introduced":{"at":5,"by":"0000"#), "{key}");
    }
}
