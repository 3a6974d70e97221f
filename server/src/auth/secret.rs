//! The server's one secret, and the keys that come of it.
//!
//! Every process that serves the same database is given the same file; whoever
//! reads it can sign in as anybody.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use hkdf::Hkdf;
use sha2::Sha256;

/// The least that a secret may hold, in bytes.
const LEAST_BYTES: usize = 32;

/// What every key is derived from. It does not print.
pub struct Secret(Vec<u8>);

/// What a key is for: different purposes never share a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Purpose {
    /// Signs access tokens.
    AccessToken,
    /// Makes the next refresh token out of the one before.
    RefreshToken,
    /// Signs the sessions of whoever opened a record link.
    RecordLink,
    /// The server's own device key: signs worksheet answers and memberships.
    DeviceKey,
    /// The server's own device id.
    DeviceId,
}

impl Purpose {
    const fn label(self) -> &'static [u8] {
        match self {
            Self::AccessToken => b"faying access token v1",
            Self::RefreshToken => b"faying refresh token v1",
            Self::RecordLink => b"faying record link v1",
            Self::DeviceKey => b"faying device key v1",
            Self::DeviceId => b"faying device id v1",
        }
    }
}

/// Why there is no secret.
#[derive(Debug, thiserror::Error)]
pub enum SecretError {
    /// The file can't be read or written.
    #[error("the secret file {path} can't be read or made")]
    File {
        /// Which file.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// Too short to be a secret.
    #[error("the secret file {path} holds {bytes} bytes; at least {LEAST_BYTES} are needed")]
    TooShort {
        /// Which file.
        path: PathBuf,
        /// How many it holds.
        bytes: usize,
    },
    /// The machine has no random numbers to give.
    #[error("the machine gives no random numbers: {0}")]
    NoRandomness(#[from] NoRandomness),
}

/// The machine has no random numbers to give.
#[derive(Clone, Copy, Debug, thiserror::Error)]
#[error("{0}")]
pub struct NoRandomness(getrandom::Error);

/// Random bytes from the operating system.
///
/// # Errors
/// When it has none to give.
pub fn random<const N: usize>() -> Result<[u8; N], NoRandomness> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).map_err(NoRandomness)?;
    Ok(bytes)
}

impl Secret {
    /// A secret that ends with this process: for tests and for commands that sign nobody in.
    ///
    /// # Errors
    /// When the machine has no random numbers to give.
    pub fn fleeting() -> Result<Self, NoRandomness> {
        Ok(Self(random::<32>()?.to_vec()))
    }

    /// Reads the file, or makes one that only its owner may read.
    ///
    /// # Errors
    /// When the file can't be read or made, or is too short.
    pub fn load_or_make(path: &Path) -> Result<Self, SecretError> {
        let fault = |source| SecretError::File { path: path.to_owned(), source };
        match fs::read(path) {
            Ok(bytes) if bytes.trim_ascii().len() >= LEAST_BYTES => Ok(Self(bytes.trim_ascii().to_vec())),
            Ok(bytes) => {
                Err(SecretError::TooShort { path: path.to_owned(), bytes: bytes.trim_ascii().len() })
            }
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                let text: String = random::<32>()?.iter().map(|byte| format!("{byte:02x}")).collect();
                write_private(path, text.as_bytes()).map_err(fault)?;
                Ok(Self(text.into_bytes()))
            }
            Err(error) => Err(fault(error)),
        }
    }

    /// The key for a purpose; `number` tells several of one purpose apart.
    #[must_use]
    pub fn key(&self, purpose: Purpose, number: u8) -> [u8; 32] {
        let mut key = [0; 32];
        // 32 bytes is one block: HKDF refuses only more than 255 of them (RFC 5869 2.3).
        let expanded =
            Hkdf::<Sha256>::new(None, &self.0).expand_multi_info(&[purpose.label(), &[number]], &mut key);
        debug_assert!(expanded.is_ok(), "32 bytes are within HKDF's limit");
        key
    }
}

/// Makes a file that only its owner may read; refuses one that is there already.
///
/// # Errors
/// When the file can't be made or written.
pub fn write_private(path: &Path, content: &[u8]) -> io::Result<()> {
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder)?;
    }
    let mut file = private_options().open(path)?;
    file.write_all(content)?;
    file.sync_all()?;
    sync_folder(path)
}

fn private_options() -> OpenOptions {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt as _;
        options.mode(0o600);
    }
    options
}

/// A new file's name is durable only once its folder is.
///
/// # Errors
/// When the folder can't be written.
pub fn sync_folder(path: &Path) -> io::Result<()> {
    match path.parent() {
        Some(folder) if cfg!(unix) && !folder.as_os_str().is_empty() => File::open(folder)?.sync_all(),
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_secret_is_made_once_for_its_owner_alone() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("keys/secret");
        let made = Secret::load_or_make(&path).unwrap();
        let read = Secret::load_or_make(&path).unwrap();
        assert_eq!(made.key(Purpose::AccessToken, 0), read.key(Purpose::AccessToken, 0));
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt as _;
            assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o600);
        }
    }

    #[test]
    fn purposes_and_numbers_have_keys_of_their_own() {
        let secret = Secret::fleeting().unwrap();
        let keys = [
            secret.key(Purpose::AccessToken, 0),
            secret.key(Purpose::RefreshToken, 0),
            secret.key(Purpose::DeviceKey, 0),
            secret.key(Purpose::DeviceKey, 1),
            secret.key(Purpose::DeviceId, 0),
        ];
        let distinct: std::collections::BTreeSet<_> = keys.iter().collect();
        assert_eq!(distinct.len(), keys.len());
    }

    #[test]
    fn a_short_secret_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("secret");
        fs::write(&path, "  hunter2  \n").unwrap();
        assert!(matches!(Secret::load_or_make(&path), Err(SecretError::TooShort { bytes: 7, .. })));
    }
}
