//! `shops/{shop}/…/changes`: pulling and pushing; `shops/{shop}/…/snapshot`: the state instead;
//! `shops/{shop}/logs`: how far each log has come.

use axum::extract::State;
use serde::Deserialize;
use serde_json::value::RawValue;
use shared_types::api::{Logs, Push, Pushed, Snapshot};
use shared_types::check::MAX_CHANGES_PER_PULL;
use shared_types::ids::{JobId, LogId, ShopId};

use crate::deps::Shared;
use crate::http::error::ApiResult;
use crate::http::extract::{Json, Path, Query, WrittenJson};
use crate::http::guard::Member;
use crate::usecases::access;
use crate::usecases::push::{self, Pusher};

/// Which log an address names.
#[derive(Clone, Copy, Deserialize)]
pub struct LogPath {
    shop: ShopId,
    job: Option<JobId>,
}

impl From<LogPath> for LogId {
    fn from(path: LogPath) -> Self {
        path.job.map_or(Self::Shop(path.shop), |job| Self::Job(path.shop, job))
    }
}

/// From where on, and how many.
#[derive(Deserialize)]
pub struct Since {
    /// Sequence number of the last change that the device has.
    #[serde(default)]
    since: u64,
    /// At most so many; more than [`MAX_CHANGES_PER_PULL`] are never given.
    limit: Option<usize>,
}

/// The shop's logs, with how far each has come; for a guest, those of the jobs that they are a guest on.
pub async fn heads(State(deps): State<Shared>, member: Member) -> ApiResult<Json<Logs>> {
    let epoch = deps.storage.epoch().await?;
    let mut logs = deps.storage.heads(member.shop).await?;
    if member.roles.is_empty() {
        let open = access::guest_logs(&deps, member.user, Some(member.shop)).await?;
        logs.retain(|notice| open.contains(&notice.log));
    }
    Ok(Json(Logs { epoch, logs }))
}

/// Changes of a log after `since`: a `shared_types::api::Page`.
pub async fn pull(
    State(deps): State<Shared>,
    _: Member,
    Path(path): Path<LogPath>,
    Query(from): Query<Since>,
) -> ApiResult<WrittenJson> {
    let limit = from.limit.unwrap_or(MAX_CHANGES_PER_PULL).clamp(1, MAX_CHANGES_PER_PULL);
    Ok(WrittenJson(deps.storage.written_page(path.into(), from.since, limit).await?))
}

/// By which fold the device goes on.
#[derive(Deserialize)]
pub struct ByFold {
    fold: String,
}

/// A log's state, to be gone on from with the changes after it.
pub async fn snapshot(
    State(deps): State<Shared>,
    _: Member,
    Path(path): Path<LogPath>,
    Query(by): Query<ByFold>,
) -> ApiResult<Json<Snapshot<Box<RawValue>>>> {
    Ok(Json(deps.snapshots.latest(deps.storage.as_ref(), path.into(), &by.fold).await?))
}

/// Takes changes into a log; a job's log is made with its first change.
pub async fn push(
    State(deps): State<Shared>,
    member: Member,
    Path(path): Path<LogPath>,
    Json(pushed): Json<Push>,
) -> ApiResult<Json<Pushed>> {
    let pusher = Pusher { user: member.user, device: member.device, roles: member.roles };
    Ok(Json(push::push(&deps, pusher, path.into(), pushed).await?))
}
