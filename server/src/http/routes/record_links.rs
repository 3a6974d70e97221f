//! `shops/{shop}/jobs/{job}/links` and `links/open`: a record for an owner to look at.

use axum::extract::State;
use axum::http::StatusCode;
use axum::http::header::SET_COOKIE;
use axum::response::{AppendHeaders, IntoResponse};
use serde::Deserialize;
use shared_types::api::{InvitationSecret, MakeRecordLink, RecordLinkMade, RecordLinkView};
use shared_types::ids::{JobId, ShopId};
use uuid::Uuid;

use crate::deps::Shared;
use crate::http::cookie;
use crate::http::error::ApiResult;
use crate::http::extract::{Json, Path};
use crate::http::guard::Member;
use crate::usecases::record_links;

#[derive(Clone, Copy, Deserialize)]
pub struct JobPath {
    shop: ShopId,
    job: JobId,
}

#[derive(Clone, Copy, Deserialize)]
pub struct LinkPath {
    shop: ShopId,
    job: JobId,
    id: Uuid,
}

/// The job's links.
pub async fn list(
    State(deps): State<Shared>,
    _: Member,
    Path(path): Path<JobPath>,
) -> ApiResult<Json<Vec<RecordLinkView>>> {
    Ok(Json(record_links::list(&deps, path.shop, path.job).await?))
}

/// Makes one.
pub async fn create(
    State(deps): State<Shared>,
    member: Member,
    Path(path): Path<JobPath>,
    Json(asked): Json<MakeRecordLink>,
) -> ApiResult<(StatusCode, Json<RecordLinkMade>)> {
    let made = record_links::make(&deps, (path.shop, path.job), member.user, asked).await?;
    Ok((StatusCode::CREATED, Json(made)))
}

/// Revokes one.
pub async fn revoke(
    State(deps): State<Shared>,
    _: Member,
    Path(path): Path<LinkPath>,
) -> ApiResult<StatusCode> {
    record_links::revoke(&deps, path.shop, path.job, path.id).await?;
    Ok(StatusCode::NO_CONTENT)
}

/// Exchanges a link's secret for a session that opens its record alone.
pub async fn open(
    State(deps): State<Shared>,
    Json(asked): Json<InvitationSecret>,
) -> ApiResult<impl IntoResponse> {
    let (opened, token) = record_links::open(&deps, &asked.secret).await?;
    Ok((AppendHeaders([(SET_COOKIE, cookie::set_link(&token)?)]), Json(opened)))
}
