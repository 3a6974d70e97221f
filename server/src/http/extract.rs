//! What handlers take from a request. Each refuses in the API's own words.

use axum::body::Bytes;
use axum::extract::rejection::{BytesRejection, FailedToBufferBody};
use axum::extract::{FromRequest, FromRequestParts, Request};
use axum::http::request::Parts;
use axum::http::{HeaderMap, header};
use axum::response::{IntoResponse, Response};
use serde::Serialize;
use serde::de::DeserializeOwned;
use shared_types::check::Problem;

use super::error::ApiError;
use super::guard::{Member, Reader, Session};
use super::peer::Peer;
use crate::fault::Fault;

/// A JSON body, in and out.
pub struct Json<T>(pub T);

impl<T: Serialize> IntoResponse for Json<T> {
    fn into_response(self) -> Response {
        match serde_json::to_vec(&self.0) {
            Ok(body) => ([(header::CONTENT_TYPE, "application/json")], body).into_response(),
            Err(error) => ApiError(Fault::internal(error)).into_response(),
        }
    }
}

/// JSON that is written already, on its way out.
pub struct WrittenJson(pub String);

impl IntoResponse for WrittenJson {
    fn into_response(self) -> Response {
        ([(header::CONTENT_TYPE, "application/json")], self.0).into_response()
    }
}

impl<T: DeserializeOwned, S: Send + Sync> FromRequest<S> for Json<T> {
    type Rejection = ApiError;

    async fn from_request(request: Request, state: &S) -> Result<Self, ApiError> {
        require_json(request.headers())?;
        let body = Bytes::from_request(request, state).await.map_err(unreadable_body)?;
        read_json(&body).map(Self).map_err(ApiError)
    }
}

/// Only JSON, said to be so: a form on another site can't say it without asking first.
fn require_json(headers: &HeaderMap) -> Result<(), Fault> {
    let said = headers.get(header::CONTENT_TYPE).and_then(|value| value.to_str().ok()).unwrap_or_default();
    let media_type = said.split(';').next().unwrap_or_default().trim();
    if !media_type.eq_ignore_ascii_case("application/json") {
        return Err(Fault::UnsupportedType("the body must be application/json".to_owned()));
    }
    let coding = headers.get(header::CONTENT_ENCODING).map(header::HeaderValue::as_bytes);
    if coding.is_some_and(|coding| coding != b"identity") {
        return Err(Fault::UnsupportedType("the body must not be compressed".to_owned()));
    }
    Ok(())
}

fn unreadable_body(rejection: BytesRejection) -> Fault {
    match rejection {
        BytesRejection::FailedToBufferBody(FailedToBufferBody::LengthLimitError(_)) => {
            Fault::TooLarge("the body is longer than this address takes".to_owned())
        }
        _ => Fault::Malformed("the body broke off".to_owned()),
    }
}

/// Reads JSON strictly: what is no JSON is malformed, what has other fields is out of limits.
///
/// # Errors
/// With the field's path and what is wrong with it.
pub fn read_json<T: DeserializeOwned>(body: &[u8]) -> Result<T, Fault> {
    // Keeping track of the path costs time: only a body at fault is read that way.
    serde_json::from_slice(body).or_else(|_| read_tracked(body))
}

fn read_tracked<T: DeserializeOwned>(body: &[u8]) -> Result<T, Fault> {
    let mut reader = serde_json::Deserializer::from_slice(body);
    let read: T = serde_path_to_error::deserialize(&mut reader).map_err(|error| {
        let path = error.path().to_string();
        let cause = error.into_inner();
        if cause.is_data() {
            Fault::from(Problem::new(
                if path == "." { "" } else { &path },
                shortened(&cause.to_string()),
                "as described in /api/v1/openapi.json",
            ))
        } else {
            Fault::Malformed(format!("the body is not JSON: {}", shortened(&cause.to_string())))
        }
    })?;
    reader.end().map_err(|_| Fault::Malformed("the body goes on after its JSON".to_owned()))?;
    Ok(read)
}

/// A reason may quote what was sent; a long quote helps nobody.
fn shortened(reason: &str) -> String {
    const MOST: usize = 200;
    match reason.char_indices().nth(MOST) {
        Some((at, _)) => format!("{}…", &reason[..at]),
        None => reason.to_owned(),
    }
}

/// Parts of the path. What can't be an id is not found, as if it were an id that nobody has.
pub struct Path<T>(pub T);

impl<T: DeserializeOwned + Send, S: Send + Sync> FromRequestParts<S> for Path<T> {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, ApiError> {
        let path = axum::extract::Path::<T>::from_request_parts(parts, state).await;
        path.map(|axum::extract::Path(path)| Self(path)).map_err(|_| ApiError(Fault::NotFound))
    }
}

/// The query.
pub struct Query<T>(pub T);

impl<T: DeserializeOwned, S: Send + Sync> FromRequestParts<S> for Query<T> {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, ApiError> {
        let query = axum::extract::Query::<T>::from_request_parts(parts, state).await;
        query
            .map(|axum::extract::Query(query)| Self(query))
            .map_err(|rejection| ApiError(Fault::Malformed(shortened(&rejection.body_text()))))
    }
}

/// What a guard left in the request. A route without that guard has no such thing: a fault of ours.
macro_rules! left_by_a_guard {
    ($($ty:ty),+) => { $(
        impl<S: Send + Sync> FromRequestParts<S> for $ty {
            type Rejection = ApiError;

            async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, ApiError> {
                let left = parts.extensions.get::<Self>().cloned();
                left.ok_or_else(|| {
                    ApiError(Fault::internal(concat!("no guard left a ", stringify!($ty), " for this route")))
                })
            }
        }
    )+ };
}

left_by_a_guard!(Session, Member, Reader, Peer);
