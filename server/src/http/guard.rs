//! Guards: who may come to a route at all. Every route names one; none is open by omission.

use app::routes::Route as Place;
use axum::extract::{FromRequestParts as _, Request, State};
use axum::http::HeaderMap;
use axum::http::header::{AUTHORIZATION, COOKIE, HeaderName, ORIGIN};
use axum::http::request::Parts;
use axum::middleware::Next;
use axum::response::{IntoResponse as _, Redirect, Response};
use serde::Deserialize;
use shared_types::ids::{DeviceId, JobId, LogId, ShopId, UserId};
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
use crate::usecases::{access, record_links};

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
    /// A member of the shop in the path, or of the job in it.
    Member,
    /// A member of the shop in the path, or of any one of its jobs.
    Guest,
    /// Whoever is, or was, a member of the shop in the path, or of the job in it: what a former member recorded
    /// while away is refused change by change and kept, not turned away unread.
    Pusher,
    /// A lead of the shop in the path, or of the job in it.
    Lead,
    /// A member of the shop in the path, by access token or by session cookie; only to look.
    Viewer,
    /// As [`Guard::Viewer`], or whoever holds an opened link to the record of the job in the path.
    Reader,
    /// A member, by session cookie, or whoever holds an opened link to the record of the job in the path;
    /// anybody else is asked for one of the two.
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

/// A member of the shop in the path, or of the job in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Member {
    /// Who.
    pub user: UserId,
    /// On which device.
    pub device: DeviceId,
    /// Of which shop.
    pub shop: ShopId,
    /// With which roles, those on the job in the path among them; none for a former member, whom only
    /// [`Guard::Pusher`] lets in, and for a guest where the path names no job, whom only [`Guard::Guest`] does.
    pub roles: Roles,
}

/// Somebody who may look at the record of a log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reader {
    /// Of which log.
    pub log: LogId,
    /// By a link alone, without being a member.
    pub by_link: bool,
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
        Guard::Reader | Guard::Page => match with_reader(&post, &peer, request).await {
            Ok(passed) => request = passed,
            Err(Fault::NotSignedIn | Fault::SessionOver) if post.guard == Guard::Page => {
                return Ok(Redirect::to(&Place::OpenRecord.to_string()).into_response());
            }
            Err(fault) => return Err(fault.into()),
        },
        Guard::Member | Guard::Guest | Guard::Pusher | Guard::Lead | Guard::Viewer => {
            let only_looks = request.method().is_safe();
            let session = session(&post, request.headers(), only_looks).await?;
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

/// The session that a guard goes by: an access token, a cookie, or either where one only looks.
async fn session(post: &Post, headers: &HeaderMap, only_looks: bool) -> Result<Session, Fault> {
    let deps = &post.deps;
    if post.guard == Guard::Page {
        return by_cookie(deps, headers).await;
    }
    match by_access_token(deps, headers).await {
        Err(_) if only_looks && matches!(post.guard, Guard::Viewer | Guard::Reader) => {
            by_cookie(deps, headers).await
        }
        session => session,
    }
}

#[derive(Deserialize)]
struct LogInPath {
    shop: ShopId,
    job: Option<JobId>,
}

/// The log that the path names: the job's where it names one, else the shop's.
async fn log_in_path(parts: &mut Parts) -> Result<LogId, Fault> {
    let path = Path::<LogInPath>::from_request_parts(parts, &()).await;
    let Path(LogInPath { shop, job }) = path.map_err(|_| Fault::NotFound)?;
    Ok(job.map_or(LogId::Shop(shop), |job| LogId::Job(shop, job)))
}

async fn with_member(post: &Post, session: Session, request: Request) -> Result<Request, Fault> {
    let (mut parts, body) = request.into_parts();
    let log = log_in_path(&mut parts).await?;
    let member = member(post, &session, log).await?;
    parts.extensions.insert(member);
    parts.extensions.insert(session);
    Ok(Request::from_parts(parts, body))
}

/// The member that a session's person is, if the guard lets them pass.
async fn member(post: &Post, session: &Session, log: LogId) -> Result<Member, Fault> {
    let (deps, user, shop) = (&post.deps, session.user, log.shop());
    let held = access::held(deps, log, user).await?;
    let passes = match post.guard {
        Guard::Pusher => held.known,
        Guard::Guest => held.in_force() || !access::guest_logs(deps, user, Some(shop)).await?.is_empty(),
        _ => held.in_force(),
    };
    if !passes {
        return Err(Fault::NotFound);
    }
    if post.guard == Guard::Lead && !held.roles.contains(&Role::Lead) {
        return Err(Fault::NotPermitted("a lead"));
    }
    Ok(Member { user, device: session.device, shop, roles: held.roles })
}

/// Lets a member pass, or whoever opened a link to this very record.
async fn with_reader(post: &Post, peer: &Peer, request: Request) -> Result<Request, Fault> {
    let (mut parts, body) = request.into_parts();
    let session = session(post, &parts.headers, parts.method.is_safe()).await;
    let log = log_in_path(&mut parts).await?;
    let refused = match session {
        Ok(session) => {
            too_often(post.deps.rates.count_person(post.rate, session.user))?;
            member(post, &session, log).await.err()
        }
        Err(fault) => {
            too_often(post.deps.rates.count_address(post.rate, peer.counted()))?;
            Some(fault)
        }
    };
    let by_link = refused.is_some();
    if let Some(refused) = refused {
        let opened = match cookie::read_link(&parts.headers) {
            Some(token) => record_links::opened(&post.deps, token).await?,
            None => None,
        };
        if opened != Some(log) {
            return Err(refused);
        }
    }
    parts.extensions.insert(Reader { log, by_link });
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
