//! Passwords: argon2id, off the async threads, a few at a time.

use std::sync::Arc;

use argon2::password_hash::phc::PasswordHash;
use argon2::{Algorithm, Argon2, Params, PasswordHasher as _, PasswordVerifier as _, Version};
use shared_types::check::Problem;
use tokio::sync::Semaphore;

/// Memory in KiB, passes and lanes: 19 MiB, 2, 1 (OWASP Password Storage Cheat Sheet, Argon2id).
const COST: (u32, u32, u32) = (19 * 1024, 2, 1);
/// How many hashes are worked out at once: they cost memory and a core each.
const AT_ONCE: usize = 2;
/// How many may wait for their turn; further ones are told to come back.
const WAITING: usize = 64;

/// The least characters in a password.
pub const LEAST_CHARACTERS: usize = 10;
/// The most bytes in a password: more costs us and gains nobody anything.
pub const MOST_BYTES: usize = 256;

/// Hashes and checks passwords.
#[derive(Clone)]
pub struct Passwords {
    turns: Arc<Semaphore>,
    queue: Arc<Semaphore>,
    /// A hash that no password fits, so that an unknown name costs as much as a wrong password.
    nobody: Arc<str>,
}

/// Why a password could not be hashed or checked.
#[derive(Debug, thiserror::Error)]
pub enum PasswordError {
    /// Too many are being checked; try again shortly.
    #[error("too many passwords are being checked just now")]
    Busy,
    /// The stored hash or the hasher is at fault.
    #[error("a password can't be hashed or checked: {0}")]
    Broken(String),
}

impl Passwords {
    /// A checker of passwords.
    ///
    /// # Errors
    /// When the machine has no random numbers to give.
    pub fn new() -> Result<Self, PasswordError> {
        let unguessable = super::secret::random::<32>().map_err(|error| broken(&error))?;
        Ok(Self {
            turns: Arc::new(Semaphore::new(AT_ONCE)),
            queue: Arc::new(Semaphore::new(AT_ONCE + WAITING)),
            nobody: hash(&unguessable)?.into(),
        })
    }

    /// The hash to store, as a PHC string.
    ///
    /// # Errors
    /// When too many wait, or the hasher fails.
    pub async fn hash(&self, password: String) -> Result<String, PasswordError> {
        self.in_turn(move || hash(password.as_bytes())).await
    }

    /// Does the password fit the hash? Without a hash it takes as long and fits nothing.
    ///
    /// # Errors
    /// When too many wait, or the stored hash can't be read.
    pub async fn fits(&self, password: String, hash: Option<String>) -> Result<bool, PasswordError> {
        let known = hash.is_some();
        let hash = hash.unwrap_or_else(|| self.nobody.to_string());
        self.in_turn(move || {
            let hash = PasswordHash::new(&hash).map_err(|error| broken(&error))?;
            Ok(known & hasher()?.verify_password(password.as_bytes(), &hash).is_ok())
        })
        .await
    }

    async fn in_turn<T: Send + 'static>(
        &self,
        work: impl FnOnce() -> Result<T, PasswordError> + Send + 'static,
    ) -> Result<T, PasswordError> {
        let _waiting = self.queue.try_acquire().map_err(|_| PasswordError::Busy)?;
        let turn = Arc::clone(&self.turns).acquire_owned().await.map_err(|error| broken(&error))?;
        let worked = tokio::task::spawn_blocking(move || {
            let worked = work();
            drop(turn);
            worked
        });
        worked.await.map_err(|error| broken(&error))?
    }
}

fn hasher() -> Result<Argon2<'static>, PasswordError> {
    let (memory, passes, lanes) = COST;
    let params = Params::new(memory, passes, lanes, None).map_err(|error| broken(&error))?;
    Ok(Argon2::new(Algorithm::Argon2id, Version::V0x13, params))
}

fn hash(password: &[u8]) -> Result<String, PasswordError> {
    Ok(hasher()?.hash_password(password).map_err(|error| broken(&error))?.to_string())
}

fn broken(error: &dyn std::fmt::Display) -> PasswordError {
    PasswordError::Broken(error.to_string())
}

/// What is wrong with a password that somebody wants to have.
#[must_use]
pub fn problem(password: &str) -> Option<Problem> {
    let accepted = || format!("{LEAST_CHARACTERS} characters to {MOST_BYTES} bytes, of any kind");
    let reason = if password.chars().count() < LEAST_CHARACTERS {
        "is too short"
    } else if password.len() > MOST_BYTES {
        "is too long"
    } else {
        return None;
    };
    Some(Problem::new("password", reason, accepted()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn only_the_right_password_fits_its_hash_and_nothing_fits_nobody() {
        let passwords = Passwords::new().unwrap();
        let hash = passwords.hash("bucking bar 47".to_owned()).await.unwrap();
        assert!(hash.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"), "{hash}");
        assert!(passwords.fits("bucking bar 47".to_owned(), Some(hash.clone())).await.unwrap());
        assert!(!passwords.fits("bucking bar 48".to_owned(), Some(hash)).await.unwrap());
        assert!(!passwords.fits("bucking bar 47".to_owned(), None).await.unwrap());
    }

    #[test]
    fn short_and_endless_passwords_are_refused() {
        assert!(problem("nine char").is_some());
        assert!(problem("ten chars!").is_none());
        assert!(problem(&"x".repeat(257)).is_some());
    }
}
