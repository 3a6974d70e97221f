//! The photo store's interface.

use std::error::Error;
use std::ops::Range;
use std::path::Path as FilePath;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use bytes::Bytes;
use futures::stream::BoxStream;
use futures::{Stream, StreamExt as _, TryStreamExt as _};
use object_store::aws::AmazonS3Builder;
use object_store::local::LocalFileSystem;
use object_store::memory::InMemory;
use object_store::path::Path;
use object_store::prefix::PrefixStore;
use object_store::{GetOptions, GetRange, ObjectStore, ObjectStoreExt as _};
use sha1::Sha1;
use sha2::{Digest as _, Sha256};
use shared_types::digest::Digest;
use shared_types::ids::{ShopId, UploadId};
use tokio::sync::Semaphore;
use tokio::time::Instant;

use crate::error::{PhotoError, Rejection, Result};
use crate::files::Files;
use crate::media::{Checked, check};
use crate::parts::Parts;
use crate::picture::{PictureSize, displays};

/// How many pictures are decoded at once: each takes a core and up to some hundred megabytes.
const DECODERS: usize = 1;
/// So long after the last part there is time for display sizes.
const CALM: Duration = Duration::from_millis(500);
/// How long display sizes wait for that at most.
const LONGEST_WAIT: Duration = Duration::from_secs(60);

/// The bytes of a part as they arrive.
pub(crate) type Body<'a> = BoxStream<'a, Result<Bytes, Box<dyn Error + Send + Sync>>>;

/// A part of an upload.
#[derive(Clone, Copy, Debug)]
pub struct Part {
    /// Of which upload.
    pub upload: UploadId,
    /// Where it begins: exactly where the bytes so far end.
    pub offset: u64,
    /// The upload's whole length as announced.
    pub length: u64,
    /// What the part must match, if its sender said.
    pub checksum: Option<Checksum>,
}

/// A part's checksum.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Checksum {
    /// SHA-1: the one that tus 1.0 asks every server to know. Against accidents, not against people.
    Sha1([u8; 20]),
    /// SHA-256.
    Sha256([u8; 32]),
}

/// What an upload announced.
#[derive(Clone, Copy, Debug)]
pub struct Announced {
    /// The upload.
    pub upload: UploadId,
    /// For which shop.
    pub shop: ShopId,
    /// The photo's digest.
    pub digest: Digest,
    /// The photo's length in bytes.
    pub length: u64,
}

/// A picture to be sent.
pub struct Picture {
    /// The length of the whole picture in bytes.
    pub length: u64,
    /// Which bytes of it follow.
    pub range: Range<u64>,
    /// The bytes.
    pub bytes: BoxStream<'static, Result<Bytes>>,
}

/// Where a shop's photos are kept, each in a folder named by its digest's first byte.
pub(crate) fn shop_path(shop: ShopId) -> String {
    format!("photos/{shop}")
}

/// Where a photo is kept.
pub(crate) fn photo_path(shop: ShopId, digest: Digest) -> String {
    let digest = digest.to_string();
    format!("{}/{}/{digest}", shop_path(shop), &digest[..2])
}

/// The photo store. A clone is the same store.
#[derive(Clone)]
pub struct PhotoStore {
    objects: Arc<dyn ObjectStore>,
    staging: Staging,
    decoders: Arc<Semaphore>,
    last_part: Arc<Mutex<Option<Instant>>>,
}

#[derive(Clone)]
enum Staging {
    Files(Files),
    Parts(Parts),
}

impl PhotoStore {
    /// Opens a store: `file://FOLDER` (made when absent), `s3://BUCKET[/PREFIX]` (with the usual
    /// `AWS_…` variables) or `memory://` for tests.
    ///
    /// # Errors
    /// When the URL is of another kind, or the folder can't be made.
    pub fn open(url: &str) -> Result<Self> {
        match url.split_once("://") {
            Some(("file", folder)) if !folder.is_empty() => Self::in_folder(FilePath::new(folder)),
            Some(("s3", bucket)) if !bucket.is_empty() => Self::in_bucket(bucket),
            Some(("memory", "")) => Ok(Self::over(Arc::new(InMemory::new()))),
            _ => Err(PhotoError::Unavailable(
                "a photo store's address is file://FOLDER, s3://BUCKET or memory://".to_owned(),
            )),
        }
    }

    fn in_folder(folder: &FilePath) -> Result<Self> {
        let files = Files::open(folder)?;
        let objects = LocalFileSystem::new_with_prefix(folder)?;
        Ok(Self::new(Arc::new(objects), Staging::Files(files)))
    }

    fn in_bucket(address: &str) -> Result<Self> {
        let (bucket, prefix) = address.split_once('/').unwrap_or((address, ""));
        let s3 = AmazonS3Builder::from_env().with_bucket_name(bucket).build()?;
        Ok(match prefix.trim_matches('/') {
            "" => Self::over(Arc::new(s3)),
            prefix => Self::over(Arc::new(PrefixStore::new(s3, prefix))),
        })
    }

    /// A store over objects of any kind: what has no address, a test's for instance.
    #[must_use]
    pub fn over(objects: Arc<dyn ObjectStore>) -> Self {
        let staging = Staging::Parts(Parts::new(Arc::clone(&objects)));
        Self::new(objects, staging)
    }

    fn new(objects: Arc<dyn ObjectStore>, staging: Staging) -> Self {
        Self { objects, staging, decoders: Arc::new(Semaphore::new(DECODERS)), last_part: Arc::default() }
    }

    /// Can the store be reached and read?
    ///
    /// # Errors
    /// When it can't.
    pub async fn ready(&self) -> Result<()> {
        match self.objects.head(&Path::from("photos/ready")).await {
            Ok(_) | Err(object_store::Error::NotFound { .. }) => Ok(()),
            Err(error) => Err(error.into()),
        }
    }

    /// How many bytes of an upload have arrived; 0 when none have.
    ///
    /// # Errors
    /// When the store can't be read.
    pub async fn staged(&self, upload: UploadId) -> Result<u64> {
        match &self.staging {
            Staging::Files(files) => files.staged(upload).await,
            Staging::Parts(parts) => parts.staged(upload).await,
        }
    }

    /// Appends a part to an upload as its bytes arrive; gives how many bytes have arrived in all.
    ///
    /// A part that breaks off is kept as far as it came.
    ///
    /// # Errors
    /// [`PhotoError::WrongOffset`], [`PhotoError::Busy`]; [`PhotoError::Cut`] when the body breaks
    /// off; [`PhotoError::TooLong`] and [`PhotoError::ChecksumMismatch`], and the part is not kept then.
    pub async fn append<E: Into<Box<dyn Error + Send + Sync>>>(
        &self,
        part: &Part,
        body: impl Stream<Item = Result<Bytes, E>> + Send,
    ) -> Result<u64> {
        let body = body.map_err(Into::into).boxed();
        let appended = match &self.staging {
            Staging::Files(files) => files.append(part, body).await,
            Staging::Parts(parts) => parts.append(part, body).await,
        };
        *self.last_part.lock().unwrap_or_else(PoisonError::into_inner) = Some(Instant::now());
        appended
    }

    /// Checks an upload whose bytes are all there, and keeps it as a photo, durably.
    ///
    /// The staged bytes stay until [`PhotoStore::discard`], which belongs after the photo's
    /// particulars were noted: so whatever crashes in between, finishing again completes it.
    ///
    /// # Errors
    /// [`PhotoError::Incomplete`]; [`PhotoError::Rejected`] when the bytes are not what was
    /// announced or not a photo; nothing is kept then.
    pub async fn finish(&self, announced: Announced) -> Result<Checked> {
        match &self.staging {
            Staging::Files(files) => files.finish(announced).await,
            Staging::Parts(parts) => parts.finish(announced).await,
        }
    }

    /// Forgets an upload's staged bytes. Repeatable.
    ///
    /// # Errors
    /// When the store can't be written.
    pub async fn discard(&self, upload: UploadId) -> Result<()> {
        match &self.staging {
            Staging::Files(files) => files.discard(upload).await,
            Staging::Parts(parts) => parts.discard(upload).await,
        }
    }

    /// Uploads with staged bytes, for a sweeper to hold against what is known of them.
    ///
    /// # Errors
    /// When the store can't be read.
    pub async fn uploads(&self) -> Result<Vec<UploadId>> {
        match &self.staging {
            Staging::Files(files) => files.uploads().await,
            Staging::Parts(parts) => parts.uploads().await,
        }
    }

    /// Keeps a photo that is at hand whole (a demo's, a backup's), after the same checks.
    ///
    /// # Errors
    /// [`PhotoError::Rejected`] when it has another digest or is not a photo.
    pub async fn add(&self, shop: ShopId, digest: Digest, bytes: Bytes) -> Result<Checked> {
        let found = Digest::of(&bytes);
        if found != digest {
            return Err(Rejection::WrongDigest { found }.into());
        }
        let checked = check(&bytes)?;
        self.put(&photo_path(shop, digest), bytes).await?;
        Ok(checked)
    }

    async fn put(&self, path: &str, bytes: Bytes) -> Result<()> {
        match &self.staging {
            Staging::Files(files) => files.put(path, bytes).await,
            Staging::Parts(_) => {
                self.objects.put(&Path::from(path), bytes.into()).await?;
                Ok(())
            }
        }
    }

    /// Is the original there?
    ///
    /// # Errors
    /// When the store can't be read.
    pub async fn holds(&self, shop: ShopId, digest: Digest) -> Result<bool> {
        self.exists(&photo_path(shop, digest)).await
    }

    async fn exists(&self, path: &str) -> Result<bool> {
        match self.objects.head(&Path::from(path)).await {
            Ok(_) => Ok(true),
            Err(object_store::Error::NotFound { .. }) => Ok(false),
            Err(error) => Err(error.into()),
        }
    }

    /// A photo in a size, or some of its bytes. A display size that isn't there yet is made first.
    ///
    /// # Errors
    /// [`PhotoError::NotFound`]; [`PhotoError::CannotDecode`] when there is no display size to be had.
    pub async fn picture(
        &self,
        shop: ShopId,
        digest: Digest,
        size: PictureSize,
        range: Option<Range<u64>>,
    ) -> Result<Picture> {
        let path = Path::from(photo_path(shop, digest) + size.suffix());
        match self.open_picture(&path, range.clone()).await {
            Err(PhotoError::NotFound) if size != PictureSize::Original => {
                self.make_displays(shop, digest).await?;
                self.open_picture(&path, range).await
            }
            outcome => outcome,
        }
    }

    async fn open_picture(&self, path: &Path, range: Option<Range<u64>>) -> Result<Picture> {
        let options = GetOptions { range: range.map(GetRange::Bounded), ..GetOptions::default() };
        let found = self.objects.get_opts(path, options).await?;
        let (length, range) = (found.meta.size, found.range.clone());
        Ok(Picture { length, range, bytes: found.into_stream().map_err(PhotoError::from).boxed() })
    }

    /// Makes a photo's display sizes once no parts come any more: until its last photo has arrived a
    /// phone holds bytes that nobody else has, and decoding would take a core from them. Whoever
    /// wants to see the photo earlier has its sizes made at once, by [`PhotoStore::picture`].
    ///
    /// # Errors
    /// As [`PhotoStore::make_displays`].
    pub async fn make_displays_later(&self, shop: ShopId, digest: Digest) -> Result<()> {
        let latest = Instant::now() + LONGEST_WAIT;
        while let Some(calm) = self.calm_at().filter(|calm| *calm > Instant::now() && *calm < latest) {
            tokio::time::sleep_until(calm).await;
        }
        self.make_displays(shop, digest).await
    }

    /// When it is calm if no more parts come.
    fn calm_at(&self) -> Option<Instant> {
        let last = *self.last_part.lock().unwrap_or_else(PoisonError::into_inner);
        last.map(|last| last + CALM)
    }

    /// Makes a photo's display sizes unless they are there.
    ///
    /// # Errors
    /// [`PhotoError::NotFound`]; [`PhotoError::CannotDecode`] for HEIC, AVIF and damaged pictures.
    pub async fn make_displays(&self, shop: ShopId, digest: Digest) -> Result<()> {
        let path = photo_path(shop, digest);
        let [thumb, print, screen] = [PictureSize::Thumb, PictureSize::Print, PictureSize::Screen]
            .map(|size| path.clone() + size.suffix());
        let _turn =
            self.decoders.acquire().await.map_err(|error| PhotoError::Unavailable(error.to_string()))?;
        if self.exists(&thumb).await? && self.exists(&print).await? && self.exists(&screen).await? {
            return Ok(());
        }
        let original = self.objects.get(&Path::from(path)).await?.bytes().await?;
        let made = tokio::task::spawn_blocking(move || displays(&original)).await??;
        self.put(&screen, made.screen.into()).await?;
        self.put(&print, made.print.into()).await?;
        self.put(&thumb, made.thumb.into()).await
    }
}

/// What is checked of a part while its bytes pass by.
pub(crate) struct Checking {
    end: u64,
    length: u64,
    checksum: Option<Running>,
}

enum Running {
    Sha1(Sha1, [u8; 20]),
    Sha256(Sha256, [u8; 32]),
}

impl Checking {
    pub(crate) fn new(part: &Part) -> Self {
        let checksum = part.checksum.map(|checksum| match checksum {
            Checksum::Sha1(wanted) => Running::Sha1(Sha1::new(), wanted),
            Checksum::Sha256(wanted) => Running::Sha256(Sha256::new(), wanted),
        });
        Self { end: part.offset, length: part.length, checksum }
    }

    /// Takes note of some bytes.
    pub(crate) fn take(&mut self, bytes: &[u8]) -> Result<()> {
        self.end += bytes.len() as u64;
        if self.end > self.length {
            return Err(PhotoError::TooLong { length: self.length });
        }
        match &mut self.checksum {
            Some(Running::Sha1(hash, _)) => hash.update(bytes),
            Some(Running::Sha256(hash, _)) => hash.update(bytes),
            None => {}
        }
        Ok(())
    }

    /// Where the bytes so far end.
    pub(crate) const fn end(&self) -> u64 {
        self.end
    }

    /// Judges the whole part; gives where it ends.
    pub(crate) fn finish(self) -> Result<u64> {
        let matches = match self.checksum {
            Some(Running::Sha1(hash, wanted)) => hash.finalize().as_slice() == wanted,
            Some(Running::Sha256(hash, wanted)) => hash.finalize().as_slice() == wanted,
            None => true,
        };
        if matches { Ok(self.end) } else { Err(PhotoError::ChecksumMismatch) }
    }
}
