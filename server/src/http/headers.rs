//! Headers on every answer: what a browser may do with our pages, and that the answer is ours.

use axum::extract::{Request, State};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, HeaderName, REFERRER_POLICY, STRICT_TRANSPORT_SECURITY,
    X_CONTENT_TYPE_OPTIONS,
};
use axum::http::{HeaderMap, HeaderValue};
use axum::middleware::Next;
use axum::response::Response;
use shared_types::api::{CLOCK_HEADER, PREFIX, PROTOCOL, PROTOCOL_HEADER};

use super::peer::Peer;
use super::tus;
use crate::deps::Shared;

/// Scripts, styles, pictures and connections from here alone, nothing inline, nobody's frame.
pub const CONTENT_POLICY: &str = "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; \
     img-src 'self' blob: data:; connect-src 'self'; worker-src 'self'; manifest-src 'self'; \
     object-src 'none'; base-uri 'none'; frame-ancestors 'none'; form-action 'self'";

const PERMISSIONS: &str = "camera=(self), microphone=(), geolocation=(), payment=(), usb=()";
/// Two years, as the preload lists want it.
const TRANSPORT: &str = "max-age=63072000; includeSubDomains";

/// Puts the headers on.
pub async fn put(State(deps): State<Shared>, request: Request, next: Next) -> Response {
    let peer = Peer::of(&request, &deps.config.trusted_proxies);
    let path = request.uri().path();
    let is_api = path.starts_with("/api/");
    let is_upload = path.strip_prefix(PREFIX).is_some_and(|rest| rest.starts_with("/photos"));
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    put_default(headers, CONTENT_SECURITY_POLICY, CONTENT_POLICY);
    put_default(headers, X_CONTENT_TYPE_OPTIONS, "nosniff");
    put_default(headers, REFERRER_POLICY, "no-referrer");
    put_default(headers, HeaderName::from_static("permissions-policy"), PERMISSIONS);
    put_default(headers, HeaderName::from_static("cross-origin-opener-policy"), "same-origin");
    put_default(headers, HeaderName::from_static("cross-origin-resource-policy"), "same-origin");
    if peer.https {
        put_default(headers, STRICT_TRANSPORT_SECURITY, TRANSPORT);
    }
    if is_upload {
        tus::mark(headers);
    }
    if is_api {
        put_default(headers, CACHE_CONTROL, "no-store");
    }
    put_default(headers, HeaderName::from_static(PROTOCOL_HEADER), PROTOCOL);
    headers.insert(HeaderName::from_static(CLOCK_HEADER), HeaderValue::from(deps.clock.now().0));
    response
}

/// A handler that has set a stricter value keeps it.
fn put_default(headers: &mut HeaderMap, name: HeaderName, value: &'static str) {
    headers.entry(name).or_insert(HeaderValue::from_static(value));
}
