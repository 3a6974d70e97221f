//! One log line per request, under an id of its own: method, route, status, time.
//!
//! The route is the pattern, not the address: what people typed stays out of the log.

use std::time::Instant;

use axum::extract::{MatchedPath, Request, State};
use axum::http::HeaderValue;
use axum::middleware::Next;
use axum::response::Response;
use tracing::Instrument as _;
use uuid::Uuid;

use super::request_id;
use crate::deps::Shared;

/// Watches one request.
pub async fn watch(State(deps): State<Shared>, request: Request, next: Next) -> Response {
    let started = Instant::now();
    let id = Uuid::now_v7();
    let method = request.method().clone();
    let route = request.extensions().get::<MatchedPath>().map(|path| path.as_str().to_owned());
    let route = route.unwrap_or_else(|| "unknown".to_owned());
    let span = tracing::info_span!("request", id = %id, method = %method, route);
    let mut response = request_id::scope(id, next.run(request)).instrument(span.clone()).await;
    let took = started.elapsed();
    let status = response.status().as_u16();
    span.in_scope(|| tracing::info!(status, took_ms = took.as_secs_f64() * 1000.0, "request.done"));
    deps.metrics.request(method.as_str(), &route, status, took);
    if let Ok(value) = HeaderValue::try_from(id.to_string()) {
        response.headers_mut().insert(request_id::HEADER, value);
    }
    response
}
