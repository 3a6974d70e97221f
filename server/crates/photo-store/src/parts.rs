//! Staging in an object store: an upload is a row of part objects named by their
//! offset. A part is put only where none is, so nothing that arrived is written over.

use std::sync::Arc;

use bytes::{Bytes, BytesMut};
use futures::{StreamExt as _, TryStreamExt as _};
use object_store::path::Path;
use object_store::{ObjectStore, ObjectStoreExt as _, PutMode, WriteMultipart};
use sha2::{Digest as _, Sha256};
use shared_types::digest::Digest;
use shared_types::ids::UploadId;

use crate::error::{PhotoError, Rejection, Result};
use crate::media::{Checked, HEAD, check};
use crate::store::{Announced, Body, Checking, Part, photo_path};

/// Bytes are put in objects of this many; the last one of a request may be smaller.
const OBJECT: usize = 4 * 1024 * 1024;

/// Uploads staged as part objects.
#[derive(Clone, Debug)]
pub struct Parts {
    store: Arc<dyn ObjectStore>,
}

/// One part object.
struct Placed {
    path: Path,
    offset: u64,
    length: u64,
}

fn folder(upload: UploadId) -> Path {
    Path::from(format!("staging/{upload}"))
}

fn place(upload: UploadId, offset: u64) -> Path {
    // As wide as the largest offset, so that names sort as offsets do.
    Path::from(format!("staging/{upload}/{offset:020}"))
}

impl Parts {
    /// Stages in this store.
    pub fn new(store: Arc<dyn ObjectStore>) -> Self {
        Self { store }
    }

    /// The parts that follow one another from the first byte on.
    async fn placed(&self, upload: UploadId) -> Result<Vec<Placed>> {
        let mut all: Vec<Placed> = self
            .store
            .list(Some(&folder(upload)))
            .map_err(PhotoError::from)
            .try_filter_map(|it| async move {
                let offset = it.location.filename().and_then(|name| name.parse().ok());
                Ok(offset.map(|offset| Placed { path: it.location, offset, length: it.size }))
            })
            .try_collect()
            .await?;
        all.sort_by_key(|it| it.offset);
        let mut end = 0;
        let contiguous = all.iter().take_while(|it| {
            let follows = it.offset == end;
            end += it.length;
            follows
        });
        let count = contiguous.count();
        all.truncate(count);
        Ok(all)
    }

    /// How many bytes of an upload have arrived.
    pub async fn staged(&self, upload: UploadId) -> Result<u64> {
        Ok(self.placed(upload).await?.iter().map(|it| it.length).sum())
    }

    /// Appends a part.
    pub async fn append(&self, part: &Part, mut body: Body<'_>) -> Result<u64> {
        let staged = self.staged(part.upload).await?;
        if staged != part.offset {
            return Err(PhotoError::WrongOffset { staged });
        }
        let mut checking = Checking::new(part);
        let mut waiting = BytesMut::new();
        let mut put = Vec::new();
        let outcome = loop {
            match body.try_next().await {
                Ok(Some(bytes)) => {
                    if let Err(error) = checking.take(&bytes) {
                        break Err(error);
                    }
                    waiting.extend_from_slice(&bytes);
                    while waiting.len() >= OBJECT {
                        let offset = checking.end() - waiting.len() as u64;
                        put.push(self.put(part.upload, offset, waiting.split_to(OBJECT).freeze()).await?);
                    }
                }
                Ok(None) => break checking.finish(),
                Err(source) => {
                    let end = checking.end();
                    self.put_rest(part.upload, end, waiting).await?;
                    return Err(PhotoError::Cut { staged: end, source });
                }
            }
        };
        match outcome {
            Ok(end) => {
                self.put_rest(part.upload, end, waiting).await?;
                Ok(end)
            }
            Err(error) => {
                for path in put {
                    self.store.delete(&path).await?;
                }
                Err(error)
            }
        }
    }

    async fn put_rest(&self, upload: UploadId, end: u64, waiting: BytesMut) -> Result<()> {
        if !waiting.is_empty() {
            let offset = end - waiting.len() as u64;
            self.put(upload, offset, waiting.freeze()).await?;
        }
        Ok(())
    }

    async fn put(&self, upload: UploadId, offset: u64, bytes: Bytes) -> Result<Path> {
        let path = place(upload, offset);
        match self.store.put_opts(&path, bytes.into(), PutMode::Create.into()).await {
            Ok(_) => Ok(path),
            // Another request was here first.
            Err(object_store::Error::AlreadyExists { .. }) => Err(PhotoError::Busy),
            Err(error) => Err(error.into()),
        }
    }

    /// Checks an upload and keeps it as a photo. Repeatable until it is discarded, and after.
    pub async fn finish(&self, announced: Announced) -> Result<Checked> {
        let kept = Path::from(photo_path(announced.shop, announced.digest));
        let is_kept = match self.store.head(&kept).await {
            Ok(_) => true,
            Err(object_store::Error::NotFound { .. }) => false,
            Err(error) => return Err(error.into()),
        };
        let placed = self.placed(announced.upload).await?;
        let staged: u64 = placed.iter().map(|it| it.length).sum();
        if placed.is_empty() && is_kept {
            let head = self.store.get_range(&kept, 0..HEAD as u64).await?;
            return Ok(check(&head)?);
        }
        if staged < announced.length {
            return Err(PhotoError::Incomplete { staged, length: announced.length });
        }
        if is_kept {
            let (head, found) = self.read(&placed, None).await?;
            return judge(&head, found, &announced);
        }
        let mut writing = WriteMultipart::new(self.store.put_multipart(&kept).await?);
        let judged = match self.read(&placed, Some(&mut writing)).await {
            Ok((head, found)) => judge(&head, found, &announced),
            Err(error) => Err(error),
        };
        // Only now it becomes visible, whole.
        match judged {
            Ok(checked) => {
                writing.finish().await?;
                Ok(checked)
            }
            Err(error) => {
                writing.abort().await?;
                Err(error)
            }
        }
    }

    /// Reads the parts in order: the first bytes and the digest of all; copies them on the way.
    async fn read(
        &self,
        placed: &[Placed],
        mut copy: Option<&mut WriteMultipart>,
    ) -> Result<(Vec<u8>, Digest)> {
        let mut head = Vec::new();
        let mut hash = Sha256::new();
        for it in placed {
            let mut bytes = self.store.get(&it.path).await?.into_stream();
            while let Some(bytes) = bytes.try_next().await? {
                hash.update(&bytes);
                head.extend_from_slice(&bytes[..bytes.len().min(HEAD - head.len())]);
                if let Some(writing) = &mut copy {
                    writing.wait_for_capacity(2).await?;
                    writing.put(bytes);
                }
            }
        }
        let digest: [u8; 32] = hash.finalize().into();
        Ok((head, digest.into()))
    }

    /// Forgets an upload's staged bytes.
    pub async fn discard(&self, upload: UploadId) -> Result<()> {
        let paths = self.store.list(Some(&folder(upload))).map_ok(|it| it.location).boxed();
        let deleted: Vec<_> = self.store.delete_stream(paths).collect().await;
        for outcome in deleted {
            match outcome {
                Ok(_) | Err(object_store::Error::NotFound { .. }) => {}
                Err(error) => return Err(error.into()),
            }
        }
        Ok(())
    }

    /// Uploads with staged bytes.
    pub async fn uploads(&self) -> Result<Vec<UploadId>> {
        let staging = self.store.list_with_delimiter(Some(&Path::from("staging"))).await?;
        let names = staging.common_prefixes.iter().filter_map(|path| path.filename()?.parse().ok());
        Ok(names.collect())
    }
}

fn judge(head: &[u8], found: Digest, announced: &Announced) -> Result<Checked> {
    if found != announced.digest {
        return Err(Rejection::WrongDigest { found }.into());
    }
    Ok(check(head)?)
}
