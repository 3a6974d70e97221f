//! The contents page: every route with its guard, limits and description.
//!
//! The router, the OpenAPI document and the table of who may do what are all made
//! from this one list, so none of them can forget a route.

use std::any::Any;
use std::sync::Arc;

use axum::extract::DefaultBodyLimit;
use axum::handler::Handler;
use axum::middleware::from_fn_with_state;
use axum::response::{IntoResponse, Response};
use axum::routing::{MethodFilter, MethodRouter, on};
use axum::{Extension, Router};
use tower_http::CompressionLevel;
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;
use tower_http::compression::predicate::{DefaultPredicate, NotForContentType, Predicate as _, SizeAbove};

use super::error::ApiError;
use super::guard::{self, Guard, Post};
use super::limits::{self, BodyLimit};
use super::rates::Rate;
use super::routes::{
    auth, authority, bundle, calc, devices, heads, health, invitations, logs, notices, pictures, record,
    record_links, search, uploads,
};
use super::{headers, openapi, trace, tus};
use crate::deps::Shared;
use crate::fault::Fault;
use crate::site;

/// What a route takes or gives, for the OpenAPI document.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Content {
    /// Nothing.
    Nothing,
    /// JSON of this schema.
    Json(&'static str),
    /// A list of JSON of this schema.
    List(&'static str),
    /// Any JSON.
    AnyJson,
    /// Bytes or text of this media type.
    Raw(&'static str),
}

/// One row of the contents page.
pub struct Route {
    /// Which method.
    pub method: MethodFilter,
    /// At which address.
    pub path: &'static str,
    /// Who may come.
    pub guard: Guard,
    /// What it does, in one sentence.
    pub about: &'static str,
    /// What it takes.
    pub takes: Content,
    /// The status when it went well, and what it gives then.
    pub gives: (u16, Content),
    /// How often one may ask.
    pub rate: Rate,
    /// How long a body may be.
    pub limit: BodyLimit,
    handler: MethodRouter<Shared>,
}

impl Route {
    fn new<H, T>(
        method: MethodFilter,
        guard: Guard,
        path: &'static str,
        handler: H,
        about: &'static str,
    ) -> Self
    where
        H: Handler<T, Shared>,
        T: 'static,
    {
        Self {
            method,
            path,
            guard,
            about,
            takes: Content::Nothing,
            gives: (204, Content::Nothing),
            rate: Rate::Sync,
            limit: BodyLimit::NONE,
            handler: on(method, handler),
        }
    }

    const fn takes(mut self, content: Content, limit: BodyLimit) -> Self {
        self.takes = content;
        self.limit = limit;
        self
    }

    const fn gives(mut self, status: u16, content: Content) -> Self {
        self.gives = (status, content);
        self
    }

    const fn rate(mut self, rate: Rate) -> Self {
        self.rate = rate;
        self
    }
}

const GET: MethodFilter = MethodFilter::GET;
const POST: MethodFilter = MethodFilter::POST;
const PATCH: MethodFilter = MethodFilter::PATCH;
const DELETE: MethodFilter = MethodFilter::DELETE;

/// Every route of the API and of health, in the order of the contract in `shared_types::api`.
#[must_use]
pub fn routes() -> Vec<Route> {
    let mut routes = account_routes();
    routes.extend(shop_routes());
    routes.extend(photo_routes());
    routes.extend(record_routes());
    routes.extend(calc_routes());
    routes.extend(page_routes());
    routes.extend(health_routes());
    routes
}

fn account_routes() -> Vec<Route> {
    use Content::{Json, List};
    use Guard::{Anybody, Cookie, SignedIn};
    let account = |route: Route| route.rate(Rate::Account);
    vec![
        account(Route::new(POST, Anybody, "/api/v1/auth/sign-in", auth::sign_in, "Sign in on a device"))
            .takes(Json("SignIn"), BodyLimit::FORM)
            .gives(200, Json("Session")),
        account(Route::new(POST, Anybody, "/api/v1/auth/join", auth::join, "Join a shop by invitation"))
            .takes(Json("Join"), BodyLimit::FORM)
            .gives(200, Json("Session")),
        Route::new(POST, Cookie, "/api/v1/auth/refresh", auth::refresh, "Go on with a session")
            .gives(200, Json("Session")),
        Route::new(POST, Cookie, "/api/v1/auth/sign-out", auth::sign_out, "End a session"),
        account(Route::new(
            POST,
            Anybody,
            "/api/v1/auth/invitation",
            auth::invitation,
            "What an invitation says, to whoever holds its secret",
        ))
        .takes(Json("InvitationSecret"), BodyLimit::FORM)
        .gives(200, Json("InvitationView")),
        account(Route::new(
            POST,
            SignedIn,
            "/api/v1/auth/accept",
            auth::accept,
            "Take an invitation up with the account that is signed in",
        ))
        .takes(Json("InvitationSecret"), BodyLimit::FORM)
        .gives(200, Json("Me")),
        account(Route::new(
            POST,
            SignedIn,
            "/api/v1/auth/confirm",
            auth::confirm,
            "Confirm a signature by password",
        ))
        .takes(Json("Confirm"), BodyLimit::STATEMENT)
        .gives(200, Json("Confirmation")),
        Route::new(GET, SignedIn, "/api/v1/me", auth::me, "Who is signed in").gives(200, Json("Me")),
        Route::new(GET, SignedIn, "/api/v1/devices", devices::list, "The own devices")
            .gives(200, List("DeviceView")),
        Route::new(
            DELETE,
            SignedIn,
            "/api/v1/devices/{device}",
            devices::revoke,
            "Sign one of the own devices out for good",
        ),
    ]
}

fn shop_routes() -> Vec<Route> {
    use Content::{Json, List, Raw};
    use Guard::{Guest, Lead, Member, Pusher, SignedIn};
    const INVITATIONS: &str = "/api/v1/shops/{shop}/invitations";
    const SHOP_LOG: &str = "/api/v1/shops/{shop}/changes";
    const JOB_LOG: &str = "/api/v1/shops/{shop}/jobs/{job}/changes";
    const SHOP_STATE: &str = "/api/v1/shops/{shop}/snapshot";
    const JOB_STATE: &str = "/api/v1/shops/{shop}/jobs/{job}/snapshot";
    vec![
        Route::new(GET, Lead, INVITATIONS, invitations::list, "The shop's invitations")
            .gives(200, List("InvitationView")),
        Route::new(POST, Lead, INVITATIONS, invitations::create, "Invite a person")
            .takes(Json("Invite"), BodyLimit::FORM)
            .gives(201, Json("Invited")),
        Route::new(
            DELETE,
            Lead,
            "/api/v1/shops/{shop}/invitations/{id}",
            invitations::withdraw,
            "Withdraw an invitation that nobody used",
        ),
        Route::new(GET, Guest, "/api/v1/shops/{shop}/logs", logs::heads, "How far each log has come")
            .gives(200, Json("Logs")),
        Route::new(
            GET,
            Guest,
            "/api/v1/shops/{shop}/search",
            search::search,
            "What holds all of some words: jobs, steps, hardware, materials, what is on the shelf",
        )
        .gives(200, Json("SearchResult")),
        Route::new(GET, Member, SHOP_LOG, logs::pull, "Changes of the shop's log").gives(200, Json("Page")),
        Route::new(POST, Pusher, SHOP_LOG, logs::push, "Push changes into the shop's log")
            .takes(Json("Push"), BodyLimit::PUSH)
            .gives(200, Json("Pushed")),
        Route::new(GET, Member, JOB_LOG, logs::pull, "Changes of a job's log").gives(200, Json("Page")),
        Route::new(POST, Pusher, JOB_LOG, logs::push, "Push changes into a job's log")
            .takes(Json("Push"), BodyLimit::PUSH)
            .gives(200, Json("Pushed")),
        Route::new(GET, Member, "/api/v1/shops/{shop}/head", heads::head, "The shop's log, vouched for")
            .gives(200, Json("SignedHead")),
        Route::new(GET, Member, SHOP_STATE, logs::snapshot, "The shop's state, to open its log with")
            .gives(200, Json("Snapshot")),
        Route::new(GET, Member, JOB_STATE, logs::snapshot, "A job's state, to open its log with")
            .gives(200, Json("Snapshot")),
        Route::new(
            GET,
            Member,
            "/api/v1/shops/{shop}/jobs/{job}/head",
            heads::head,
            "A job's log, vouched for",
        )
        .gives(200, Json("SignedHead")),
        Route::new(
            GET,
            Guest,
            "/api/v1/shops/{shop}/devices/{device}/key",
            devices::key,
            "The key that a device signs with",
        )
        .gives(200, Json("DeviceKey")),
        Route::new(GET, SignedIn, "/api/v1/notices", notices::stream, "How far logs come, as it happens")
            .gives(200, Raw("text/event-stream")),
    ]
}

fn photo_routes() -> Vec<Route> {
    use Content::{Nothing, Raw};
    use Guard::{Anybody, Reader, SignedIn};
    const PHOTOS: &str = "/api/v1/photos";
    const UPLOAD: &str = "/api/v1/photos/{upload}";
    let upload = |route: Route| route.rate(Rate::Upload);
    vec![
        upload(Route::new(
            MethodFilter::OPTIONS,
            Anybody,
            PHOTOS,
            uploads::abilities,
            "What the server can do of tus 1.0",
        )),
        upload(Route::new(POST, SignedIn, PHOTOS, uploads::begin, "Announce a photo (tus: creation)"))
            .gives(201, Nothing),
        upload(Route::new(
            MethodFilter::HEAD,
            SignedIn,
            UPLOAD,
            uploads::progress,
            "How far an upload has come (tus: core)",
        ))
        .gives(200, Nothing),
        upload(Route::new(PATCH, SignedIn, UPLOAD, uploads::append, "Send a part (tus: core, checksum)"))
            .takes(Raw(tus::PART), BodyLimit::PART),
        upload(Route::new(DELETE, SignedIn, UPLOAD, uploads::terminate, "Give up (tus: termination)")),
        upload(Route::new(
            POST,
            SignedIn,
            UPLOAD,
            uploads::instead,
            "One of the three above, where only POST gets through (tus: core)",
        ))
        .takes(Raw(tus::PART), BodyLimit::PART),
        Route::new(
            GET,
            Reader,
            "/api/v1/shops/{shop}/jobs/{job}/photos/{digest}",
            pictures::picture,
            "A photo that one of the job's changes names",
        )
        .gives(200, Raw("image/*")),
    ]
}

/// What a job ends in. A browser shows and saves them, so a session cookie is enough.
fn record_routes() -> Vec<Route> {
    use Content::{Json, List, Raw};
    use Guard::{Anybody, Lead, Reader, Viewer};
    const LINKS: &str = "/api/v1/shops/{shop}/jobs/{job}/links";
    vec![
        Route::new(GET, Lead, LINKS, record_links::list, "The links to a job's record")
            .gives(200, List("RecordLinkView")),
        Route::new(POST, Lead, LINKS, record_links::create, "Make a link to a job's record")
            .takes(Json("MakeRecordLink"), BodyLimit::FORM)
            .gives(201, Json("RecordLinkMade")),
        Route::new(
            DELETE,
            Lead,
            "/api/v1/shops/{shop}/jobs/{job}/links/{id}",
            record_links::revoke,
            "Revoke a link to a job's record",
        ),
        Route::new(
            POST,
            Anybody,
            "/api/v1/links/open",
            record_links::open,
            "Exchange a record link's secret for a session that opens this record alone",
        )
        .rate(Rate::Account)
        .takes(Json("InvitationSecret"), BodyLimit::FORM)
        .gives(200, Json("OpenedRecord")),
        Route::new(
            GET,
            Anybody,
            "/api/v1/server-keys",
            heads::keys,
            "The keys that the server vouches with, the first one first",
        )
        .gives(200, List("ServerKey")),
        Route::new(
            GET,
            Reader,
            "/api/v1/shops/{shop}/jobs/{job}/record.pdf",
            record::pdf,
            "A job's record to print, as PDF/A-3 with the job's data attached",
        )
        .gives(200, Raw("application/pdf")),
        Route::new(
            GET,
            Viewer,
            "/api/v1/shops/{shop}/jobs/{job}/bundle.zip",
            bundle::download,
            "A job as one file that anyone can verify offline",
        )
        .gives(200, Raw("application/zip")),
    ]
}

fn calc_routes() -> Vec<Route> {
    use Content::{AnyJson, Json, List};
    use Guard::{Anybody, SignedIn};
    vec![
        Route::new(GET, Anybody, "/api/v1/calc", calc::kinds, "The kinds of worksheet")
            .gives(200, List("KindView")),
        Route::new(GET, Anybody, "/api/v1/calc/{kind}/schema", calc::schema, "The JSON Schema of an input")
            .gives(200, AnyJson),
        Route::new(POST, SignedIn, "/api/v1/calc/{kind}", calc::calculate, "Work one worksheet out")
            .rate(Rate::Calc)
            .takes(AnyJson, BodyLimit::INPUT)
            .gives(200, Json("WorksheetResult")),
        Route::new(
            GET,
            SignedIn,
            "/api/v1/catalogue",
            calc::catalogue,
            "Reference data, each row with its source",
        )
        .gives(200, Json("Catalogue")),
        Route::new(GET, Anybody, openapi::PATH, openapi::serve, "This description").gives(200, AnyJson),
    ]
}

fn page_routes() -> Vec<Route> {
    use Content::Raw;
    use Guard::{Anybody, Page};
    let free = |route: Route| route.rate(Rate::Free);
    vec![
        free(Route::new(GET, Page, "/record/{shop}/{job}", record::page, "A job's record, without script"))
            .gives(200, Raw("text/html; charset=utf-8")),
        free(Route::new(
            GET,
            // A certificate is no secret, and not every network's addresses look local.
            Anybody,
            "/local-authority.crt",
            authority::certificate,
            "What a phone in the local network is to trust",
        ))
        .gives(200, Raw("application/x-x509-ca-cert")),
    ]
}

fn health_routes() -> Vec<Route> {
    use Content::Raw;
    use Guard::{Anybody, Near};
    let free = |route: Route| route.rate(Rate::Free);
    vec![
        free(Route::new(GET, Anybody, "/healthz", health::alive, "The process is there"))
            .gives(200, Raw("text/plain; charset=utf-8")),
        free(Route::new(GET, Anybody, "/readyz", health::ready, "The process can do its work"))
            .gives(200, Raw("text/plain; charset=utf-8")),
        free(Route::new(GET, Near, "/metrics", health::metrics, "What it has done so far"))
            .gives(200, Raw("application/openmetrics-text; version=1.0.0; charset=utf-8")),
    ]
}

/// The whole service.
pub fn router(deps: Shared) -> Router {
    let routes = routes();
    let document = Arc::new(openapi::document(&routes));
    let mut router = Router::new();
    for route in routes {
        let post = Post { deps: deps.clone(), guard: route.guard, rate: route.rate };
        let guarded = route
            .handler
            .layer(DefaultBodyLimit::max(route.limit.0))
            .layer(from_fn_with_state(route.limit, limits::enforce))
            .layer(from_fn_with_state(post, guard::enforce));
        router = router.route(route.path, guarded);
    }
    // A record and a bundle are compressed as far as they can be.
    let worth_it = DefaultPredicate::new()
        .and(SizeAbove::new(1024))
        .and(NotForContentType::const_new("application/pdf"))
        .and(NotForContentType::const_new("application/zip"));
    router
        .fallback(site::serve)
        .method_not_allowed_fallback(|| async { ApiError(Fault::MethodNotAllowed) })
        .layer(Extension(document))
        .layer(CatchPanicLayer::custom(panicked))
        .layer(CompressionLayer::new().quality(CompressionLevel::Fastest).compress_when(worth_it))
        .layer(from_fn_with_state(deps.clone(), headers::put))
        .layer(from_fn_with_state(deps.clone(), trace::watch))
        .with_state(deps)
}

/// A panic is a fault of ours, told like any other.
fn panicked(panic: Box<dyn Any + Send>) -> Response {
    let words = panic.downcast_ref::<&str>().map(ToString::to_string);
    let words = words.or_else(|| panic.downcast_ref::<String>().cloned());
    ApiError(Fault::internal(words.unwrap_or_else(|| "a panic without words".to_owned()))).into_response()
}
