//! Staging in a folder: each upload is one file that grows. Durability costs one
//! wait for the disk per photo, when it is finished, not one per part.

use std::collections::HashSet;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use futures::TryStreamExt as _;
use sha2::{Digest as _, Sha256};
use shared_types::digest::Digest;
use shared_types::ids::{ShopId, UploadId};
use tokio::io::{AsyncWriteExt as _, BufWriter};
use uuid::Uuid;

use crate::error::{PhotoError, Rejection, Result};
use crate::media::{Checked, HEAD, check};
use crate::store::{Announced, Body, Checking, Part, photo_path, shop_path};

const BUFFER: usize = 256 * 1024;
/// What a file that is being put begins with; a crash may leave one behind.
const PUTTING: &str = "put-";
/// After this long nobody is still putting it.
const FORGOTTEN: Duration = Duration::from_secs(3600);

/// A folder with `staging` and `photos` in it, on one file system.
#[derive(Clone, Debug)]
pub struct Files {
    root: PathBuf,
    /// Shops whose folders are there, durably.
    shops: Arc<Mutex<HashSet<ShopId>>>,
}

impl Files {
    /// Makes the folders.
    pub fn open(root: &Path) -> Result<Self> {
        let files = Self { root: root.to_owned(), shops: Arc::default() };
        make_dir(&files.staging())?;
        make_dir(&files.photos())?;
        Ok(files)
    }

    fn photos(&self) -> PathBuf {
        self.root.join("photos")
    }

    fn staging(&self) -> PathBuf {
        self.root.join("staging")
    }

    fn staged_file(&self, upload: UploadId) -> PathBuf {
        self.staging().join(upload.to_string())
    }

    /// How many bytes of an upload have arrived.
    pub async fn staged(&self, upload: UploadId) -> Result<u64> {
        match tokio::fs::metadata(self.staged_file(upload)).await {
            Ok(metadata) => Ok(metadata.len()),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(0),
            Err(error) => Err(error.into()),
        }
    }

    /// Appends a part. The file is locked meanwhile, across processes: two requests
    /// for the same upload never write into each other, nor beside a finish.
    pub async fn append(&self, part: &Part, mut body: Body<'_>) -> Result<u64> {
        let path = self.staged_file(part.upload);
        let open = move || lock(OpenOptions::new().append(true).create(true).open(path)?);
        let file = tokio::task::spawn_blocking(open).await??;
        let staged = file.metadata()?.len();
        if staged != part.offset {
            return Err(PhotoError::WrongOffset { staged });
        }
        let mut file = BufWriter::with_capacity(BUFFER, tokio::fs::File::from_std(file));
        let mut checking = Checking::new(part);
        loop {
            match body.try_next().await {
                Ok(Some(bytes)) => {
                    if let Err(error) = checking.take(&bytes) {
                        return undo(file, part.offset, error).await;
                    }
                    file.write_all(&bytes).await?;
                }
                Ok(None) => break,
                Err(source) => {
                    file.flush().await?;
                    return Err(PhotoError::Cut { staged: checking.end(), source });
                }
            }
        }
        match checking.finish() {
            Ok(end) => {
                file.flush().await?;
                Ok(end)
            }
            Err(error) => undo(file, part.offset, error).await,
        }
    }

    /// Checks an upload and keeps it as a photo. Repeatable until it is discarded, and after.
    pub async fn finish(&self, announced: Announced) -> Result<Checked> {
        let files = self.clone();
        tokio::task::spawn_blocking(move || files.finish_now(&announced)).await?
    }

    fn finish_now(&self, announced: &Announced) -> Result<Checked> {
        let kept = self.root.join(photo_path(announced.shop, announced.digest));
        let staged_file = self.staged_file(announced.upload);
        let file = match File::open(&staged_file) {
            Ok(file) => lock(file)?,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return check_kept(&kept, announced),
            Err(error) => return Err(error.into()),
        };
        let staged = file.metadata()?.len();
        if staged < announced.length {
            return Err(PhotoError::Incomplete { staged, length: announced.length });
        }
        let (head, found) = read(&file)?;
        if found != announced.digest {
            return Err(Rejection::WrongDigest { found }.into());
        }
        let checked = check(&head)?;
        sync_staged(&file, &staged_file)?;
        self.make_folders(announced.shop)?;
        link(&staged_file, &kept)?;
        Ok(checked)
    }

    /// A shop's folders are all made with its first photo: one wait for the disk, not one for each of
    /// 256. Who comes meanwhile waits too, since a photo is durable only once its folder is.
    fn make_folders(&self, shop: ShopId) -> io::Result<()> {
        let mut made = self.shops.lock().unwrap_or_else(PoisonError::into_inner);
        if made.contains(&shop) {
            return Ok(());
        }
        let above = self.root.join(shop_path(shop));
        create_dir(&above)?;
        for first_byte in 0..=u8::MAX {
            create_dir(&above.join(format!("{first_byte:02x}")))?;
        }
        sync_dir(&above)?;
        sync_dir(&self.photos())?;
        made.insert(shop);
        Ok(())
    }

    /// Forgets an upload's staged bytes.
    pub async fn discard(&self, upload: UploadId) -> Result<()> {
        match tokio::fs::remove_file(self.staged_file(upload)).await {
            Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error.into()),
            _ => Ok(()),
        }
    }

    /// Uploads with staged bytes. Removes what a crash left of files being put.
    pub async fn uploads(&self) -> Result<Vec<UploadId>> {
        let staging = self.staging();
        tokio::task::spawn_blocking(move || {
            let mut uploads = Vec::new();
            for entry in fs::read_dir(staging)? {
                let entry = entry?;
                let name = entry.file_name();
                let name = name.to_string_lossy();
                if let Ok(upload) = name.parse() {
                    uploads.push(upload);
                } else if name.starts_with(PUTTING) && is_forgotten(&entry)? {
                    fs::remove_file(entry.path())?;
                }
            }
            Ok(uploads)
        })
        .await?
    }

    /// Puts a whole object in its place, durably: there before and whole, or not at all.
    pub async fn put(&self, path: &str, bytes: bytes::Bytes) -> Result<()> {
        let temporary = self.staging().join(format!("{PUTTING}{}", Uuid::now_v7()));
        let place = self.root.join(path);
        tokio::task::spawn_blocking(move || {
            let written = write_new(&temporary, &bytes).and_then(|()| {
                let folder = place.parent().unwrap_or(Path::new("."));
                make_dir(folder)?;
                fs::rename(&temporary, &place)?;
                sync_dir(folder)
            });
            if written.is_err() {
                // Best effort: what stays behind is removed by `uploads` later.
                let _ = fs::remove_file(&temporary);
            }
            Ok(written?)
        })
        .await?
    }
}

/// Takes a part back: what it wrote is cut off again.
async fn undo(file: BufWriter<tokio::fs::File>, offset: u64, why: PhotoError) -> Result<u64> {
    // `into_inner` drops what was not written yet; what was is cut off.
    let mut file = file.into_inner();
    file.flush().await?;
    file.set_len(offset).await?;
    Err(why)
}

/// Makes a staged file's bytes durable. Once that has failed, asking again would be answered with yes
/// without another try (fsync(2), "Linux"): the bytes are given up, and their sender sends them anew.
fn sync_staged(file: &File, path: &Path) -> io::Result<()> {
    file.sync_all().or_else(|failed| {
        fs::remove_file(path)?;
        Err(failed)
    })
}

/// Locks a file until it is closed.
fn lock(file: File) -> Result<File> {
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => Err(PhotoError::Busy),
        Err(TryLockError::Error(error)) => Err(error.into()),
    }
}

/// Nothing is staged: done already, if the photo is there.
fn check_kept(kept: &Path, announced: &Announced) -> Result<Checked> {
    let incomplete = PhotoError::Incomplete { staged: 0, length: announced.length };
    let mut file = match File::open(kept) {
        Ok(file) => file,
        Err(error) if error.kind() == io::ErrorKind::NotFound && announced.length > 0 => {
            return Err(incomplete);
        }
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Err(Rejection::NotAPhoto.into()),
        Err(error) => return Err(error.into()),
    };
    let mut head = Vec::new();
    (&mut file).take(HEAD as u64).read_to_end(&mut head)?;
    Ok(check(&head)?)
}

/// A file's first bytes and the digest of all.
fn read(mut file: &File) -> io::Result<(Vec<u8>, Digest)> {
    let mut head = Vec::new();
    let mut hash = Sha256::new();
    let mut buffer = vec![0; BUFFER];
    loop {
        let count = file.read(&mut buffer)?;
        if count == 0 {
            let digest: [u8; 32] = hash.finalize().into();
            return Ok((head, digest.into()));
        }
        let bytes = &buffer[..count];
        hash.update(bytes);
        head.extend_from_slice(&bytes[..count.min(HEAD - head.len())]);
    }
}

/// Gives a staged file its name among the photos, durably. The staged name stays until
/// the upload is discarded, so that a crash in between loses nothing.
fn link(staged: &Path, kept: &Path) -> io::Result<()> {
    let folder = kept.parent().unwrap_or(Path::new("."));
    make_dir(folder)?;
    match fs::hard_link(staged, kept) {
        Ok(()) => {}
        // Someone else's upload of the same photo, or ours before a crash: whole and checked.
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
        Err(error) if cannot_link(&error) => {
            let copy = staged.with_file_name(format!("{PUTTING}{}", Uuid::now_v7()));
            fs::copy(staged, &copy)?;
            File::open(&copy)?.sync_all()?;
            fs::rename(&copy, kept)?;
        }
        Err(error) => return Err(error),
    }
    sync_dir(folder)
}

/// Some file systems have no hard links.
fn cannot_link(error: &io::Error) -> bool {
    matches!(error.kind(), io::ErrorKind::Unsupported | io::ErrorKind::PermissionDenied)
}

fn write_new(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = File::create_new(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

fn is_forgotten(entry: &fs::DirEntry) -> io::Result<bool> {
    let age = entry.metadata()?.modified()?.elapsed();
    Ok(age.is_ok_and(|age| age > FORGOTTEN))
}

/// Makes a folder and those above it, durably.
fn make_dir(path: &Path) -> io::Result<()> {
    if path.as_os_str().is_empty() || path.is_dir() {
        return Ok(());
    }
    let above = path.parent().unwrap_or(Path::new("."));
    make_dir(above)?;
    create_dir(path)?;
    sync_dir(above)
}

/// Makes a folder unless it is there.
fn create_dir(path: &Path) -> io::Result<()> {
    match fs::create_dir(path) {
        Err(error) if error.kind() != io::ErrorKind::AlreadyExists => Err(error),
        _ => Ok(()),
    }
}

/// Makes names in a folder durable.
fn sync_dir(path: &Path) -> io::Result<()> {
    let path = if path.as_os_str().is_empty() { Path::new(".") } else { path };
    File::open(path)?.sync_all()
}
