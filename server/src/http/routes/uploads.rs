//! `photos`: photos on their way in, by tus 1.0.

use axum::body::Body;
use axum::extract::State;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE, LOCATION};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode};
use axum::response::{IntoResponse as _, Response};
use shared_types::api::PREFIX;
use shared_types::ids::UploadId;

use crate::deps::Shared;
use crate::fault::Fault;
use crate::http::error::ApiResult;
use crate::http::extract::Path;
use crate::http::guard::Session;
use crate::http::tus;
use crate::usecases::uploads;

/// What the server can do.
pub async fn abilities() -> (StatusCode, HeaderMap) {
    (StatusCode::NO_CONTENT, tus::abilities())
}

/// Announces a photo.
pub async fn begin(
    State(deps): State<Shared>,
    session: Session,
    asked: HeaderMap,
) -> ApiResult<(StatusCode, HeaderMap)> {
    tus::require_version(&asked)?;
    let upload = uploads::begin(&deps, session.user, tus::announcement(&asked)?).await?;
    let mut headers = HeaderMap::new();
    let place = format!("{PREFIX}/photos/{}", upload.announced.id);
    headers.insert(LOCATION, HeaderValue::try_from(place).map_err(Fault::internal)?);
    tus::put_progress(&mut headers, uploads::progress(&deps, &upload).await?);
    tus::put_expiry(&mut headers, upload.announced.expires)?;
    Ok((StatusCode::CREATED, headers))
}

/// How far an upload has come.
pub async fn progress(
    State(deps): State<Shared>,
    session: Session,
    Path(upload): Path<UploadId>,
    asked: HeaderMap,
) -> ApiResult<(StatusCode, HeaderMap)> {
    tus::require_version(&asked)?;
    let upload = uploads::own(&deps, session.user, upload).await?;
    let mut headers = HeaderMap::new();
    tus::put_progress(&mut headers, uploads::progress(&deps, &upload).await?);
    tus::put_announced(&mut headers, &upload.announced)?;
    tus::put_expiry(&mut headers, upload.announced.expires)?;
    headers.insert(CACHE_CONTROL, HeaderValue::from_static("no-store"));
    Ok((StatusCode::OK, headers))
}

/// Takes a part.
pub async fn append(
    State(deps): State<Shared>,
    session: Session,
    Path(upload): Path<UploadId>,
    asked: HeaderMap,
    body: Body,
) -> ApiResult<(StatusCode, HeaderMap)> {
    tus::require_version(&asked)?;
    if asked.get(CONTENT_TYPE).is_none_or(|said| said != tus::PART) {
        return Err(Fault::UnsupportedType(format!("a part must be {}", tus::PART)).into());
    }
    let (offset, checksum) = (tus::offset(&asked)?, tus::checksum(&asked)?);
    let upload = uploads::own(&deps, session.user, upload).await?;
    let progress = uploads::append(&deps, &upload, offset, checksum, body.into_data_stream()).await?;
    let mut headers = HeaderMap::new();
    tus::put_progress(&mut headers, progress);
    tus::put_expiry(&mut headers, upload.announced.expires)?;
    Ok((StatusCode::NO_CONTENT, headers))
}

/// What a network lets through as nothing but POST: the header names the method that is meant.
pub async fn instead(
    State(deps): State<Shared>,
    session: Session,
    upload: Path<UploadId>,
    asked: HeaderMap,
    body: Body,
) -> ApiResult<Response> {
    match tus::method(&asked) {
        Some(Method::PATCH) => Ok(append(State(deps), session, upload, asked, body).await?.into_response()),
        Some(Method::DELETE) => Ok(terminate(State(deps), session, upload, asked).await?.into_response()),
        Some(Method::HEAD) => Ok(progress(State(deps), session, upload, asked).await?.into_response()),
        _ => Err(Fault::MethodNotAllowed.into()),
    }
}

/// Gives an upload up.
pub async fn terminate(
    State(deps): State<Shared>,
    session: Session,
    Path(upload): Path<UploadId>,
    asked: HeaderMap,
) -> ApiResult<StatusCode> {
    tus::require_version(&asked)?;
    let upload = uploads::own(&deps, session.user, upload).await?;
    uploads::terminate(&deps, &upload).await?;
    Ok(StatusCode::NO_CONTENT)
}
