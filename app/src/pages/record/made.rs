//! Files that the server makes of a job: the record to print, and the evidence bundle.

use std::pin::pin;

use device::web::Fetch;
use device::{Body, Method, NetError, Request, Stream as _, Transport as _};
use futures::FutureExt as _;
use futures::channel::oneshot;
use futures::future::select;
use leptos::prelude::*;
use leptos::task::spawn_local;
use shared_types::api::PROTOCOL_HEADER;
use shared_types::entity::Entity as _;
use shared_types::ids::{JobId, ShopId};
use shared_types::job::JobState;
use wasm_bindgen::JsCast as _;
use web_sys::Blob;

use crate::page;
use crate::store::{Loaded, blob_of, use_store};
use crate::ui::{Button, ButtonKind, Icon};
use crate::words;

/// How long the server may take until the file begins: it lays out one record after the other.
const PATIENCE_MS: u32 = 120_000;

/// What the server can make of a job.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Made {
    /// The record to print.
    Pdf,
    /// The job as one file that anyone can verify.
    Bundle,
}

impl Made {
    const fn label(self) -> &'static str {
        match self {
            Self::Pdf => "PDF",
            Self::Bundle => "Evidence bundle",
        }
    }

    const fn file(self) -> (&'static str, &'static str) {
        match self {
            Self::Pdf => ("record.pdf", "application/pdf"),
            Self::Bundle => ("bundle.zip", "application/zip"),
        }
    }

    /// How large it will be, where that is known: a bundle is its photos and little else.
    fn about(self, state: &JobState) -> Option<u64> {
        let photos = state.photos.values().filter(|it| !it.it.is_retired());
        let bytes: u64 = photos.map(|it| it.it.bytes.or_empty()).sum();
        (self == Self::Bundle && bytes > 0).then_some(bytes)
    }
}

#[derive(Clone, Debug, PartialEq)]
enum Progress {
    None,
    Coming(u64),
    Failed(String),
}

/// A button that has a file made and hands it to the browser, with its progress.
#[component]
pub fn MadeByServer(shop: ShopId, job: JobId, made: Made) -> impl IntoView {
    let state = use_store().job(shop, job);
    let progress = RwSignal::new(Progress::None);
    let cancel = StoredValue::new_local(None::<oneshot::Sender<()>>);
    // Whoever leaves the page wants no file.
    on_cleanup(move || drop(cancel.try_update_value(Option::take)));
    let about = move || match state.get() {
        Loaded::Here(state) => made.about(&state),
        _ => None,
    };
    let start = move |()| {
        let (stop, stopped) = oneshot::channel();
        cancel.set_value(Some(stop));
        progress.set(Progress::Coming(0));
        spawn_local(async move {
            let fetching = pin!(fetch(shop, job, made, progress).fuse());
            let outcome = match select(fetching, stopped).await {
                futures::future::Either::Left((outcome, _)) => outcome,
                futures::future::Either::Right(_) => Ok(None),
            };
            let ended = match outcome {
                Ok(file) => {
                    if let Some(file) = file {
                        page::save_blob(&format!("{job}-{}", made.file().0), &file);
                    }
                    Progress::None
                }
                Err(why) => Progress::Failed(why),
            };
            // The person may have gone elsewhere by now.
            progress.try_set(ended);
        });
    };
    move || {
        match progress.get() {
        Progress::None => button(made, start),
        Progress::Coming(came) => view! { <Coming made came about=about() cancel=move || drop(cancel.try_update_value(Option::take))/> }.into_any(),
        Progress::Failed(why) => view! {
            <div class="stack stack--tight" role="alert">
                <p class="error-text">{why}</p>
                {button(made, start)}
            </div>
        }
        .into_any(),
    }
    }
}

fn button(made: Made, start: impl Fn(()) + Copy + Send + Sync + 'static) -> AnyView {
    let icon = if made == Made::Pdf { Icon::File } else { Icon::Package };
    view! { <Button label=made.label() icon on_press=start/> }.into_any()
}

#[component]
fn Coming(
    made: Made,
    came: u64,
    about: Option<u64>,
    cancel: impl Fn() + Copy + Send + Sync + 'static,
) -> impl IntoView {
    let label = made.label();
    let words = match (came, about) {
        (0, _) => format!("{label}: the server is making it"),
        (came, Some(about)) => {
            format!("{label}: {} of about {}", words::bytes(came), words::bytes(about.max(came)))
        }
        (came, None) => format!("{label}: {}", words::bytes(came)),
    };
    let bar = about.filter(|_| came > 0).map(|about| (about.max(came).to_string(), came.to_string()));
    let (most, value) = bar.unzip();
    view! {
        <div class="stack stack--tight" role="status">
            <p class="small">{words}</p>
            // Without a value it shows that something goes on.
            <progress max=most value=value aria-label=label></progress>
            <Button label="Cancel" kind=ButtonKind::Quiet icon=Icon::Close on_press=move |()| cancel()/>
        </div>
    }
}

/// Fetches the file. The browser holds the pieces, and may put them on its disk: a bundle can be as large as all
/// the job's photos.
async fn fetch(
    shop: ShopId,
    job: JobId,
    made: Made,
    progress: RwSignal<Progress>,
) -> Result<Option<Blob>, String> {
    let (file, media_type) = made.file();
    let request = Request {
        method: Method::Get,
        path: format!("/api/v1/shops/{shop}/jobs/{job}/{file}"),
        headers: Vec::new(),
        body: Body::Empty,
        timeout_ms: PATIENCE_MS,
    };
    let (reply, mut stream) = Fetch::new().open(request).await.map_err(|error| unreachable(&error))?;
    if reply.header(PROTOCOL_HEADER).is_none() {
        return Err(unreachable(&NetError::NotOurs));
    }
    if reply.status != 200 {
        return Err(refused(reply.status));
    }
    let parts = js_sys::Array::new();
    let mut came = 0;
    while let Some(piece) = stream.next().await.map_err(|error| unreachable(&error))? {
        came += piece.len() as u64;
        parts.push(blob_of(&piece, media_type).ok_or("The browser makes no file.")?.unchecked_ref());
        progress.try_set(Progress::Coming(came));
    }
    Blob::new_with_blob_sequence(&parts).map(Some).map_err(|_| "The browser makes no file.".to_owned())
}

fn unreachable(error: &NetError) -> String {
    format!("The server makes this file, but: {error}. Without it, print this page.")
}

fn refused(status: u16) -> String {
    match status {
        401 => "Sign in again: the server no longer knows this session.".to_owned(),
        404 => {
            "The server does not have this job yet: what was recorded here is still to be sent.".to_owned()
        }
        429 => "The server is making others' records just now. Try again in a minute.".to_owned(),
        status => format!("The server could not make it ({status}). Without it, print this page."),
    }
}
