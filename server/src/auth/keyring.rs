//! The server's own keys: what it confirms and countersigns with. They are files beside the database, never
//! in it: whoever can write the database alone can't vouch for what they wrote.
//!
//! ```text
//! keys/keys.jsonl       public halves, a line each, the first one first; the last one signs
//! keys/DIGEST.key       private halves (PKCS #8), for their owner alone
//! ```

use std::collections::BTreeMap;
use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use aws_lc_rs::rand::SystemRandom;
use aws_lc_rs::signature::{ED25519, Ed25519KeyPair, KeyPair as _, ParsedPublicKey};
use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use shared_types::countersign::ServerKey;
use shared_types::digest::Digest;
use shared_types::time::UtcMillis;
use tempfile::NamedTempFile;

use super::secret::{sync_folder, write_private};

const PUBLIC_HALVES: &str = "keys.jsonl";

/// Why there are no keys to sign with.
#[derive(Debug, thiserror::Error)]
pub enum KeyError {
    /// A file can't be read or written.
    #[error("the server's key file {path} can't be read or made")]
    File {
        /// Which file.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// A file holds something else.
    #[error("{path} does not hold the server's keys: {reason}")]
    Damaged {
        /// Which file.
        path: PathBuf,
        /// Why.
        reason: String,
    },
    /// No key could be made.
    #[error("no key could be made")]
    NotMade,
}

/// The keys: one signs, those before it are kept to be checked against.
pub struct Keyring {
    signing: Ed25519KeyPair,
    digest: Digest,
    introduced: Vec<ServerKey>,
}

impl Keyring {
    /// A key that ends with this process, for tests.
    ///
    /// # Errors
    /// When the machine has no random numbers to give.
    pub fn fleeting(now: UtcMillis) -> Result<Self, KeyError> {
        let (_, signing) = new_key()?;
        let digest = digest_of(&signing);
        let first = introduce(&signing, &signing, now);
        Ok(Self { signing, digest, introduced: vec![first] })
    }

    /// Reads the keys in a folder, or makes the first one.
    ///
    /// # Errors
    /// When a file can't be read or made, or does not hold what it should.
    pub fn open(folder: &Path, now: UtcMillis) -> Result<Self, KeyError> {
        let path = folder.join(PUBLIC_HALVES);
        let text = match fs::read_to_string(&path) {
            Ok(text) => text,
            Err(error) if error.kind() == io::ErrorKind::NotFound => make_first(folder, now)?,
            Err(source) => return Err(KeyError::File { path, source }),
        };
        let damaged = |reason: String| KeyError::Damaged { path: path.clone(), reason };
        let lines: Result<Vec<ServerKey>, _> = text.lines().map(serde_json::from_str).collect();
        let introduced = lines.map_err(|error| damaged(error.to_string()))?;
        let checked = check(&introduced);
        if let Some(fault) = checked.faults.into_iter().next() {
            return Err(damaged(fault));
        }
        let digest =
            introduced.last().and_then(public_half).ok_or_else(|| damaged("it is empty".to_owned()))?;
        let digest = Digest::of(&digest);
        let path = private_path(folder, digest);
        let private = fs::read(&path).map_err(|source| KeyError::File { path: path.clone(), source })?;
        let signing = Ed25519KeyPair::from_pkcs8(&private)
            .map_err(|error| KeyError::Damaged { path: path.clone(), reason: error.to_string() })?;
        if digest_of(&signing) != digest {
            return Err(KeyError::Damaged { path, reason: "it is another key".to_owned() });
        }
        Ok(Self { signing, digest, introduced })
    }

    /// Makes a new key, introduced by the one that signs now; from then on the new one signs.
    ///
    /// # Errors
    /// When a file can't be written.
    pub fn rotate(self, folder: &Path, now: UtcMillis) -> Result<Self, KeyError> {
        let (private, signing) = new_key()?;
        let digest = digest_of(&signing);
        let mut introduced = self.introduced;
        // Later than the one before it, whatever the clock says: that is the order that keys are read in.
        let last = introduced.last().map_or(i64::MIN, |key| key.at.0);
        introduced.push(introduce(&signing, &self.signing, UtcMillis(now.0.max(last.saturating_add(1)))));
        let path = private_path(folder, digest);
        write_private(&path, &private).map_err(|source| KeyError::File { path, source })?;
        replace(folder, written(&introduced).as_bytes())
            .map_err(|source| KeyError::File { path: folder.join(PUBLIC_HALVES), source })?;
        Ok(Self { signing, digest, introduced })
    }

    /// The key that signs: the digest of its public half.
    #[must_use]
    pub const fn signing_key(&self) -> Digest {
        self.digest
    }

    /// All keys as they were introduced, the first one first.
    #[must_use]
    pub fn introduced(&self) -> &[ServerKey] {
        &self.introduced
    }

    /// Signs a text: Ed25519, base64url.
    #[must_use]
    pub fn sign(&self, text: &str) -> String {
        URL_SAFE_NO_PAD.encode(self.signing.sign(text.as_bytes()).as_ref())
    }
}

/// Does a folder hold keys?
#[must_use]
pub fn is_there(folder: &Path) -> bool {
    folder.join(PUBLIC_HALVES).exists()
}

/// Is this the name of a file that such a folder holds?
#[must_use]
pub fn is_file_of_ours(name: &str) -> bool {
    let private = || name.strip_suffix(".key").is_some_and(|digest| digest.parse::<Digest>().is_ok());
    name == PUBLIC_HALVES || private()
}

/// A list of keys, checked.
#[derive(Clone, Debug, Default)]
pub struct Checked {
    /// The public halves of those that were introduced as they should, by their digest.
    pub keys: BTreeMap<Digest, Vec<u8>>,
    /// Those that introduced themselves: each begins a row of keys.
    pub first: Vec<Digest>,
    /// What is wrong with the others.
    pub faults: Vec<String>,
}

impl Checked {
    /// Did this key sign the text?
    #[must_use]
    pub fn signed(&self, key: Digest, text: &str, signature: &str) -> bool {
        self.keys.get(&key).is_some_and(|public| signed(public, text, signature))
    }
}

/// Checks that each key was introduced by one before it.
#[must_use]
pub fn check(introduced: &[ServerKey]) -> Checked {
    let mut checked = Checked::default();
    for (place, key) in introduced.iter().enumerate() {
        let Some(public) = public_half(key) else {
            checked.faults.push(format!("key {} is no Ed25519 key", place + 1));
            continue;
        };
        let digest = Digest::of(&public);
        let text = ServerKey::text(&key.public_key, key.by, key.at);
        let holds = if key.by == digest {
            signed(&public, &text, &key.signature)
        } else {
            checked.signed(key.by, &text, &key.signature)
        };
        if !holds {
            checked.faults.push(format!("key {digest} was not introduced by a key before it"));
            continue;
        }
        if key.by == digest {
            checked.first.push(digest);
        }
        checked.keys.insert(digest, public);
    }
    checked
}

/// The digest of a key's public half; `None` for what is no key.
#[must_use]
pub fn digest(key: &ServerKey) -> Option<Digest> {
    public_half(key).map(|public| Digest::of(&public))
}

fn public_half(key: &ServerKey) -> Option<Vec<u8>> {
    URL_SAFE_NO_PAD.decode(&key.public_key).ok().filter(|public| public.len() == 32)
}

fn signed(public: &[u8], text: &str, signature: &str) -> bool {
    let key = ParsedPublicKey::new(&ED25519, public);
    let signature = URL_SAFE_NO_PAD.decode(signature);
    key.is_ok_and(|key| signature.is_ok_and(|signature| key.verify_sig(text.as_bytes(), &signature).is_ok()))
}

fn new_key() -> Result<(Vec<u8>, Ed25519KeyPair), KeyError> {
    let private = Ed25519KeyPair::generate_pkcs8(&SystemRandom::new()).map_err(|_| KeyError::NotMade)?;
    let key = Ed25519KeyPair::from_pkcs8(private.as_ref()).map_err(|_| KeyError::NotMade)?;
    Ok((private.as_ref().to_vec(), key))
}

fn digest_of(key: &Ed25519KeyPair) -> Digest {
    Digest::of(key.public_key().as_ref())
}

fn introduce(key: &Ed25519KeyPair, by: &Ed25519KeyPair, at: UtcMillis) -> ServerKey {
    let (public_key, by_digest) = (URL_SAFE_NO_PAD.encode(key.public_key().as_ref()), digest_of(by));
    let text = ServerKey::text(&public_key, by_digest, at);
    let signature = URL_SAFE_NO_PAD.encode(by.sign(text.as_bytes()).as_ref());
    ServerKey { public_key, by: by_digest, at, signature }
}

/// Makes the first key; gives the list of public halves as it now stands in the folder.
fn make_first(folder: &Path, now: UtcMillis) -> Result<String, KeyError> {
    let (private, key) = new_key()?;
    let (path, list) = (private_path(folder, digest_of(&key)), folder.join(PUBLIC_HALVES));
    write_private(&path, &private).map_err(|source| KeyError::File { path: path.clone(), source })?;
    let text = written(&[introduce(&key, &key, now)]);
    match write_private(&list, text.as_bytes()) {
        Ok(()) => Ok(text),
        // Another process that starts on the same folder was faster: its key is the first one.
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
            let theirs = fs::remove_file(&path).and_then(|()| fs::read_to_string(&list));
            theirs.map_err(|source| KeyError::File { path: list, source })
        }
        Err(source) => Err(KeyError::File { path: list, source }),
    }
}

/// Puts another list in the place of the one that is there, whole or not at all.
fn replace(folder: &Path, list: &[u8]) -> io::Result<()> {
    let mut part = NamedTempFile::new_in(folder)?;
    part.write_all(list)?;
    part.as_file().sync_all()?;
    part.persist(folder.join(PUBLIC_HALVES)).map_err(|error| error.error)?;
    sync_folder(&folder.join(PUBLIC_HALVES))
}

fn private_path(folder: &Path, digest: Digest) -> PathBuf {
    folder.join(format!("{digest}.key"))
}

fn written(keys: &[ServerKey]) -> String {
    // Text, digests and a number always have a JSON form.
    keys.iter().filter_map(|key| serde_json::to_string(key).ok()).map(|line| line + "\n").collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOON: UtcMillis = UtcMillis(1_795_610_520_000);

    #[test]
    fn the_first_key_is_made_once_for_its_owner_alone() {
        let folder = tempfile::tempdir().unwrap();
        let keys = folder.path().join("keys");
        let made = Keyring::open(&keys, NOON).unwrap();
        let read = Keyring::open(&keys, UtcMillis(NOON.0 + 1)).unwrap();
        assert_eq!(made.introduced(), read.introduced());
        assert_eq!(fs::read_dir(&keys).unwrap().count(), 2);
        #[cfg(unix)]
        for file in fs::read_dir(&keys).unwrap() {
            use std::os::unix::fs::PermissionsExt as _;
            assert_eq!(file.unwrap().metadata().unwrap().permissions().mode() & 0o777, 0o600);
        }
    }

    #[test]
    fn a_new_key_is_introduced_by_the_one_before_it_and_both_are_known() {
        let folder = tempfile::tempdir().unwrap();
        let before = Keyring::open(folder.path(), NOON).unwrap();
        let (old, signature) = (before.signing_key(), before.sign("before"));
        let after = before.rotate(folder.path(), UtcMillis(NOON.0 + 1)).unwrap();
        assert_ne!(after.signing_key(), old);
        let read = Keyring::open(folder.path(), NOON).unwrap();
        assert_eq!(read.signing_key(), after.signing_key());
        let checked = check(read.introduced());
        assert!(checked.faults.is_empty(), "{:?}", checked.faults);
        assert_eq!(checked.first, [old]);
        assert!(checked.signed(old, "before", &signature));
        assert!(checked.signed(after.signing_key(), "after", &read.sign("after")));
        assert!(!checked.signed(old, "after", &read.sign("after")));
        assert!(!checked.signed(old, "another", &signature));
    }

    #[test]
    fn a_key_that_nobody_introduced_is_found() {
        let (ours, theirs) = (Keyring::fleeting(NOON).unwrap(), Keyring::fleeting(NOON).unwrap());
        let claimed = ServerKey { by: ours.signing_key(), ..theirs.introduced()[0].clone() };
        let keys = [ours.introduced()[0].clone(), claimed];
        let checked = check(&keys);
        assert_eq!(checked.keys.len(), 1);
        assert!(checked.faults[0].contains("was not introduced"), "{:?}", checked.faults);
    }

    #[test]
    fn keys_that_do_not_fit_are_refused() {
        let folder = tempfile::tempdir().unwrap();
        let ring = Keyring::open(folder.path(), NOON).unwrap();
        let private = private_path(folder.path(), ring.signing_key());
        let other = new_key().unwrap().0;
        fs::write(&private, other).unwrap();
        assert!(matches!(Keyring::open(folder.path(), NOON), Err(KeyError::Damaged { .. })));
        fs::remove_file(&private).unwrap();
        assert!(matches!(Keyring::open(folder.path(), NOON), Err(KeyError::File { .. })));
        fs::write(folder.path().join(PUBLIC_HALVES), "{}\n").unwrap();
        assert!(matches!(Keyring::open(folder.path(), NOON), Err(KeyError::Damaged { .. })));
    }
}
