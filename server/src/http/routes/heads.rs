//! `shops/{shop}/…/head` and `server-keys`: what the server vouches for, and with which keys.

use axum::extract::State;
use shared_types::countersign::{ServerKey, SignedHead};

use super::logs::LogPath;
use crate::deps::Shared;
use crate::http::error::ApiResult;
use crate::http::extract::{Json, Path};
use crate::http::guard::Member;
use crate::usecases::countersign;

/// A log's head as it stands now.
pub async fn head(
    State(deps): State<Shared>,
    _: Member,
    Path(path): Path<LogPath>,
) -> ApiResult<Json<SignedHead>> {
    let now = deps.clock.now();
    Ok(Json(countersign::head(deps.storage.as_ref(), &deps.keys, path.into(), now).await?))
}

/// The server's keys, the first one first.
pub async fn keys(State(deps): State<Shared>) -> ApiResult<Json<Vec<ServerKey>>> {
    Ok(Json(deps.storage.server_keys().await?))
}
