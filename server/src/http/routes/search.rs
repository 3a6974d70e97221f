//! `shops/{shop}/search`: what holds all of some words.

use axum::extract::State;
use serde::Deserialize;
use shared_types::api::SearchResult;

use crate::deps::Shared;
use crate::http::error::ApiResult;
use crate::http::extract::{Json, Query};
use crate::http::guard::Member;
use crate::usecases::search;

/// What is searched for.
#[derive(Deserialize)]
pub struct Typed {
    q: String,
}

/// What was found, the latest entered first.
pub async fn search(
    State(deps): State<Shared>,
    member: Member,
    Query(typed): Query<Typed>,
) -> ApiResult<Json<SearchResult>> {
    Ok(Json(search::search(&deps, member.shop, (member.user, &member.roles), &typed.q).await?))
}
