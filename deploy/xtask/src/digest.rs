//! Content digests: names of built files, and "has anything changed?".

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use sha2::{Digest as _, Sha256};

/// Collects named pieces into one digest. Each piece is framed by its length,
/// so that moving a byte from one piece to the next changes the result.
#[derive(Default)]
pub struct Fingerprint(Sha256);

impl Fingerprint {
    pub fn add(&mut self, name: &str, content: &[u8]) -> &mut Self {
        for piece in [name.as_bytes(), content] {
            self.0.update((piece.len() as u64).to_le_bytes());
            self.0.update(piece);
        }
        self
    }

    /// Adds every file under `folder`, in the order of their names.
    pub fn add_tree(&mut self, folder: &Path) -> Result<&mut Self> {
        for path in files_under(folder)? {
            let name = path.strip_prefix(folder).unwrap_or(&path).to_string_lossy().into_owned();
            self.add(&name, &read(&path)?);
        }
        Ok(self)
    }

    pub fn finish(&self) -> String {
        format!("{:x}", self.0.clone().finalize())
    }
}

/// The part of a digest that goes into a file name: 48 bits, ample for the
/// handful of builds that a browser may see side by side.
pub fn short(content: &[u8]) -> String {
    let mut digest = format!("{:x}", Sha256::digest(content));
    digest.truncate(12);
    digest
}

/// All files under a folder, sorted; none when there is no such folder.
pub fn files_under(folder: &Path) -> Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    if folder.is_dir() {
        collect(folder, &mut found)?;
    }
    found.sort();
    Ok(found)
}

fn collect(folder: &Path, found: &mut Vec<PathBuf>) -> Result<()> {
    let entries = fs::read_dir(folder).with_context(|| format!("cannot list {}", folder.display()))?;
    for entry in entries {
        let path = entry.with_context(|| format!("cannot list {}", folder.display()))?.path();
        if path.is_dir() {
            collect(&path, found)?;
        } else {
            found.push(path);
        }
    }
    Ok(())
}

/// Reads a file; the error names it.
pub fn read(path: &Path) -> Result<Vec<u8>> {
    fs::read(path).with_context(|| format!("cannot read {}", path.display()))
}

/// Writes a file and the folders above it; the error names it.
pub fn write(path: &Path, content: impl AsRef<[u8]>) -> Result<()> {
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder).with_context(|| format!("cannot make {}", folder.display()))?;
    }
    fs::write(path, content).with_context(|| format!("cannot write {}", path.display()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(pieces: &[(&str, &str)]) -> String {
        let mut fingerprint = Fingerprint::default();
        for (name, content) in pieces {
            fingerprint.add(name, content.as_bytes());
        }
        fingerprint.finish()
    }

    #[test]
    fn a_byte_that_moves_between_pieces_changes_the_fingerprint() {
        assert_ne!(of(&[("a", "bc"), ("d", "e")]), of(&[("a", "b"), ("cd", "e")]));
        assert_ne!(of(&[("a", "b")]), of(&[("a", "b"), ("", "")]));
        assert_eq!(of(&[("a", "b")]), of(&[("a", "b")]));
    }

    #[test]
    fn a_tree_is_known_by_names_and_contents_not_by_where_it_lies() {
        let tree = |content: &str, name: &str| {
            let folder = tempfile::tempdir().unwrap();
            write(&folder.path().join("deep/er").join(name), content).unwrap();
            write(&folder.path().join("top.css"), "x").unwrap();
            Fingerprint::default().add_tree(folder.path()).unwrap().finish()
        };
        assert_eq!(tree("1", "a"), tree("1", "a"));
        assert_ne!(tree("1", "a"), tree("2", "a"));
        assert_ne!(tree("1", "a"), tree("1", "b"));
    }

    #[test]
    fn short_digests_are_twelve_hex_digits_of_sha_256() {
        // FIPS 180-4 example: SHA-256("abc") = ba7816bf 8f01cfea ...
        assert_eq!(short(b"abc"), "ba7816bf8f01");
    }
}
