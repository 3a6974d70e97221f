//! `shops/{shop}/jobs/{job}/bundle.zip`: a job as one file that anyone can verify offline.

use axum::body::Body;
use axum::extract::State;
use axum::http::header::{CACHE_CONTROL, CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse as _, Response};
use futures::TryStreamExt as _;
use serde::Deserialize;
use shared_types::ids::{JobId, LogId, ShopId};

use crate::bundle::contents::Contents;
use crate::bundle::pack;
use crate::deps::Shared;
use crate::fault::chain;
use crate::http::error::ApiResult;
use crate::http::extract::Path;
use crate::http::guard::Member;

#[derive(Clone, Copy, Deserialize)]
pub struct BundlePath {
    shop: ShopId,
    job: JobId,
}

/// The bundle, packed while it is sent: a photo at a time is in memory.
pub async fn download(
    State(deps): State<Shared>,
    _: Member,
    Path(path): Path<BundlePath>,
) -> ApiResult<Response> {
    let log = LogId::Job(path.shop, path.job);
    let (storage, now) = (deps.storage.as_ref(), deps.clock.now());
    let record = deps.printer.print(storage, &deps.photos, &deps.keys, log, now).await?;
    let contents = Contents::gather(storage, &deps.keys, log, now).await?;
    let pieces = pack::pieces(deps.photos.clone(), &contents, record, now.to_string())?;
    // The answer has begun by then: whoever reads it sees it break off, and the log says why.
    let pieces = pieces.inspect_err(|fault| tracing::error!(cause = chain(fault), "bundle.broke_off"));
    let name = format!("attachment; filename=\"job-{}.zip\"", path.job);
    let headers = [
        (CONTENT_TYPE, "application/zip"),
        (CONTENT_DISPOSITION, name.as_str()),
        (CACHE_CONTROL, "no-store"),
    ];
    Ok((headers, Body::from_stream(pieces)).into_response())
}
