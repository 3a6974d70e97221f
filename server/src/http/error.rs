//! A fault as an answer. This file alone picks a status.
//!
//! The client is told the public half as an RFC 9457 problem. The log gets the
//! cause, once, here, under the request's id.

use axum::http::header::{CONTENT_TYPE, RETRY_AFTER};
use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};
use shared_types::api::{ProblemCode, ProblemDetails};

use super::request_id;
use crate::fault::{Fault, chain, whole_seconds};

/// The media type of a problem.
pub const PROBLEM_JSON: &str = "application/problem+json";

/// What a handler answers when it can't do what was asked.
#[derive(Debug)]
pub struct ApiError(pub Fault);

/// The result of a handler.
pub type ApiResult<T> = Result<T, ApiError>;

impl<F: Into<Fault>> From<F> for ApiError {
    fn from(fault: F) -> Self {
        Self(fault.into())
    }
}

impl IntoResponse for ApiError {
    fn into_response(self) -> Response {
        log_cause(&self.0);
        let (status, code) = status_and_code(&self.0);
        let problem = ProblemDetails {
            kind: format!("urn:faying:problem:{}", name(code)),
            title: title(code).to_owned(),
            status: status.as_u16(),
            detail: detail(&self.0),
            instance: request_id::current().map(|id| format!("urn:uuid:{id}")).unwrap_or_default(),
            code,
            fields: if let Fault::OutOfLimits(fields) = &self.0 { fields.clone() } else { Vec::new() },
        };
        let body = serde_json::to_vec(&problem).unwrap_or_default();
        (status, headers(&self.0), body).into_response()
    }
}

fn status_and_code(fault: &Fault) -> (StatusCode, ProblemCode) {
    use ProblemCode as Code;
    match fault {
        Fault::Malformed(_) => (StatusCode::BAD_REQUEST, Code::Malformed),
        Fault::OtherTusVersion => (StatusCode::PRECONDITION_FAILED, Code::Malformed),
        Fault::OutOfLimits(_) => (StatusCode::UNPROCESSABLE_ENTITY, Code::OutOfLimits),
        Fault::NotSignedIn => (StatusCode::UNAUTHORIZED, Code::NotSignedIn),
        Fault::WrongCredentials => (StatusCode::UNAUTHORIZED, Code::WrongCredentials),
        Fault::SessionOver => (StatusCode::UNAUTHORIZED, Code::SessionOver),
        Fault::NotPermitted(_) => (StatusCode::FORBIDDEN, Code::NotPermitted),
        Fault::NotFound => (StatusCode::NOT_FOUND, Code::NotFound),
        Fault::MethodNotAllowed => (StatusCode::METHOD_NOT_ALLOWED, Code::MethodNotAllowed),
        Fault::Conflict(_) | Fault::WrongOffset(_) => (StatusCode::CONFLICT, Code::Conflict),
        Fault::Busy => (StatusCode::LOCKED, Code::Conflict),
        Fault::UploadOver(_) => (StatusCode::GONE, Code::Conflict),
        Fault::InvitationOver => (StatusCode::GONE, Code::InvitationOver),
        Fault::TooLarge(_) => (StatusCode::PAYLOAD_TOO_LARGE, Code::TooLarge),
        Fault::UnsupportedType(_) => (StatusCode::UNSUPPORTED_MEDIA_TYPE, Code::UnsupportedType),
        Fault::TooMany(_) => (StatusCode::TOO_MANY_REQUESTS, Code::TooMany),
        // tus 1.0, Checksum: "460 Checksum Mismatch".
        Fault::ChecksumMismatch => {
            (StatusCode::from_u16(460).unwrap_or(StatusCode::BAD_REQUEST), Code::ChecksumMismatch)
        }
        Fault::Unavailable(_) => (StatusCode::SERVICE_UNAVAILABLE, Code::Unavailable),
        Fault::NoSpace => (StatusCode::INSUFFICIENT_STORAGE, Code::NoSpace),
        Fault::Internal(_) => (StatusCode::INTERNAL_SERVER_ERROR, Code::Internal),
    }
}

/// The code in a few words.
const fn title(code: ProblemCode) -> &'static str {
    match code {
        ProblemCode::Malformed => "The request can't be read",
        ProblemCode::OutOfLimits => "Fields are out of limits",
        ProblemCode::NotSignedIn => "No valid access token",
        ProblemCode::WrongCredentials => "Wrong name or password",
        ProblemCode::SessionOver => "The session is over: sign in again",
        ProblemCode::NotPermitted => "Not yours to do",
        ProblemCode::NotFound => "There is nothing here",
        ProblemCode::MethodNotAllowed => "Not with this method",
        ProblemCode::Conflict => "Contradicts what is there",
        ProblemCode::InvitationOver => "The invitation was used or has expired",
        ProblemCode::TooLarge => "Too large",
        ProblemCode::UnsupportedType => "Not a type that is taken",
        ProblemCode::TooMany => "Too many; try again later",
        ProblemCode::ChecksumMismatch => "The checksum does not match: send this part again",
        ProblemCode::Internal => "A fault of the server",
        ProblemCode::Unavailable => "Not available just now; try again",
        ProblemCode::NoSpace => "The server's disk is full",
        ProblemCode::Other => "A problem",
    }
}

/// What happened, for people: nothing of a cause, a query or a stack. Empty where the title says it all.
fn detail(fault: &Fault) -> String {
    match fault {
        Fault::Malformed(_)
        | Fault::OutOfLimits(_)
        | Fault::NotPermitted(_)
        | Fault::Conflict(_)
        | Fault::WrongOffset(_)
        | Fault::Busy
        | Fault::UploadOver(_)
        | Fault::OtherTusVersion
        | Fault::TooLarge(_)
        | Fault::UnsupportedType(_)
        | Fault::TooMany(_) => fault.to_string(),
        Fault::NotSignedIn
        | Fault::WrongCredentials
        | Fault::SessionOver
        | Fault::NotFound
        | Fault::MethodNotAllowed
        | Fault::InvitationOver
        | Fault::ChecksumMismatch
        | Fault::Unavailable(_)
        | Fault::NoSpace
        | Fault::Internal(_) => String::new(),
    }
}

fn headers(fault: &Fault) -> HeaderMap {
    let mut headers = HeaderMap::new();
    headers.insert(CONTENT_TYPE, HeaderValue::from_static(PROBLEM_JSON));
    match fault {
        Fault::TooMany(wait) => {
            headers.insert(RETRY_AFTER, HeaderValue::from(whole_seconds(*wait)));
        }
        Fault::Unavailable(_) | Fault::NoSpace => {
            headers.insert(RETRY_AFTER, HeaderValue::from(5));
        }
        Fault::WrongOffset(offset) => {
            headers.insert(HeaderName::from_static("upload-offset"), HeaderValue::from(*offset));
        }
        Fault::OtherTusVersion => {
            headers.insert(HeaderName::from_static("tus-version"), HeaderValue::from_static("1.0.0"));
        }
        _ => {}
    }
    headers
}

fn log_cause(fault: &Fault) {
    match fault {
        Fault::Internal(cause) => tracing::error!(cause = chain(cause.as_ref()), "request.failed"),
        Fault::Unavailable(cause) => tracing::warn!(cause = chain(cause.as_ref()), "request.unavailable"),
        Fault::NoSpace => tracing::error!("request.no_space"),
        _ => {}
    }
}

/// The code as it is written on the wire.
fn name(code: ProblemCode) -> String {
    match serde_json::to_value(code) {
        Ok(serde_json::Value::String(name)) => name,
        _ => "other".to_owned(),
    }
}
