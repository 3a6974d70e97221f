//! `shops/{shop}/invitations`: letting people in.

use axum::extract::State;
use axum::http::StatusCode;
use serde::Deserialize;
use shared_types::api::{InvitationView, Invite, Invited};
use uuid::Uuid;

use crate::deps::Shared;
use crate::http::error::ApiResult;
use crate::http::extract::{Json, Path};
use crate::http::guard::Member;
use crate::usecases::invite;

/// The shop's invitations.
pub async fn list(State(deps): State<Shared>, member: Member) -> ApiResult<Json<Vec<InvitationView>>> {
    Ok(Json(invite::list(&deps, member.shop).await?))
}

/// Invites a person.
pub async fn create(
    State(deps): State<Shared>,
    member: Member,
    Json(asked): Json<Invite>,
) -> ApiResult<(StatusCode, Json<Invited>)> {
    let invited = invite::invite(&deps, member.shop, member.user, asked).await?;
    Ok((StatusCode::CREATED, Json(invited)))
}

#[derive(Deserialize)]
pub struct InvitationPath {
    id: Uuid,
}

/// Withdraws an invitation that nobody used.
pub async fn withdraw(
    State(deps): State<Shared>,
    member: Member,
    Path(path): Path<InvitationPath>,
) -> ApiResult<StatusCode> {
    invite::withdraw(&deps, member.shop, path.id).await?;
    Ok(StatusCode::NO_CONTENT)
}
