//! `/healthz`, `/readyz`, `/metrics`: for whoever runs the server.

use axum::extract::State;
use axum::http::header::CONTENT_TYPE;
use axum::response::IntoResponse;

use crate::deps::Shared;
use crate::fault::Fault;
use crate::http::error::ApiResult;

/// The process is there.
pub async fn alive() -> &'static str {
    "ok\n"
}

/// The process can do its work: the database and the photo store can be reached.
pub async fn ready(State(deps): State<Shared>) -> ApiResult<&'static str> {
    deps.storage.ready().await?;
    deps.photos.ready().await?;
    Ok("ready\n")
}

/// What it has done so far.
pub async fn metrics(State(deps): State<Shared>) -> ApiResult<impl IntoResponse> {
    const OPEN_METRICS: &str = "application/openmetrics-text; version=1.0.0; charset=utf-8";
    let text = deps.metrics.text().map_err(Fault::internal)?;
    Ok(([(CONTENT_TYPE, OPEN_METRICS)], text))
}
