//! The built app: its files as they are, and at every address of the app the shell.
//!
//! `cargo xtask build` makes the folder. Files under `/pkg/` carry their content's hash
//! in their name and never change; the shell is rendered once, and is the same everywhere.

use std::convert::Infallible;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use app::routes::Route;
use app::shell::{self, Build};
use axum::body::{Body, Bytes};
use axum::extract::{Request, State};
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE, ETAG, IF_NONE_MATCH};
use axum::http::{HeaderName, HeaderValue, Method, StatusCode};
use axum::response::{IntoResponse, Response};
use tower::ServiceExt as _;
use tower_http::services::ServeDir;

use crate::deps::Shared;
use crate::fault::Fault;
use crate::http::error::{ApiError, ApiResult};

/// Says which build a shell belongs to; the service worker takes no other.
const BUILD: HeaderName = HeaderName::from_static("x-faying-build");
/// The shell for the service worker, at an address that is no place of the app.
const SHELL: &str = "/shell";
/// Describes the build.
const DESCRIPTION: &str = "build.json";

/// The folder is no built app.
#[derive(Debug, thiserror::Error)]
pub enum SiteError {
    /// Its description can't be read.
    #[error("{path} can't be read; `cargo xtask build` makes it")]
    Read {
        /// The description.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// Its description is of another version.
    #[error("{path} does not describe a build")]
    Describe {
        /// The description.
        path: PathBuf,
        /// Why.
        source: serde_json::Error,
    },
    /// The build's name can't stand in a header.
    #[error("the build's name can't stand in a header")]
    Name(#[from] axum::http::header::InvalidHeaderValue),
}

/// A built app, ready to be served.
pub struct Site {
    /// The build's files by name.
    pub build: Build,
    files: ServeDir,
    shell: Bytes,
    name: HeaderValue,
    tag: HeaderValue,
}

impl Site {
    /// Reads a build's description and renders its shell.
    ///
    /// # Errors
    /// When the folder is no built app.
    pub fn open(folder: &Path) -> Result<Self, SiteError> {
        let path = folder.join(DESCRIPTION);
        let text = match fs::read(&path) {
            Ok(text) => text,
            Err(source) => return Err(SiteError::Read { path, source }),
        };
        let build: Build = match serde_json::from_slice(&text) {
            Ok(build) => build,
            Err(source) => return Err(SiteError::Describe { path, source }),
        };
        let files = ServeDir::new(folder)
            .precompressed_br()
            .precompressed_gzip()
            .append_index_html_on_directories(false);
        Ok(Self {
            files,
            shell: shell::render(build.clone()).into(),
            name: HeaderValue::try_from(build.build.as_str())?,
            tag: HeaderValue::try_from(format!("\"{}\"", build.build))?,
            build,
        })
    }

    /// The shell: asked for anew each time, sent only when it is another one.
    fn shell(&self, request: &Request) -> Response {
        let mut response = if request.headers().get(IF_NONE_MATCH) == Some(&self.tag) {
            StatusCode::NOT_MODIFIED.into_response()
        } else {
            let html = HeaderValue::from_static("text/html; charset=utf-8");
            ([(CONTENT_TYPE, html)], self.shell.clone()).into_response()
        };
        let headers = response.headers_mut();
        headers.insert(CACHE_CONTROL, HeaderValue::from_static("no-cache"));
        headers.insert(ETAG, self.tag.clone());
        headers.insert(BUILD, self.name.clone());
        response
    }

    async fn file(&self, request: Request) -> ApiResult<Response> {
        let kept_for_ever = request.uri().path().starts_with("/pkg/");
        let served: Result<_, Infallible> = self.files.clone().oneshot(request).await;
        let Ok(served) = served;
        let mut response = served.map(Body::new);
        match response.status() {
            StatusCode::NOT_FOUND => return Err(Fault::NotFound.into()),
            StatusCode::METHOD_NOT_ALLOWED => return Err(Fault::MethodNotAllowed.into()),
            _ => {}
        }
        // Names without a hash, the service worker's above all, may be another file tomorrow.
        let caching = if kept_for_ever { "public, max-age=31536000, immutable" } else { "no-cache" };
        response.headers_mut().insert(CACHE_CONTROL, HeaderValue::from_static(caching));
        Ok(response)
    }
}

/// Whatever is no address of the API: a place of the app, or a file of it. What is neither is
/// not found, and never the shell.
pub async fn serve(State(deps): State<Shared>, request: Request) -> Response {
    let path = request.uri().path();
    if path.starts_with("/api/") {
        return ApiError(Fault::NotFound).into_response();
    }
    if !matches!(*request.method(), Method::GET | Method::HEAD) {
        return ApiError(Fault::MethodNotAllowed).into_response();
    }
    let is_place = path == SHELL || Route::read(path) != Route::Nowhere;
    match &deps.config.site {
        Some(site) if is_place => site.shell(&request),
        Some(site) => site.file(request).await.into_response(),
        None if is_place => without_site(),
        None => ApiError(Fault::NotFound).into_response(),
    }
}

/// A server that was started without the app still says so in words.
fn without_site() -> Response {
    const PAGE: &str = "<!DOCTYPE html><html lang=\"en\"><title>Faying</title>\
        <h1>The app's files are not here</h1>\
        <p>This server was started without <code>--site</code>. Its API answers; \
        <code>cargo xtask demo</code> builds the app and serves it.</p></html>";
    let html = [(CONTENT_TYPE, "text/html; charset=utf-8"), (CACHE_CONTROL, "no-store")];
    (StatusCode::SERVICE_UNAVAILABLE, html, PAGE).into_response()
}
