//! The job's record: as a page that works without script, `/record/{shop}/{job}`, and as a file to print,
//! `shops/{shop}/jobs/{job}/record.pdf`.

use std::sync::Arc;

use any_spawner::Executor;
use app::record::document::{RecordDocument, document};
use axum::body::Body;
use axum::extract::{Request, State};
use axum::http::HeaderValue;
use axum::http::header::{CACHE_CONTROL, CONTENT_DISPOSITION, CONTENT_SECURITY_POLICY, CONTENT_TYPE};
use axum::response::{IntoResponse as _, Response};
use leptos::nonce::use_nonce;
use leptos::prelude::use_context;
use leptos_axum::ResponseOptions;
use serde::Deserialize;
use shared_types::ids::{JobId, ShopId};
use shared_types::job::JobState;

use crate::deps::Shared;
use crate::fault::{Fault, Result};
use crate::http::error::ApiResult;
use crate::http::extract::Path;
use crate::http::guard::Reader;
use crate::http::headers::CONTENT_POLICY;
use crate::usecases::{names, read_log, recorded};

/// The style sheet's address when no app is served: it is not found, and the page stays readable.
const NO_STYLE: &str = "/no-style.css";

#[derive(Clone, Copy, Deserialize)]
pub struct RecordPath {
    shop: ShopId,
    job: JobId,
}

/// The record as it stands now.
pub async fn page(
    State(deps): State<Shared>,
    reader: Reader,
    Path(path): Path<RecordPath>,
) -> ApiResult<Response> {
    // The renderer has to be told once who runs its tasks; it refuses to be told again.
    let _ = Executor::init_tokio();
    let record = gather(&deps, reader, path).await?;
    let render = leptos_axum::render_app_async_with_context(put_headers, move || document(record.clone()));
    Ok(render(Request::new(Body::empty())).await)
}

/// The record as it stands now, to print. It is laid out for the one who asks: whoever goes away stops it.
pub async fn pdf(
    State(deps): State<Shared>,
    Reader { log, .. }: Reader,
    Path(path): Path<RecordPath>,
) -> ApiResult<Response> {
    let (storage, now) = (deps.storage.as_ref(), deps.clock.now());
    let pdf = deps.printer.print(storage, &deps.photos, &deps.keys, log, now).await?;
    let name = format!("attachment; filename=\"record-{}.pdf\"", path.job);
    let headers = [
        (CONTENT_TYPE, "application/pdf"),
        (CONTENT_DISPOSITION, name.as_str()),
        (CACHE_CONTROL, "no-store"),
    ];
    Ok((headers, pdf).into_response())
}

/// The renderer writes a small script of its own at the end, and so the page's policy names
/// it. The page itself has none and needs none.
fn put_headers() {
    let (Some(options), Some(nonce)) = (use_context::<ResponseOptions>(), use_nonce()) else { return };
    let policy = CONTENT_POLICY.replace("script-src 'self'", &format!("script-src 'self' 'nonce-{nonce}'"));
    if let Ok(policy) = HeaderValue::try_from(policy) {
        options.insert_header(CONTENT_SECURITY_POLICY, policy);
    }
    options.insert_header(CACHE_CONTROL, HeaderValue::from_static("no-store"));
}

async fn gather(deps: &Shared, reader: Reader, path: RecordPath) -> Result<RecordDocument> {
    let storage = deps.storage.as_ref();
    let state: JobState = read_log::state(storage, reader.log).await?;
    // A cut plan takes a while to be drawn again.
    let state =
        tokio::task::spawn_blocking(|| recorded::completed_all(state)).await.map_err(Fault::internal)?;
    let today = deps.clock.now().to_string();
    let site = deps.config.site.as_ref();
    Ok(RecordDocument {
        css: site.map_or_else(|| NO_STYLE.to_owned(), |site| site.build.css.clone()),
        shop: path.shop,
        job: path.job,
        by_link: reader.by_link,
        state: Arc::new(state),
        name: names::of(storage, path.shop).await?,
        today: today.get(..10).unwrap_or_default().parse().map_err(Fault::internal)?,
    })
}
