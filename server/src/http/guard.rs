//! Guards: who may come to a route at all. Every route names one; none is open by omission.

use app::routes::Route as Place;
use axum::extract::{FromRequestParts as _, Request, State};
use axum::http::HeaderMap;
use axum::http::header::{AUTHORIZATION, COOKIE, HeaderName, ORIGIN};
use axum::middleware::Next;
use axum::response::{IntoResponse as _, Redirect, Response};
use serde::Deserialize;
use shared_types::ids::{DeviceId, ShopId, UserId};
use shared_types::shop::{Role, Roles};
use shared_types::time::UtcMillis;
use storage::Family;

use super::cookie;
use super::error::ApiResult;
use super::extract::Path;
use super::peer::Peer;
use super::rates::{Rate, TooOften};
use crate::deps::Shared;
use crate::fault::Fault;

/// Who may come to a route.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Guard {
    /// Anybody: signing in, the app's files, health.
    Anybody,
    /// Whoever is on this machine or in this building.
    Near,
    /// Whoever holds a session cookie, asking from our own pages.
    Cookie,
    /// Whoever holds an access token.
    SignedIn,
    /// A member of the shop in the path.
    Member,
    /// Whoever is, or was, a member of the shop in the path: what a former member recorded
    /// while away is refused change by change and kept, not turned away unread.
    Pusher,
    /// A lead of the shop in the path.
    Lead,
    /// A member of the shop in the path, by access token or by session cookie; only to look.
    Viewer,
    /// A member of the shop in the path, by session cookie; whoever isn't signed in is asked to.
    Page,
}

/// Somebody signed in: an access token that holds, and a session that is alive.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Session {
    /// Who.
    pub user: UserId,
    /// On which device.
    pub device: DeviceId,
    /// By which sign-in.
    pub family: Family,
    /// When the access token ends.
    pub expires: UtcMillis,
}

/// A member of the shop in the path.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Member {
    /// Who.
    pub user: UserId,
    /// On which device.
    pub device: DeviceId,
    /// Of which shop.
    pub shop: ShopId,
    /// With which roles; none for a former member, whom only [`Guard::Pusher`] lets in.
    pub roles: Roles,
}

/// What a route's guard needs to know.
#[derive(Clone)]
pub struct Post {
    /// The server.
    pub deps: Shared,
    /// Who may pass.
    pub guard: Guard,
    /// How often.
    pub rate: Rate,
}

/// Stands before a route.
///
/// # Errors
/// When the one who asks may not pass.
pub async fn enforce(State(post): State<Post>, mut request: Request, next: Next) -> ApiResult<Response> {
    let peer = Peer::of(&request, &post.deps.config.trusted_proxies);
    if !request.method().is_safe() {
        from_own_pages(request.headers(), &peer)?;
    }
    match post.guard {
        Guard::Anybody => too_often(post.deps.rates.count_address(post.rate, peer.counted()))?,
        Guard::Near if peer.is_near() => {}
        Guard::Near => return Err(Fault::NotFound.into()),
        Guard::Cookie => {
            too_often(post.deps.rates.count_address(post.rate, peer.counted()))?;
            let token = cookie::read(request.headers(), &post.deps.refresh);
            request.extensions_mut().insert(token.ok_or(Fault::SessionOver)?);
        }
        Guard::SignedIn => {
            let session = by_access_token(&post.deps, request.headers()).await?;
            too_often(post.deps.rates.count_person(post.rate, session.user))?;
            request.extensions_mut().insert(session);
        }
        Guard::Page => match by_cookie(&post.deps, request.headers()).await {
            Ok(session) => request = with_member(&post, session, request).await?,
            Err(Fault::NotSignedIn | Fault::SessionOver) => {
                return Ok(Redirect::to(&Place::SignIn.to_string()).into_response());
            }
            Err(fault) => return Err(fault.into()),
        },
        Guard::Member | Guard::Pusher | Guard::Lead | Guard::Viewer => {
            let session = match by_access_token(&post.deps, request.headers()).await {
                Err(_) if post.guard == Guard::Viewer && request.method().is_safe() => {
                    by_cookie(&post.deps, request.headers()).await?
                }
                session => session?,
            };
            too_often(post.deps.rates.count_person(post.rate, session.user))?;
            request = with_member(&post, session, request).await?;
        }
    }
    request.extensions_mut().insert(peer);
    Ok(next.run(request).await)
}

fn too_often(counted: Result<(), TooOften>) -> Result<(), Fault> {
    counted.map_err(|TooOften(wait)| Fault::TooMany(wait))
}

#[derive(Deserialize)]
struct ShopInPath {
    shop: ShopId,
}

async fn with_member(post: &Post, session: Session, request: Request) -> ApiResult<Request> {
    let (mut parts, body) = request.into_parts();
    let Path(ShopInPath { shop }) = Path::from_request_parts(&mut parts, &()).await?;
    let member = post.deps.storage.member(shop, session.user).await?.ok_or(Fault::NotFound)?;
    let roles = if member.retired { Roles::new() } else { member.roles };
    if roles.is_empty() && post.guard != Guard::Pusher {
        return Err(Fault::NotFound.into());
    }
    if post.guard == Guard::Lead && !roles.contains(&Role::Lead) {
        return Err(Fault::NotPermitted("a lead").into());
    }
    parts.extensions.insert(Member { user: session.user, device: session.device, shop, roles });
    parts.extensions.insert(session);
    Ok(Request::from_parts(parts, body))
}

/// The session behind an access token: the token must hold, and the session be alive.
async fn by_access_token(deps: &Shared, headers: &HeaderMap) -> Result<Session, Fault> {
    let value = headers.get(AUTHORIZATION).and_then(|value| value.to_str().ok()).unwrap_or_default();
    let token = value.strip_prefix("Bearer ").ok_or(Fault::NotSignedIn)?;
    let now = deps.clock.now();
    let claims = deps.access.read(token, now).map_err(|_| Fault::NotSignedIn)?;
    let session = alive(deps, Family(claims.sid), claims.expires()).await?;
    if (session.user, session.device) == (claims.sub, claims.dev) {
        Ok(session)
    } else {
        Err(Fault::NotSignedIn)
    }
}

/// The session behind a cookie: enough to look at pictures, which a page can't ask for with a token.
///
/// # Errors
/// When there is no cookie of ours, or its session is over.
pub async fn by_cookie(deps: &Shared, headers: &HeaderMap) -> Result<Session, Fault> {
    let token = cookie::read(headers, &deps.refresh).ok_or(Fault::NotSignedIn)?;
    alive(deps, Family(token.family()), deps.clock.now()).await
}

/// Asked at every request: a sign-in that was ended, a device signed out and a person
/// disabled are out at once, not when their token ends.
///
/// # Errors
/// When the session is over.
pub async fn alive(deps: &Shared, family: Family, expires: UtcMillis) -> Result<Session, Fault> {
    let session = deps.storage.session(family, deps.clock.now()).await?.ok_or(Fault::SessionOver)?;
    Ok(Session { user: session.user, device: session.device, family, expires })
}

const FETCH_SITE: HeaderName = HeaderName::from_static("sec-fetch-site");

/// A change of state is asked for by our own pages, or by a program that is no browser.
fn from_own_pages(headers: &HeaderMap, peer: &Peer) -> Result<(), Fault> {
    let text = |name| headers.get(name).and_then(|value: &axum::http::HeaderValue| value.to_str().ok());
    let own = match (text(FETCH_SITE), text(ORIGIN)) {
        (Some(site), _) => site == "same-origin" || site == "none",
        (None, Some(origin)) => {
            let host = origin.split_once("://").map(|(_, host)| host);
            host.is_some() && host == peer.host.as_deref()
        }
        // Every browser in use sends one of the two; a browser that sends neither
        // does not send our strict cookie across sites either.
        (None, None) => true,
    };
    let several_cookies = headers.get_all(COOKIE).iter().count() > 1;
    if own && !several_cookies { Ok(()) } else { Err(Fault::NotPermitted("this site's own pages")) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_our_own_pages_and_programs_may_change_state() {
        let peer =
            Peer { address: [192, 0, 2, 1].into(), https: true, host: Some("hangar.example:8750".into()) };
        let cases = [
            (&[][..], true),
            (&[("origin", "https://hangar.example:8750")], true),
            (&[("origin", "https://elsewhere.example")], false),
            (&[("origin", "https://hangar.example")], false),
            (&[("origin", "null")], false),
            (&[("sec-fetch-site", "same-origin"), ("origin", "https://hangar.example:8750")], true),
            (&[("sec-fetch-site", "cross-site")], false),
            (&[("sec-fetch-site", "same-site"), ("origin", "https://hangar.example:8750")], false),
        ];
        for (pairs, accepted) in cases {
            let headers: HeaderMap =
                pairs.iter().map(|(name, value)| (name.parse().unwrap(), value.parse().unwrap())).collect();
            assert_eq!(from_own_pages(&headers, &peer).is_ok(), accepted, "{pairs:?}");
        }
    }
}
