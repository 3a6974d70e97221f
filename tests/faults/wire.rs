//! HTTP over loopback, and a note of everything that came back.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use device::{Body, Method, NetError, Reply, Request, Stream, Transport};
use shared_types::api::{PushAnswer, Pushed};
use shared_types::ids::ChangeId;
use shared_types::json;

/// What all phones of a story saw.
#[derive(Clone, Default)]
pub struct Seen(Arc<Mutex<Notes>>);

#[derive(Default)]
pub struct Notes {
    /// What was acknowledged, and at which place in its log.
    pub acknowledged: BTreeMap<ChangeId, u64>,
    /// Pushes sent, and those that nobody answered.
    pub pushes: u64,
    pub pushes_cut: u64,
    /// Photos announced.
    pub announced: u64,
    /// The parts of each upload, in the order sent.
    pub parts: BTreeMap<String, Vec<Part>>,
    pub parts_begun: u64,
    /// Those of them that do not begin at the photo's first byte.
    pub later_parts_begun: u64,
    /// How often somebody signed in.
    pub sign_ins: u64,
    /// Answers by status.
    pub statuses: BTreeMap<u16, u64>,
}

/// A part of a photo on its way.
pub struct Part {
    pub offset: u64,
    pub bytes: u64,
    pub answered: bool,
}

impl Seen {
    pub fn notes(&self) -> MutexGuard<'_, Notes> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Notes {
    pub fn parts_cut(&self) -> usize {
        self.parts.values().flatten().filter(|part| !part.answered).count()
    }

    pub fn answered(&self, status: u16) -> u64 {
        self.statuses.get(&status).copied().unwrap_or_default()
    }

    fn sent(&mut self, request: &Request) {
        match request.method {
            Method::Post if request.path.ends_with("/changes") => self.pushes += 1,
            Method::Post if request.path.ends_with("/photos") => self.announced += 1,
            Method::Post if request.path.ends_with("/sign-in") => self.sign_ins += 1,
            Method::Patch => {
                self.parts_begun += 1;
                let offset = request.headers.iter().find(|(name, _)| *name == "upload-offset");
                let offset = offset.and_then(|(_, value)| value.parse().ok()).expect("a part has an offset");
                self.later_parts_begun += u64::from(offset > 0);
                let bytes = if let Body::Bytes(_, bytes) = &request.body { bytes.len() as u64 } else { 0 };
                let part = Part { offset, bytes, answered: false };
                self.parts.entry(request.path.clone()).or_default().push(part);
            }
            _ => {}
        }
    }

    fn came_back(&mut self, request: &Request, answer: &Result<Reply, NetError>) {
        let Ok(reply) = answer else {
            self.pushes_cut += u64::from(is_push(request));
            return;
        };
        *self.statuses.entry(reply.status).or_default() += 1;
        if request.method == Method::Patch
            && let Some(part) = self.parts.get_mut(&request.path).and_then(|parts| parts.last_mut())
        {
            part.answered = true;
        }
        if is_push(request)
            && let Ok(pushed) = json::read::<Pushed>(&reply.body)
        {
            for answer in pushed.answers {
                match answer {
                    PushAnswer::Taken { id, seq, .. } | PushAnswer::AlreadyHad { id, seq, .. } => {
                        self.acknowledged.insert(id, seq);
                    }
                    PushAnswer::Refused { detail, .. } => panic!("a change was refused: {detail}"),
                }
            }
        }
    }
}

fn is_push(request: &Request) -> bool {
    request.method == Method::Post && request.path.ends_with("/changes")
}

/// A phone's way to the server.
#[derive(Clone)]
pub struct Wire {
    http: reqwest::Client,
    server: String,
    cookie: Rc<RefCell<Option<String>>>,
    seen: Seen,
}

impl Wire {
    pub fn new(server: String, seen: Seen) -> Self {
        Self { http: reqwest::Client::new(), server, cookie: Rc::default(), seen }
    }

    fn to_http(&self, request: Request) -> reqwest::RequestBuilder {
        let method = match request.method {
            Method::Get => reqwest::Method::GET,
            Method::Post => reqwest::Method::POST,
            Method::Patch => reqwest::Method::PATCH,
            Method::Head => reqwest::Method::HEAD,
            Method::Delete => reqwest::Method::DELETE,
        };
        let mut http = self.http.request(method, format!("{}{}", self.server, request.path));
        http = http.header("sec-fetch-site", "same-origin");
        for (name, value) in request.headers {
            http = http.header(name, value);
        }
        if let Some(cookie) = &*self.cookie.borrow() {
            http = http.header("cookie", cookie);
        }
        match request.body {
            Body::Empty => http,
            Body::Json(text) => http.header("content-type", "application/json").body(text),
            Body::Bytes(kind, bytes) => http.header("content-type", kind).body(bytes),
        }
    }

    async fn exchange(&self, request: Request) -> Result<Reply, NetError> {
        let time = Duration::from_millis(u64::from(request.timeout_ms));
        let http = self.to_http(request);
        let answer = async {
            let response = http.send().await?;
            let mut reply = head(&response);
            reply.body = response.bytes().await?.to_vec();
            Ok::<Reply, reqwest::Error>(reply)
        };
        let reply = tokio::time::timeout(time, answer).await.map_err(|_| NetError::TimedOut)?;
        reply.map_err(|_| NetError::Unreachable)
    }

    fn keep_cookie(&self, reply: &Reply) {
        if let Some(set) = reply.header("set-cookie") {
            let pair = set.split(';').next().unwrap_or_default().to_owned();
            *self.cookie.borrow_mut() = (!pair.ends_with('=')).then_some(pair);
        }
    }
}

fn head(response: &reqwest::Response) -> Reply {
    let text = |value: &reqwest::header::HeaderValue| value.to_str().unwrap_or_default().to_owned();
    let headers = response.headers().iter().map(|(name, value)| (name.to_string(), text(value)));
    Reply { status: response.status().as_u16(), headers: headers.collect(), body: Vec::new() }
}

impl Transport for Wire {
    type Stream = Notices;

    async fn send(&self, request: Request) -> Result<Reply, NetError> {
        self.seen.notes().sent(&request);
        let answer = self.exchange(request.clone()).await;
        self.seen.notes().came_back(&request, &answer);
        if let Ok(reply) = &answer {
            self.keep_cookie(reply);
        }
        answer
    }

    async fn open(&self, request: Request) -> Result<(Reply, Notices), NetError> {
        let time = Duration::from_millis(u64::from(request.timeout_ms));
        let response = tokio::time::timeout(time, self.to_http(request).send()).await;
        let response = response.map_err(|_| NetError::TimedOut)?.map_err(|_| NetError::Unreachable)?;
        Ok((head(&response), Notices(response)))
    }
}

/// The server's notices as they arrive.
pub struct Notices(reqwest::Response);

impl Stream for Notices {
    async fn next(&mut self) -> Result<Option<Vec<u8>>, NetError> {
        let piece = self.0.chunk().await.map_err(|_| NetError::Unreachable)?;
        Ok(piece.map(|bytes| bytes.to_vec()))
    }
}
