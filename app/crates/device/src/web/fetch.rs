//! HTTP by the browser's fetch, to the page's own origin.

use js_sys::{Function, Uint8Array};
use wasm_bindgen::{JsCast as _, JsValue};
use web_sys::Response;

use super::js;
use crate::transport::{Body, Method, NetError, Reply, Request, Stream, Transport};

/// The browser's fetch.
#[derive(Clone, Copy, Debug, Default)]
pub struct Fetch;

impl Fetch {
    /// The browser's fetch.
    #[must_use]
    pub const fn new() -> Self {
        Self
    }
}

impl Transport for Fetch {
    type Stream = FetchStream;

    async fn send(&self, request: Request) -> Result<Reply, NetError> {
        let timeout = request.timeout_ms;
        let cancel = Cancel::new();
        let whole = async {
            let response = start(request, &cancel).await?;
            let mut reply = head(&response);
            let body = response.array_buffer().map_err(|_| NetError::Unreachable)?;
            let body = js::awaited(body.into()).await.map_err(|_| NetError::Unreachable)?;
            reply.body = js::bytes(&body);
            Ok(reply)
        };
        js::within(timeout, whole).await.unwrap_or(Err(NetError::TimedOut))
    }

    async fn open(&self, request: Request) -> Result<(Reply, FetchStream), NetError> {
        let timeout = request.timeout_ms;
        let cancel = Cancel::new();
        let response = match js::within(timeout, start(request, &cancel)).await {
            Some(response) => response?,
            None => return Err(NetError::TimedOut),
        };
        let body = js::get(&response, "body").map_err(|_| NetError::Unreachable)?;
        let reader = js::call(&body, "getReader", &[]).map_err(|_| NetError::Unreachable)?;
        Ok((head(&response), FetchStream { reader, _cancel: cancel }))
    }
}

/// Ends the request when dropped.
struct Cancel(Option<JsValue>);

impl Cancel {
    fn new() -> Self {
        let constructor: Option<Function> =
            js::global(&["AbortController"]).and_then(|it| it.dyn_into().ok());
        Self(constructor.and_then(|it| js_sys::Reflect::construct(&it, &js_sys::Array::new()).ok()))
    }

    fn signal(&self) -> JsValue {
        self.0.as_ref().and_then(|controller| js::get(controller, "signal").ok()).unwrap_or_default()
    }
}

impl Drop for Cancel {
    fn drop(&mut self) {
        if let Some(controller) = &self.0 {
            // One that is through already takes no notice.
            let _ = js::call(controller, "abort", &[]);
        }
    }
}

async fn start(request: Request, cancel: &Cancel) -> Result<Response, NetError> {
    let method = match request.method {
        Method::Get => "GET",
        Method::Post => "POST",
        Method::Patch => "PATCH",
        Method::Head => "HEAD",
        Method::Delete => "DELETE",
    };
    let mut headers: Vec<(&str, JsValue)> =
        request.headers.iter().map(|(name, value)| (*name, value.into())).collect();
    let body = match request.body {
        Body::Empty => JsValue::UNDEFINED,
        Body::Json(text) => {
            headers.push(("content-type", "application/json".into()));
            text.into()
        }
        Body::Bytes(media_type, bytes) => {
            headers.push(("content-type", media_type.into()));
            Uint8Array::from(bytes.as_slice()).into()
        }
    };
    let mut options = vec![
        ("method", method.into()),
        ("headers", js::object(&headers)),
        ("body", body),
        ("credentials", "same-origin".into()),
        ("cache", "no-store".into()),
        // Our server redirects nobody; a captive portal does.
        ("redirect", "manual".into()),
    ];
    if !cancel.signal().is_undefined() {
        options.push(("signal", cancel.signal()));
    }
    let window: JsValue = js_sys::global().into();
    let response = js::called(&window, "fetch", &[&request.path.into(), &js::object(&options)]).await;
    response.and_then(JsValue::dyn_into).map_err(|_| NetError::Unreachable)
}

fn head(response: &Response) -> Reply {
    let mut headers = Vec::new();
    if let Ok(Some(entries)) = js_sys::try_iter(&response.headers()) {
        for entry in entries.flatten() {
            let part = |index| js_sys::Reflect::get_u32(&entry, index).ok()?.as_string();
            headers.extend(part(0).zip(part(1)));
        }
    }
    Reply { status: response.status(), headers, body: Vec::new() }
}

/// A fetched body, piece by piece.
pub struct FetchStream {
    reader: JsValue,
    _cancel: Cancel,
}

impl Stream for FetchStream {
    async fn next(&mut self) -> Result<Option<Vec<u8>>, NetError> {
        let piece = js::called(&self.reader, "read", &[]).await.map_err(|_| NetError::Unreachable)?;
        let value = js::get(&piece, "value").unwrap_or_default();
        Ok((!value.is_undefined()).then(|| js::bytes(&value)))
    }
}
