//! `shops/{shop}/jobs/{job}/photos/{digest}`: photos to look at.

use axum::body::Body;
use axum::extract::State;
use axum::http::header::{
    CACHE_CONTROL, CONTENT_DISPOSITION, CONTENT_LENGTH, CONTENT_SECURITY_POLICY, CONTENT_TYPE, ETAG,
    IF_NONE_MATCH,
};
use axum::http::{HeaderMap, HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};
use photo_store::PictureSize;
use serde::Deserialize;
use shared_types::digest::Digest;
use shared_types::ids::ShopId;

use crate::deps::Shared;
use crate::fault::Fault;
use crate::http::error::ApiResult;
use crate::http::extract::{Path, Query};
use crate::http::guard::Reader;

#[derive(Deserialize)]
pub struct PicturePath {
    shop: ShopId,
    digest: Digest,
}

#[derive(Clone, Copy, Default, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Size {
    Thumb,
    Print,
    Screen,
    #[default]
    Original,
}

#[derive(Deserialize)]
pub struct Which {
    #[serde(default)]
    size: Size,
}

/// A photo that one of the job's changes names.
pub async fn picture(
    State(deps): State<Shared>,
    Reader { log, .. }: Reader,
    Path(path): Path<PicturePath>,
    Query(which): Query<Which>,
    asked: HeaderMap,
) -> ApiResult<Response> {
    // Knowing a digest opens nothing: the job's own log must name the photo.
    if !deps.storage.names_photo(log, path.digest).await? {
        return Err(Fault::NotFound.into());
    }
    let photo = deps.storage.photo(path.shop, path.digest).await?.ok_or(Fault::NotFound)?;
    let (size, name, media_type) = match which.size {
        Size::Thumb => (PictureSize::Thumb, "thumb", "image/jpeg"),
        Size::Print => (PictureSize::Print, "print", "image/jpeg"),
        Size::Screen => (PictureSize::Screen, "screen", "image/jpeg"),
        Size::Original => (PictureSize::Original, "original", photo.media_type.as_str()),
    };
    let tag = format!("\"{}.{name}\"", path.digest);
    let mut headers = headers(&path.digest, name, media_type, &tag)?;
    let has_it = asked.get(IF_NONE_MATCH).and_then(|tags| tags.to_str().ok());
    if has_it.is_some_and(|tags| tags == "*" || tags.split(',').any(|known| known.trim() == tag)) {
        headers.remove(CONTENT_TYPE);
        return Ok((StatusCode::NOT_MODIFIED, headers).into_response());
    }
    let picture = deps.photos.picture(path.shop, path.digest, size, None).await?;
    headers.insert(CONTENT_LENGTH, HeaderValue::from(picture.length));
    Ok((headers, Body::from_stream(picture.bytes)).into_response())
}

/// The bytes came from a phone: whatever they are, they are shown as a picture or not at all.
fn headers(digest: &Digest, size: &str, media_type: &str, tag: &str) -> Result<HeaderMap, Fault> {
    let name = format!("inline; filename=\"{digest}-{size}\"");
    let mut headers = HeaderMap::new();
    for (header, value) in [
        (CONTENT_TYPE, media_type),
        (CONTENT_DISPOSITION, &name),
        (CONTENT_SECURITY_POLICY, "default-src 'none'; sandbox; frame-ancestors 'none'"),
        (CACHE_CONTROL, "private, max-age=31536000, immutable"),
        (ETAG, tag),
    ] {
        headers.insert(header, HeaderValue::try_from(value).map_err(Fault::internal)?);
    }
    Ok(headers)
}
