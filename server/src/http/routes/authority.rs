//! `/local-authority.crt`: what a phone in this network is to trust.

use axum::extract::State;
use axum::http::header::CONTENT_TYPE;
use axum::response::IntoResponse;

use crate::deps::Shared;
use crate::fault::Fault;
use crate::http::error::ApiResult;

/// The certificate of our own authority, if there is one.
pub async fn certificate(State(deps): State<Shared>) -> ApiResult<impl IntoResponse> {
    let authority = deps.config.authority.clone().ok_or(Fault::NotFound)?;
    Ok(([(CONTENT_TYPE, "application/x-x509-ca-cert")], authority))
}
