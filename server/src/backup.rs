//! A backup: everything the server holds in one file, whichever database and photo store it is on.
//!
//! A zip of `database.jsonl` (the store's own dump, as of one moment), `photos/SHOP/DIGEST`
//! (originals; display sizes are made anew), `secret` and `keys/…`, unless those are kept elsewhere.

use std::fs::{self, File};
use std::io::{self, BufReader, BufWriter, Read as _, Write as _};
use std::path::{Path, PathBuf};

use bytes::Bytes;
use photo_store::{PhotoStore, PictureSize};
use shared_types::digest::Digest;
use shared_types::ids::ShopId;
use tempfile::NamedTempFile;
use tokio::io::AsyncWriteExt as _;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

use crate::auth::keyring;
use crate::auth::secret::write_private;
use crate::deps::Stores;
use crate::fault::Fault;
use crate::usecases::read_photo::whole_picture;

const DATABASE: &str = "database.jsonl";
const PHOTOS: &str = "photos/";
const SECRET: &str = "secret";
const KEYS: &str = "keys/";

/// What only the server may know, where it is ours to back up.
#[derive(Clone, Copy, Debug, Default)]
pub struct Private<'a> {
    /// The secret's file.
    pub secret: Option<&'a Path>,
    /// The folder with the server's keys.
    pub keys: Option<&'a Path>,
}

/// Why there is no backup, or nothing was restored.
#[derive(Debug, thiserror::Error)]
pub enum BackupError {
    /// A file can't be read or written.
    #[error("a file can't be read or written")]
    File(#[from] io::Error),
    /// The backup is there already: it is not written over.
    #[error("{0} is there already")]
    Exists(PathBuf),
    /// The backup is damaged, or no backup.
    #[error("not a backup, or a damaged one: {0}")]
    Damaged(String),
    /// The zip file can't be read or written.
    #[error("the zip file can't be read or written")]
    Zip(#[from] zip::result::ZipError),
    /// The database refuses.
    #[error("the database refuses")]
    Storage(#[from] storage::StoreError),
    /// The photo store refuses.
    #[error("the photo store refuses")]
    Photos(#[from] photo_store::PhotoError),
    /// A photo can't be read.
    #[error("a photo can't be read")]
    Photo(#[from] Fault),
}

/// How much went into a backup, or came out of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Moved {
    /// Rows of the database.
    pub rows: u64,
    /// Photos.
    pub photos: u64,
}

/// Writes a backup. Only its owner may read the file.
///
/// # Errors
/// When a store can't be read or the file can't be written.
pub async fn write(stores: &Stores, private: Private<'_>, out: &Path) -> Result<Moved, BackupError> {
    if out.exists() {
        return Err(BackupError::Exists(out.to_owned()));
    }
    let folder = out.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    // Both are private to their owner until they get their name, and go away if we fail.
    let dump = NamedTempFile::new_in(folder)?;
    let part = NamedTempFile::new_in(folder)?;
    let mut dumping = tokio::fs::File::from_std(dump.reopen()?);
    let rows = stores.storage.dump(&mut dumping).await?;
    dumping.flush().await?;

    let mut zip = ZipWriter::new(BufWriter::new(part.reopen()?));
    let packed =
        SimpleFileOptions::default().compression_method(CompressionMethod::Deflated).large_file(true);
    zip.start_file(DATABASE, packed)?;
    io::copy(&mut BufReader::new(dump.reopen()?), &mut zip)?;
    if let Some(secret) = private.secret {
        zip.start_file(SECRET, packed)?;
        zip.write_all(&fs::read(secret)?)?;
    }
    if let Some(keys) = private.keys.filter(|keys| keys.exists()) {
        for file in fs::read_dir(keys)? {
            let file = file?;
            if let Some(name) = file.file_name().to_str().filter(|name| keyring::is_file_of_ours(name)) {
                zip.start_file(format!("{KEYS}{name}"), packed)?;
                zip.write_all(&fs::read(file.path())?)?;
            }
        }
    }
    let mut photos = 0;
    let as_is = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
    for (shop, photo) in stores.storage.all_photos().await? {
        let bytes = whole_picture(&stores.photos, shop, photo.digest, PictureSize::Original).await?;
        zip.start_file(format!("{PHOTOS}{shop}/{}", photo.digest), as_is)?;
        zip.write_all(&bytes)?;
        photos += 1;
    }
    let file = zip.finish()?.into_inner().map_err(io::IntoInnerError::into_error)?;
    file.sync_all()?;
    part.persist_noclobber(out).map_err(|error| error.error)?;
    Ok(Moved { rows, photos })
}

/// Reads a backup into a new database. Photos that are there already stay.
///
/// # Errors
/// When the backup is damaged, the database is not empty, or another secret is there already.
pub async fn read(
    backup: &Path,
    database: &str,
    photos: &PhotoStore,
    secret_file: &Path,
    keys: &Path,
) -> Result<Moved, BackupError> {
    let mut archive = ZipArchive::new(BufReader::new(File::open(backup)?))?;
    // Keys that are there already are later ones, or another server's: they stay.
    if !keyring::is_there(keys) {
        restore_keys(&mut archive, keys)?;
    }
    if let Some(secret) = read_small(&mut archive, SECRET)? {
        restore_private(&secret, secret_file)?;
    }
    let mut count = 0;
    for index in 0..archive.len() {
        let Some((shop, digest)) = photo_name(&archive.by_index(index)?.name()?) else { continue };
        let mut bytes = Vec::new();
        archive.by_index(index)?.take(shared_types::check::MAX_PHOTO_BYTES + 1).read_to_end(&mut bytes)?;
        // Checks the digest: a damaged photo is not restored in silence.
        photos.add(shop, digest, Bytes::from(bytes)).await?;
        count += 1;
    }
    // The database last: with it, everything is there.
    let dump = NamedTempFile::new()?;
    match archive.by_name(DATABASE) {
        Ok(mut entry) => drop(io::copy(&mut entry, &mut dump.reopen()?)?),
        Err(error) => return Err(BackupError::Damaged(format!("{DATABASE}: {error}"))),
    }
    let mut dump = tokio::io::BufReader::new(tokio::fs::File::from_std(dump.reopen()?));
    let restored = storage::restore(database, &mut dump).await?;
    Ok(Moved { rows: restored.rows, photos: count })
}

fn read_small(archive: &mut ZipArchive<BufReader<File>>, name: &str) -> Result<Option<Vec<u8>>, BackupError> {
    match archive.by_name(name) {
        Ok(entry) => {
            let mut content = Vec::new();
            entry.take(64 * 1024).read_to_end(&mut content)?;
            Ok(Some(content))
        }
        Err(zip::result::ZipError::FileNotFound) => Ok(None),
        Err(error) => Err(error.into()),
    }
}

fn restore_private(content: &[u8], file: &Path) -> Result<(), BackupError> {
    match fs::read(file) {
        Ok(there) if there == content => Ok(()),
        Ok(_) => Err(BackupError::Exists(file.to_owned())),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(write_private(file, content)?),
        Err(error) => Err(error.into()),
    }
}

fn restore_keys(archive: &mut ZipArchive<BufReader<File>>, folder: &Path) -> Result<(), BackupError> {
    for index in 0..archive.len() {
        let name = archive.by_index(index)?.name()?.into_owned();
        let Some(file) = name.strip_prefix(KEYS).filter(|file| keyring::is_file_of_ours(file)) else {
            continue;
        };
        if let Some(content) = read_small(archive, &name)? {
            restore_private(&content, &folder.join(file))?;
        }
    }
    Ok(())
}

/// `photos/SHOP/DIGEST`; anything else is not ours to unpack.
fn photo_name(name: &str) -> Option<(ShopId, Digest)> {
    let (shop, digest) = name.strip_prefix(PHOTOS)?.split_once('/')?;
    Some((shop.parse().ok()?, digest.parse().ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_photos_of_ours_are_unpacked() {
        let (shop, digest) = (ShopId(uuid::Uuid::from_u128(1)), Digest::of(b"photo"));
        assert_eq!(photo_name(&format!("photos/{shop}/{digest}")), Some((shop, digest)));
        for name in ["photos/../../etc/passwd", "photos/x", "database.jsonl", "/photos/a/b", ""] {
            assert_eq!(photo_name(name), None, "{name}");
        }
    }
}
