//! Limits on bodies: how long, and how slow.

use std::time::Duration;

use axum::body::{Body, HttpBody as _};
use axum::extract::{Request, State};
use axum::middleware::Next;
use axum::response::Response;
use shared_types::check::{MAX_CHANGE_BYTES, MAX_CHANGES_PER_PUSH, MAX_PHOTO_BYTES};
use tower_http::timeout::TimeoutBody;

use super::error::ApiResult;
use crate::fault::Fault;

/// The most bytes in a body of this kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BodyLimit(pub usize);

impl BodyLimit {
    /// No body at all.
    pub const NONE: Self = Self(0);
    /// A form.
    pub const FORM: Self = Self(16 * 1024);
    /// A statement to be signed, as long as one may be.
    pub const STATEMENT: Self = Self(128 * 1024);
    /// A worksheet's input: a hole pattern of some hundred holes, a layup of some hundred plies.
    pub const INPUT: Self = Self(1024 * 1024);
    /// A push: clients send a megabyte at a time; JSON in JSON escapes its quotes.
    pub const PUSH: Self = Self(8 * 1024 * 1024);
    /// One part of an upload: a client may send a photo in one.
    pub const PART: Self = Self(64 * 1024 * 1024);
}

const _: () = assert!(BodyLimit::PART.0 as u64 == MAX_PHOTO_BYTES);
// A push need not hold as many changes of the greatest length as it may hold changes: a
// client splits by bytes too. It must hold every push of a few of them.
const _: () = assert!(BodyLimit::PUSH.0 >= 32 * MAX_CHANGE_BYTES && MAX_CHANGES_PER_PUSH >= 32);

/// The longest silence within a body.
const LONGEST_SILENCE: Duration = Duration::from_secs(30);

/// Refuses a body that says that it is too long before reading it, and gives up on one that stalls.
///
/// # Errors
/// When the announced length is over the limit.
pub async fn enforce(State(limit): State<BodyLimit>, request: Request, next: Next) -> ApiResult<Response> {
    if let Some(announced) = request.body().size_hint().exact()
        && announced > limit.0 as u64
    {
        let most = limit.0;
        return Err(
            Fault::TooLarge(format!("the body has {announced} bytes; at most {most} are taken")).into()
        );
    }
    let request = request.map(|body| Body::new(TimeoutBody::new(LONGEST_SILENCE, body)));
    Ok(next.run(request).await)
}
