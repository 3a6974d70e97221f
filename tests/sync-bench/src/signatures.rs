//! What checking the signatures costs by itself: no server that checks them can be faster.

use std::num::NonZeroUsize;
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context as _, Result, anyhow, ensure};
use aws_lc_rs::signature::{ECDSA_P256_SHA256_FIXED, ParsedPublicKey};
use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use bytes::Bytes;
use shared_types::api::Push;
use shared_types::change::SignedChange;

use crate::phone::Key;

/// Checks the signatures of these pushes on all cores, one push after the other as ours gets them,
/// with the library that ours uses. The pushes are read beforehand.
pub fn check(key: &Key, pushes: &[Bytes]) -> Result<Duration> {
    let key = URL_SAFE_NO_PAD.decode(key.public())?;
    let key = ParsedPublicKey::new(&ECDSA_P256_SHA256_FIXED, key).map_err(|error| anyhow!("{error}"))?;
    let read = |body: &Bytes| Ok(serde_json::from_slice::<Push>(body)?.changes);
    let pushes: Vec<Vec<SignedChange>> = pushes.iter().map(read).collect::<Result<_>>()?;
    let cores = thread::available_parallelism().map_or(1, NonZeroUsize::get);
    let start = Instant::now();
    for changes in &pushes {
        thread::scope(|threads| {
            let shares = changes.chunks(changes.len().div_ceil(cores));
            let checks: Vec<_> = shares.map(|share| threads.spawn(|| all_signed(&key, share))).collect();
            let joined =
                checks.into_iter().map(|check| check.join().map_err(|_| anyhow!("a check broke off"))?);
            joined.collect::<Result<()>>()
        })?;
    }
    Ok(start.elapsed())
}

fn all_signed(key: &ParsedPublicKey, changes: &[SignedChange]) -> Result<()> {
    for change in changes {
        let signature = change.signature_bytes().context("a signature is no base64url")?;
        ensure!(key.verify_sig(change.text.as_bytes(), &signature).is_ok(), "a signature does not fit");
    }
    Ok(())
}
