//! A photo store of objects, in memory, which may be full, fail, or crash the server at a write.

use std::fmt;
use std::io;
use std::sync::Arc;

use async_trait::async_trait;
use futures::stream::BoxStream;
use object_store::memory::InMemory;
use object_store::path::Path;
use object_store::{
    CopyOptions, Error, GetOptions, GetResult, ListResult, MultipartUpload, ObjectMeta, ObjectStore,
    PutMultipartOptions, PutOptions, PutPayload, PutResult, Result, UploadPart,
};

use crate::faulty::{Mishap, Plan};

/// Objects with a process' plan of mishaps. What is stored outlives the process.
#[derive(Clone)]
pub struct Objects {
    pub inner: Arc<InMemory>,
    pub plan: Arc<Plan>,
}

impl fmt::Debug for Objects {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Objects")
    }
}

impl fmt::Display for Objects {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("objects in memory")
    }
}

fn failure(source: io::Error) -> Error {
    Error::Generic { store: "objects in memory", source: source.into() }
}

impl Plan {
    async fn over<T>(&self, work: impl Future<Output = Result<T>> + Send) -> Result<T> {
        match self.take() {
            None => work.await,
            Some(Mishap::Full) => Err(failure(io::ErrorKind::StorageFull.into())),
            Some(Mishap::FailsInside) => Err(failure(io::Error::other("as planned"))),
            Some(Mishap::CrashBefore) => self.die().await,
            Some(Mishap::CrashAfter) => {
                work.await?;
                self.die().await
            }
        }
    }
}

/// Display sizes are made beside the requests, at a time that no seed decides: nothing befalls them.
fn is_display(location: &Path) -> bool {
    location.as_ref().ends_with(".jpg")
}

#[async_trait]
impl ObjectStore for Objects {
    async fn put_opts(&self, at: &Path, payload: PutPayload, options: PutOptions) -> Result<PutResult> {
        let work = self.inner.put_opts(at, payload, options);
        if is_display(at) { work.await } else { self.plan.over(work).await }
    }

    async fn put_multipart_opts(
        &self,
        at: &Path,
        options: PutMultipartOptions,
    ) -> Result<Box<dyn MultipartUpload>> {
        let inner = self.inner.put_multipart_opts(at, options).await?;
        Ok(Box::new(Writing { inner, plan: Arc::clone(&self.plan) }))
    }

    async fn get_opts(&self, at: &Path, options: GetOptions) -> Result<GetResult> {
        self.inner.get_opts(at, options).await
    }

    fn delete_stream(&self, locations: BoxStream<'static, Result<Path>>) -> BoxStream<'static, Result<Path>> {
        self.inner.delete_stream(locations)
    }

    fn list(&self, prefix: Option<&Path>) -> BoxStream<'static, Result<ObjectMeta>> {
        self.inner.list(prefix)
    }

    async fn list_with_delimiter(&self, prefix: Option<&Path>) -> Result<ListResult> {
        self.inner.list_with_delimiter(prefix).await
    }

    async fn copy_opts(&self, from: &Path, to: &Path, options: CopyOptions) -> Result<()> {
        self.inner.copy_opts(from, to, options).await
    }
}

/// An object on its way, in parts.
#[derive(Debug)]
struct Writing {
    inner: Box<dyn MultipartUpload>,
    plan: Arc<Plan>,
}

#[async_trait]
impl MultipartUpload for Writing {
    fn put_part(&mut self, data: PutPayload) -> UploadPart {
        self.inner.put_part(data)
    }

    async fn complete(&mut self) -> Result<PutResult> {
        let Self { inner, plan } = self;
        plan.over(inner.complete()).await
    }

    async fn abort(&mut self) -> Result<()> {
        self.inner.abort().await
    }
}
