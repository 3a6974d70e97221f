//! Vouching for a log: how far it has come and what stands in it, under the server's key.

use std::collections::BTreeSet;

use shared_types::countersign::{Head, SignedHead, refusals_digest};
use shared_types::digest::Digest;
use shared_types::ids::LogId;
use shared_types::time::UtcMillis;
use storage::Storage;

use crate::auth::keyring::{self, Keyring};
use crate::fault::{Fault, Result};

/// A log's head as it stands now.
///
/// # Errors
/// When there is no such log, or the store can't be read.
pub async fn head(storage: &dyn Storage, keys: &Keyring, log: LogId, now: UtcMillis) -> Result<SignedHead> {
    let (seq, link) = storage.last_link(log).await?.ok_or(Fault::NotFound)?;
    let refused = storage.refused(log).await?;
    Ok(sign(keys, log, (seq, link), &refused, now))
}

/// Signs a head.
#[must_use]
pub fn sign(
    keys: &Keyring,
    log: LogId,
    (seq, link): (u64, Digest),
    refused: &BTreeSet<Digest>,
    at: UtcMillis,
) -> SignedHead {
    let head = Head { log, seq, link, refusals: refusals_digest(refused), at };
    SignedHead { head, key: keys.signing_key(), signature: keys.sign(&head.text()) }
}

/// Makes the keys known to the database, so that they can be checked against after a restore too.
///
/// # Errors
/// When the store can't be written.
pub async fn introduce(storage: &dyn Storage, keys: &Keyring) -> Result<()> {
    let keys: Option<Vec<_>> =
        keys.introduced().iter().map(|key| Some((keyring::digest(key)?, key.clone()))).collect();
    let keys = keys.ok_or_else(|| Fault::internal("one of the server's keys is none"))?;
    Ok(storage.introduce_keys(&keys).await?)
}
