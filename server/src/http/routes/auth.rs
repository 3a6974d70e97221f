//! `auth/…` and `me`: signing in and out, joining, going on with a session.

use axum::Extension;
use axum::extract::State;
use axum::http::header::SET_COOKIE;
use axum::http::{HeaderValue, StatusCode};
use axum::response::{AppendHeaders, IntoResponse};
use shared_types::api::{Confirm, InvitationSecret, InvitationView, Join, Me, SignIn};
use shared_types::signature::Confirmation;

use crate::auth::refresh::RefreshToken;
use crate::deps::Shared;
use crate::http::cookie;
use crate::http::error::ApiResult;
use crate::http::extract::Json;
use crate::http::guard::Session;
use crate::http::peer::Peer;
use crate::usecases::confirm;
use crate::usecases::invite;
use crate::usecases::sign_in::{self, Begun};

/// Signs in on a device.
pub async fn sign_in(
    State(deps): State<Shared>,
    peer: Peer,
    Json(asked): Json<SignIn>,
) -> ApiResult<impl IntoResponse> {
    let begun = sign_in::sign_in(&deps, asked, peer.counted()).await?;
    session(&deps, begun)
}

/// Joins a shop by invitation, with a new account.
pub async fn join(State(deps): State<Shared>, Json(asked): Json<Join>) -> ApiResult<impl IntoResponse> {
    let begun = sign_in::join(&deps, asked).await?;
    session(&deps, begun)
}

/// Goes on with a session.
pub async fn refresh(
    State(deps): State<Shared>,
    Extension(token): Extension<RefreshToken>,
) -> ApiResult<impl IntoResponse> {
    let begun = sign_in::refresh(&deps, &token).await?;
    session(&deps, begun)
}

/// Ends a session.
pub async fn sign_out(
    State(deps): State<Shared>,
    Extension(token): Extension<RefreshToken>,
) -> ApiResult<impl IntoResponse> {
    sign_in::sign_out(&deps, &token).await?;
    Ok((StatusCode::NO_CONTENT, set_cookie(cookie::clear())))
}

/// Takes an invitation up with the account that is signed in.
pub async fn accept(
    State(deps): State<Shared>,
    session: Session,
    Json(asked): Json<InvitationSecret>,
) -> ApiResult<Json<Me>> {
    Ok(Json(sign_in::accept(&deps, session.user, &asked.secret).await?))
}

/// Confirms a signature by password.
pub async fn confirm(
    State(deps): State<Shared>,
    session: Session,
    peer: Peer,
    Json(asked): Json<Confirm>,
) -> ApiResult<Json<Confirmation>> {
    Ok(Json(confirm::confirm(&deps, session.user, asked, peer.counted()).await?))
}

/// What an invitation says, to whoever holds its secret.
pub async fn invitation(
    State(deps): State<Shared>,
    Json(asked): Json<InvitationSecret>,
) -> ApiResult<Json<InvitationView>> {
    Ok(Json(invite::look_up(&deps, &asked.secret).await?))
}

/// Who is signed in.
pub async fn me(State(deps): State<Shared>, session: Session) -> ApiResult<Json<Me>> {
    Ok(Json(sign_in::me(&deps, session.user).await?))
}

fn session(deps: &Shared, begun: Begun) -> ApiResult<impl IntoResponse + use<>> {
    let cookie = cookie::set(&deps.refresh, &begun.token, begun.seconds)?;
    Ok((set_cookie(cookie), Json(begun.view)))
}

fn set_cookie(value: HeaderValue) -> AppendHeaders<[(axum::http::HeaderName, HeaderValue); 1]> {
    AppendHeaders([(SET_COOKIE, value)])
}
